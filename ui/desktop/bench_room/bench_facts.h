#pragma once
// What the column of facts says of a case.

#include <QString>

#include "mapstore/bench/bench.h"
#include "ui/desktop/frame/desk_look.h"

namespace islebook {

class MapView;

// The reading under the mouse as rich text; what to do for one where there is none.
QString ReadingHtml(const MapView* view, const UnitHabit& units, const DeskLook& look);
// Everything that was graded at a point, worst first.
QString PointHtml(const BenchResult& result, int point, const DeskLook& look);
// Doubts, what was taken, the limits, the cautions.
QString NotesHtml(const BenchResult& result, const DeskLook& look);

}  // namespace islebook
