#include "ui/desktop/light_table/accept_form.h"

#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QStyle>

#include "mapstore/shelf/revision.h"

namespace islebook {

AcceptForm::AcceptForm(QWidget* parent)
    : QWidget(parent),
      name_(new QLineEdit(this)),
      author_(new QLineEdit(this)),
      message_(new QLineEdit(this)),
      button_(new QPushButton(tr("Put it on the shelf"), this)) {
  auto* grid = new QGridLayout(this);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setVerticalSpacing(4);
  const auto row = [&](int line, const QString& words, QLineEdit* edit, const char* id) {
    auto* label = new QLabel(words, this);
    label->setBuddy(edit);
    edit->setObjectName(id);
    edit->setAccessibleName(words);
    grid->addWidget(label, line, 0);
    grid->addWidget(edit, line, 1);
    connect(edit, &QLineEdit::returnPressed, button_, &QPushButton::click);
  };
  row(0, tr("Name"), name_, "accept_name");
  row(1, tr("By"), author_, "accept_author");
  row(2, tr("Remark"), message_, "accept_message");
  button_->setObjectName("accept_button");
  button_->setProperty("main", true);
  button_->setEnabled(false);
  grid->addWidget(button_, 3, 0, 1, 2);
  connect(name_, &QLineEdit::textChanged, this, [this](const QString& text) {
    const auto checked = CheckMapName(text.trimmed().toStdString());
    const bool wrong = !text.isEmpty() && !checked;
    name_->setToolTip(wrong ? QString::fromStdString(checked.error().message) : tr("The map's name on the shelf"));
    if (name_->property("wrong").toBool() != wrong) {
      name_->setProperty("wrong", wrong);
      name_->style()->unpolish(name_);
      name_->style()->polish(name_);
    }
    button_->setEnabled(ready_ && checked.has_value());
  });
  connect(button_, &QPushButton::clicked, this, &AcceptForm::Accepted);
}

void AcceptForm::Propose(const QString& name, const QString& author) {
  if (!name_->isModified() || name_->text().isEmpty()) name_->setText(name);
  if (author_->text().isEmpty()) author_->setText(author);
}

void AcceptForm::AddButton(QWidget* button) { static_cast<QGridLayout*>(layout())->addWidget(button, 4, 0, 1, 2); }

void AcceptForm::Clear() {
  name_->clear();
  name_->setModified(false);
  message_->clear();
  SetReady(false);
}

void AcceptForm::SetReady(bool ready) {
  ready_ = ready;
  button_->setEnabled(ready_ && CheckMapName(name_->text().trimmed().toStdString()).has_value());
}

void AcceptForm::SetMessageHint(const QString& words) { message_->setPlaceholderText(words); }

void AcceptForm::EditName() {
  name_->setFocus(Qt::ShortcutFocusReason);
  name_->selectAll();
}

QString AcceptForm::name() const { return name_->text().trimmed(); }
QString AcceptForm::author() const { return author_->text().trimmed(); }
QString AcceptForm::message() const { return message_->text().trimmed().isEmpty() ? message_->placeholderText() : message_->text().trimmed(); }

}  // namespace islebook
