#include "ui/desktop/frame/habits_panel.h"

#include <algorithm>

#include <QComboBox>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QToolButton>

#include "ui/desktop/frame/flow_layout.h"
#include "ui/desktop/frame/language.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr ShopQuantity kQuantities[] = {ShopQuantity::kFlow,  ShopQuantity::kPressure, ShopQuantity::kTemperature,
                                        ShopQuantity::kSpeed, ShopQuantity::kPower,    ShopQuantity::kLength};

}  // namespace

HabitsPanel::HabitsPanel(Workplace& workplace, QWidget* parent) : QFrame(parent), workplace_(workplace), language_(new QComboBox(this)) {
  setObjectName("habits");
  auto* row = new FlowLayout(this);
  row->setContentsMargins(12, 8, 12, 8);
  row->setSpacing(10);
  const auto add = [&](const QString& words, QComboBox* box, const char* id, const QString& twin) {
    auto* pair = new QWidget(this);
    auto* line = new QHBoxLayout(pair);
    line->setContentsMargins(0, 0, 0, 0);
    line->setSpacing(5);
    auto* label = new QLabel(words, pair);
    label->setBuddy(box);
    box->setObjectName(id);
    box->setAccessibleName(words);
    box->setToolTip(twin);
    line->addWidget(label);
    line->addWidget(box);
    row->addWidget(pair);
  };
  const QString words[] = {tr("Air flow"), tr("Pressure"), tr("Temperature"), tr("Wheel speed"), tr("Power"), tr("Altitude")};
  static constexpr const char* kIds[] = {"unit_flow", "unit_pressure", "unit_temperature", "unit_speed", "unit_power", "unit_length"};
  for (const ShopQuantity quantity : kQuantities) {
    const auto i = static_cast<std::size_t>(quantity);
    units_[i] = new QComboBox(this);
    for (const ShopUnit& unit : ShopUnits(quantity)) units_[i]->addItem(QString::fromUtf8(unit.name));
    add(words[i], units_[i], kIds[i], tr("units = \"si, %1 ...\" in the case file").arg(QLatin1String(ShopQuantityName(quantity))));
    connect(units_[i], &QComboBox::activated, this, [this, quantity](int chosen) {
      UnitHabit units = workplace_.units();
      if (units.Set(quantity, ShopUnits(quantity)[static_cast<std::size_t>(chosen)].name)) workplace_.SetUnits(units);
    });
  }
  for (const Language& language : Languages()) language_->addItem(language.words, language.code);
  language_->setCurrentIndex(std::max(0, language_->findData(workplace_.language())));
  add(tr("Language"), language_, "language",
      tr("The window opens anew in it; work that is not finished is offered back.\nislebook-desktop --language de"));
  connect(language_, &QComboBox::activated, this, [this] { workplace_.SetLanguage(language_->currentData().toString()); });
  auto* close = new QToolButton(this);
  close->setObjectName("habits_close");
  close->setText(tr("Close"));
  close->setToolTip(tr("Close  [Esc]"));
  connect(close, &QToolButton::clicked, this, &HabitsPanel::Closed);
  row->addWidget(close);
  connect(&workplace_, &Workplace::UnitsChanged, this, &HabitsPanel::ShowUnits);
  ShowUnits();
}

void HabitsPanel::ShowUnits() {
  const UnitHabit units = workplace_.units();
  for (const ShopQuantity quantity : kQuantities)
    units_[static_cast<std::size_t>(quantity)]->setCurrentText(QString::fromUtf8(units.Of(quantity).name));
}

void HabitsPanel::Open() {
  show();
  units_.front()->setFocus(Qt::ShortcutFocusReason);
}

void HabitsPanel::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Escape)
    emit Closed();
  else
    QFrame::keyPressEvent(event);
}

}  // namespace islebook
