#include "ui/desktop/frame/facts_column.h"

#include <QLabel>
#include <QStyle>
#include <QVBoxLayout>

namespace islebook {
namespace {

constexpr int kWidth = 300;  // px

}  // namespace

FactsColumn::FactsColumn(QWidget* parent) : QFrame(parent), top_line_(new QLabel(this)), sections_(new QVBoxLayout(this)) {
  setObjectName("facts_column");
  setFixedWidth(kWidth);
  top_line_->setObjectName("top_line");
  top_line_->setWordWrap(true);
  top_line_->setTextFormat(Qt::PlainText);
  top_line_->setMinimumHeight(48);
  top_line_->setAlignment(Qt::AlignLeft | Qt::AlignTop);
  top_line_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  sections_->setContentsMargins(14, 14, 14, 14);
  sections_->setSpacing(6);
  sections_->setAlignment(Qt::AlignTop);
  sections_->addWidget(top_line_);
}

void FactsColumn::SetTopLine(const QString& words, bool limit) {
  if (top_line_->text() == words && top_line_->property("limit").toBool() == limit) return;
  top_line_->setText(words);
  top_line_->setProperty("limit", limit);
  top_line_->setAccessibleName(words);
  top_line_->style()->unpolish(top_line_);
  top_line_->style()->polish(top_line_);
}

QString FactsColumn::TopLine() const { return top_line_->text(); }

void FactsColumn::AddSection(const QString& heading, QWidget* content, int stretch) {
  if (!heading.isEmpty()) {
    auto* label = new QLabel(heading, this);
    label->setProperty("heading", true);
    label->setContentsMargins(0, 8, 0, 0);
    label->setBuddy(content);
    sections_->addWidget(label);
  }
  content->setAccessibleName(content->accessibleName().isEmpty() ? heading : content->accessibleName());
  sections_->addWidget(content, stretch);
}

}  // namespace islebook
