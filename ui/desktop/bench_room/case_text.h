#pragma once
// The case's text with its line numbers; the line that is wrong is marked.

#include <QPlainTextEdit>

namespace islebook {

class Workplace;

class CaseText : public QPlainTextEdit {
  Q_OBJECT

 public:
  CaseText(Workplace& workplace, QWidget* parent);
  // 0: none. `words` stand in its tooltip.
  void MarkLine(int line, const QString& words);
  void GoToLine(int line);
  int marked_line() const { return marked_; }

 protected:
  void resizeEvent(QResizeEvent* event) override;
  bool event(QEvent* event) override;
  void insertFromMimeData(const QMimeData* source) override;

 private:
  void PaintGutter();
  void Mark();

  Workplace& workplace_;
  QWidget* gutter_;
  int marked_ = 0;
  QString words_;

  bool eventFilter(QObject* watched, QEvent* event) override;
};

}  // namespace islebook
