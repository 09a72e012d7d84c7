#include "ui/desktop/bench_room/case_text.h"

#include <QHelpEvent>
#include <QMimeData>
#include <QPainter>
#include <QTextBlock>
#include <QToolTip>

#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr int kGutter = 40;  // px

}  // namespace

CaseText::CaseText(Workplace& workplace, QWidget* parent) : QPlainTextEdit(parent), workplace_(workplace), gutter_(new QWidget(this)) {
  setObjectName("case_text");
  setAccessibleName(tr("The case's text"));
  setLineWrapMode(QPlainTextEdit::NoWrap);
  setTabChangesFocus(true);
  setStyleSheet("QPlainTextEdit { font-family: \"DejaVu Sans Mono\", monospace; font-size: 12px; }");
  setViewportMargins(kGutter, 0, 0, 0);
  gutter_->installEventFilter(this);
  connect(this, &QPlainTextEdit::updateRequest, this, [this] { gutter_->update(); });
  connect(this, &QPlainTextEdit::blockCountChanged, this, [this] { gutter_->update(); });
  connect(&workplace_, &Workplace::LookChanged, this, [this] { Mark(); });
}

void CaseText::MarkLine(int line, const QString& words) {
  if (line == marked_ && words == words_) return;
  marked_ = line;
  words_ = words;
  Mark();
}

void CaseText::Mark() {
  QList<QTextEdit::ExtraSelection> marks;
  const QTextBlock block = marked_ > 0 ? document()->findBlockByNumber(marked_ - 1) : QTextBlock();
  if (block.isValid()) {
    QTextEdit::ExtraSelection mark;
    const ChartLook& look = workplace_.look().chart;
    mark.cursor = QTextCursor(block);
    mark.cursor.movePosition(QTextCursor::EndOfBlock, QTextCursor::KeepAnchor);
    mark.format.setUnderlineStyle(QTextCharFormat::WaveUnderline);
    mark.format.setUnderlineColor(look.oxide);
    mark.format.setBackground(Mix(look.oxide, look.paper, 0.14));
    mark.format.setProperty(QTextFormat::FullWidthSelection, true);
    marks << mark;
  }
  setExtraSelections(marks);
  gutter_->update();
}

// Qt 6.4 looks at the first format of what is pasted without asking whether there is one: an empty clipboard would end the program.
void CaseText::insertFromMimeData(const QMimeData* source) {
  if (source != nullptr && !source->formats().isEmpty()) QPlainTextEdit::insertFromMimeData(source);
}

void CaseText::GoToLine(int line) {
  const QTextBlock block = document()->findBlockByNumber(line - 1);
  if (line < 1 || !block.isValid()) return;
  setTextCursor(QTextCursor(block));
  centerCursor();
}

void CaseText::resizeEvent(QResizeEvent* event) {
  QPlainTextEdit::resizeEvent(event);
  const QRect inside = contentsRect();
  gutter_->setGeometry(inside.left(), inside.top(), kGutter, inside.height());
}

bool CaseText::event(QEvent* event) {
  if (event->type() == QEvent::ToolTip && marked_ > 0) {
    auto* help = static_cast<QHelpEvent*>(event);
    const QTextCursor at = cursorForPosition(viewport()->mapFrom(this, help->pos()));
    if (at.blockNumber() + 1 == marked_) {
      QToolTip::showText(help->globalPos(), words_, this);
      return true;
    }
  }
  return QPlainTextEdit::event(event);
}

bool CaseText::eventFilter(QObject* watched, QEvent* event) {
  if (watched == gutter_ && event->type() == QEvent::Paint) {
    PaintGutter();
    return true;
  }
  return QPlainTextEdit::eventFilter(watched, event);
}

void CaseText::PaintGutter() {
  QPainter painter(gutter_);
  const DeskLook& look = workplace_.look();
  painter.fillRect(gutter_->rect(), look.panel);
  painter.setFont(font());
  for (QTextBlock block = firstVisibleBlock(); block.isValid(); block = block.next()) {
    const QRectF place = blockBoundingGeometry(block).translated(contentOffset());
    if (place.top() > gutter_->height()) break;
    const bool wrong = block.blockNumber() + 1 == marked_;
    painter.setPen(wrong ? look.chart.oxide_print : look.chart.faint_ink);
    const QString number = QString::number(block.blockNumber() + 1);
    painter.drawText(QRectF(0, place.top(), kGutter - 6, place.height()), Qt::AlignRight | Qt::AlignVCenter,
                     wrong ? QStringLiteral("\u25B6 ") + number : number);
  }
}

}  // namespace islebook
