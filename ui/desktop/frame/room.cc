#include "ui/desktop/frame/room.h"

#include <QHBoxLayout>

#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {

Room::Room(Workplace& workplace, QWidget* parent) : QWidget(parent), workplace_(workplace), facts_(new FactsColumn(this)) {
  auto* layout = new QHBoxLayout(this);
  layout->setContentsMargins(0, 0, 0, 0);
  layout->setSpacing(0);
  layout->addWidget(facts_);
}

void Room::SetWork(QWidget* work) { static_cast<QHBoxLayout*>(layout())->insertWidget(0, work, 1); }

}  // namespace islebook
