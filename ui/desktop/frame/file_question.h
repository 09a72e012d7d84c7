#pragma once
// Which file? Asked beside the work, which goes on meanwhile; what was chosen is told when the person has chosen.

#include <functional>

#include <QStringList>

class QWidget;

namespace islebook {

struct FileQuestion {
  QString title;
  QString start;  // folder or file that it begins with
  QString kinds;  // "PDF (*.pdf);;All files (*)": the first is chosen
  bool to_write = false;
  bool several = false;
  bool asks_before_replacing = true;  // false: whoever asks says so itself
};

// A question of `owner` that is still open is replaced by this one. Nothing is told where the person chooses none.
void AskForFile(QWidget* owner, const FileQuestion& question, std::function<void(const QStringList& files)> then);

}  // namespace islebook
