#include "ui/desktop/light_table/notice_line.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>

namespace islebook {

NoticeLine::NoticeLine(const QString& id, QWidget* parent) : QFrame(parent), row_(new QHBoxLayout(this)), words_(new QLabel(this)) {
  setObjectName(id);
  row_->setContentsMargins(12, 5, 12, 5);
  words_->setWordWrap(true);
  words_->setTextFormat(Qt::PlainText);
  row_->addWidget(words_, 1);
  setVisible(false);
}

void NoticeLine::Say(const QString& words) {
  words_->setText(words);
  words_->setAccessibleName(words);
  setVisible(!words.isEmpty());
}

QString NoticeLine::words() const { return words_->text(); }

QPushButton* NoticeLine::AddButton(const QString& words, const QString& id) {
  auto* button = new QPushButton(words, this);
  button->setObjectName(id);
  row_->addWidget(button);
  return button;
}

void NoticeLine::AddControl(QWidget* control) {
  control->setParent(this);
  row_->addWidget(control);
}

}  // namespace islebook
