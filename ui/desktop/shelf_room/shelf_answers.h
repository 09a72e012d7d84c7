#pragma once
// A search carried out, in the clerk's thread.

#include <vector>

#include <QString>

#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/shelf_room/shelf_clerk.h"
#include "ui/desktop/shelf_room/shelf_rows.h"
#include "ui/desktop/shelf_room/shelf_search.h"

namespace islebook {

struct ShelfFinding {
  std::vector<ShelfRow> rows;
  QString words;        // the most important thing about it; may be empty: nothing was asked
  QString remark;       // what else should be known; may be empty
  QString wrong_field;  // object name of the field that cannot be read; the words say why
  qint64 maps = 0;      // on the shelf, removed ones aside
  QStringList tags;     // in use
};

// `progress`: told while the index is brought up to date. An error is the shelf's own.
Result<ShelfFinding> Answer(ClerkDesk& desk, const ShelfQuestion& question, const UnitHabit& units, const std::function<void(double)>& progress);

// Whether it may take longer than a glance: it asks the maps themselves.
inline bool IsSlow(const ShelfQuestion& question) { return question.AsksForPoint() || !question.like.isEmpty(); }

}  // namespace islebook
