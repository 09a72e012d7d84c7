#include "ui/desktop/light_table/axes_facts.h"

#include <cmath>
#include <string_view>

#include <QCheckBox>
#include <QComboBox>
#include <QCoreApplication>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QSignalBlocker>
#include <QStyle>

#include "mapstore/bench/shop_units.h"
#include "mapstore/units/typed_value.h"
#include "mapstore/units/unit.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/said.h"

namespace islebook {
namespace {

constexpr Quantity kQuantities[] = {Quantity::kCorrectedMassFlow,
                                    Quantity::kCorrectedVolumeFlow,
                                    Quantity::kPressureRatioTotalToTotal,
                                    Quantity::kPressureRatioTotalToStatic,
                                    Quantity::kExpansionRatioTotalToStatic,
                                    Quantity::kExpansionRatioTotalToTotal,
                                    Quantity::kTurbineFlowParameter,
                                    Quantity::kEfficiencyTotalToStatic,
                                    Quantity::kEfficiencyTotalToTotal,
                                    Quantity::kCorrectedSpeed,
                                    Quantity::kVelocityRatio};

QString Number(double value) { return QString::number(value, 'g', 8); }

std::optional<double> NumberIn(const QLineEdit* edit, const Unit& unit, std::string* reason) {
  const auto typed = ParseTypedValue(edit->text().trimmed().toStdString(), unit);
  if (!typed) {
    *reason = typed.error().message;
    return std::nullopt;
  }
  if (typed->unit == unit) return typed->value;
  const auto value = ConvertValue(typed->value, typed->unit, unit);
  if (!value) {
    *reason = value.error().message;
    return std::nullopt;
  }
  return *value;
}

}  // namespace

AxesFacts::AxesFacts(QWidget* parent)
    : QWidget(parent),
      temperature_(new QLineEdit(this)),
      pressure_(new QLineEdit(this)),
      title_(new QLineEdit(this)),
      printed_(new QCheckBox(tr("printed"), this)) {
  setObjectName("axes_facts");
  auto* grid = new QGridLayout(this);
  grid->setContentsMargins(10, 6, 10, 8);
  grid->setHorizontalSpacing(6);
  grid->setVerticalSpacing(3);
  const std::pair<QString, QString> names[] = {{tr("Across"), "x"}, {tr("Up"), "y"}, {tr("Right side"), "efficiency"}};
  for (std::size_t i = 0; i < 3; ++i) {
    rows_[i] = MakeRow(grid, static_cast<int>(2 * i), names[i].first, names[i].second);
    const auto side = static_cast<AxisSide>(i);
    connect(rows_[i].quantity, &QComboBox::activated, this, [this, side] { TakeRow(side); });
    connect(rows_[i].log, &QCheckBox::clicked, this, [this, side] { TakeRow(side); });
    for (QLineEdit* edit : {rows_[i].min, rows_[i].max, rows_[i].unit})
      connect(edit, &QLineEdit::returnPressed, this, [this, side] { TakeRow(side); });
  }
  const auto label = [&](const QString& words, QWidget* buddy, int line) {
    auto* made = new QLabel(words, this);
    made->setBuddy(buddy);
    grid->addWidget(made, line, 0);
  };
  label(tr("Reference"), temperature_, 6);
  grid->addWidget(temperature_, 6, 1, 1, 2);
  grid->addWidget(pressure_, 6, 3);
  grid->addWidget(printed_, 6, 4, 1, 2);
  temperature_->setObjectName("reference_temperature");
  temperature_->setAccessibleName(tr("Reference temperature"));
  temperature_->setToolTip(tr("With its unit: 85 °F, 29.4 °C, 298 K\nislebook digitize --recipe FILE (set_reference)"));
  pressure_->setObjectName("reference_pressure");
  pressure_->setAccessibleName(tr("Reference pressure"));
  pressure_->setToolTip(tr("With its unit: 28.4 inHg, 96.2 kPa, 981 mbar\nislebook digitize --recipe FILE (set_reference)"));
  printed_->setObjectName("reference_printed");
  printed_->setToolTip(tr("The sheet prints these reference conditions; otherwise they are an assumption"));
  label(tr("Title"), title_, 7);
  grid->addWidget(title_, 7, 1, 1, 5);
  title_->setObjectName("map_title");
  title_->setAccessibleName(tr("Title of the map"));
  for (QLineEdit* edit : {temperature_, pressure_}) edit->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Fixed);
  // Never cut at a digit: what is cut reads as another number.
  const auto room_for = [](QLineEdit* edit, const QString& words) { edit->setMinimumWidth(edit->fontMetrics().horizontalAdvance(words) + 24); };
  room_for(temperature_, QStringLiteral("24.999 °C"));
  room_for(pressure_, QStringLiteral("101.33 kPa"));
  for (const auto& [column, share] : {std::pair(1, 3), std::pair(3, 4), std::pair(4, 3)}) grid->setColumnStretch(column, share);
  connect(temperature_, &QLineEdit::returnPressed, this, &AxesFacts::TakeReference);
  connect(pressure_, &QLineEdit::returnPressed, this, &AxesFacts::TakeReference);
  connect(printed_, &QCheckBox::clicked, this, &AxesFacts::TakeReference);
  connect(title_, &QLineEdit::returnPressed, this, &AxesFacts::TakeTitle);
  SetMap(nullptr);
}

AxesFacts::Row AxesFacts::MakeRow(QGridLayout* grid, int line, const QString& name, const QString& id) {
  Row row;
  row.name = new QLabel(name, this);
  row.quantity = new QComboBox(this);
  row.quantity->setObjectName(QStringLiteral("axis_%1_quantity").arg(id));
  row.quantity->setAccessibleName(tr("%1: what the axis shows").arg(name));
  row.quantity->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  row.quantity->setMinimumContentsLength(10);
  for (const Quantity quantity : kQuantities) row.quantity->addItem(Said(QuantityWords(quantity)), static_cast<int>(quantity));
  row.name->setBuddy(row.quantity);
  const auto edit = [&](const QString& what, const QString& words) {
    auto* made = new QLineEdit(this);
    made->setObjectName(QStringLiteral("axis_%1_%2").arg(id, what));
    made->setAccessibleName(QStringLiteral("%1: %2").arg(name, words));
    made->setToolTip(tr("%1\nislebook digitize --recipe FILE (set_axis)").arg(words));
    made->setMinimumWidth(40);
    made->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Fixed);
    return made;
  };
  row.min = edit("min", tr("value at this end of the frame: left or bottom"));
  row.max = edit("max", tr("value at this end of the frame: right or top"));
  row.unit = edit("unit", tr("unit as printed; 1 for none"));
  row.unit->setMinimumWidth(row.unit->fontMetrics().horizontalAdvance(QStringLiteral("lb/min")) + 20);
  row.to = new QLabel(tr("to"), this);
  row.log = new QCheckBox(tr("log"), this);
  row.log->setObjectName(QStringLiteral("axis_%1_log").arg(id));
  row.log->setToolTip(tr("The axis is logarithmic\nislebook digitize --recipe FILE (set_axis)"));
  grid->addWidget(row.name, line, 0);
  grid->addWidget(row.quantity, line, 1, 1, 5);
  grid->addWidget(row.min, line + 1, 1);
  grid->addWidget(row.to, line + 1, 2, Qt::AlignCenter);
  grid->addWidget(row.max, line + 1, 3);
  grid->addWidget(row.unit, line + 1, 4);
  grid->addWidget(row.log, line + 1, 5);
  return row;
}

const std::optional<Axis>& AxesFacts::AxisOf(AxisSide side) const {
  return side == AxisSide::kX ? map_->x : side == AxisSide::kY ? map_->y : map_->efficiency;
}

void AxesFacts::FillRow(const Row& row, const std::optional<Axis>& axis) {
  for (QLineEdit* edit : {row.min, row.max, row.unit}) {
    Mark(edit, false);
    edit->clear();
  }
  row.quantity->setCurrentIndex(axis ? row.quantity->findData(static_cast<int>(axis->quantity)) : -1);
  row.log->setChecked(axis && axis->scale == AxisScale::kLog);
  if (!axis) return;
  row.min->setText(Number(axis->min));
  row.max->setText(Number(axis->max));
  row.unit->setText(QString::fromStdString(axis->unit));
  for (QLineEdit* edit : {row.min, row.max, row.unit}) edit->setCursorPosition(0);
}

void AxesFacts::SetMap(std::shared_ptr<const PerformanceMap> map) {
  map_ = std::move(map);
  setEnabled(map_ != nullptr);
  const std::optional<Axis> none;
  FillRow(rows_[0], map_ ? map_->x : none);
  FillRow(rows_[1], map_ ? map_->y : none);
  FillRow(rows_[2], map_ ? map_->efficiency : none);
  const bool has_right = map_ && map_->efficiency;
  for (QWidget* widget :
       std::initializer_list<QWidget*>{rows_[2].name, rows_[2].quantity, rows_[2].min, rows_[2].to, rows_[2].max, rows_[2].unit, rows_[2].log})
    widget->setVisible(has_right);
  FillReference();
  title_->setText(map_ ? QString::fromStdString(map_->title) : QString());
}

void AxesFacts::SetUnits(const UnitHabit& units) {
  units_ = units;
  // Reference conditions are never printed in bar.
  if (std::string_view(units.Of(ShopQuantity::kPressure).name) == "bar") (void)units_.Set(ShopQuantity::kPressure, "kPa");
  FillReference();
}

void AxesFacts::FillReference() {
  Mark(temperature_, false);
  Mark(pressure_, false);
  shown_temperature_.clear();
  shown_pressure_.clear();
  const bool known = map_ && map_->reference_conditions;
  if (known) {
    const Shop shop(units_);
    const auto shown = [&](ShopQuantity quantity, double si) {
      return QStringLiteral("%1 %2").arg(shop.In(quantity, si), 0, 'g', 5).arg(QString::fromUtf8(shop.Unit(quantity)));
    };
    shown_temperature_ = shown(ShopQuantity::kTemperature, map_->reference_conditions->temperature_K);
    shown_pressure_ = shown(ShopQuantity::kPressure, map_->reference_conditions->pressure_Pa);
  }
  temperature_->setText(shown_temperature_);
  pressure_->setText(shown_pressure_);
  for (QLineEdit* edit : {temperature_, pressure_}) edit->setCursorPosition(0);
  printed_->setChecked(known && map_->reference_conditions->basis == ReferenceConditions::Basis::kPrinted);
}

void AxesFacts::Mark(QLineEdit* edit, bool wrong) {
  if (edit->property("wrong").toBool() == wrong) return;
  edit->setProperty("wrong", wrong);
  edit->style()->unpolish(edit);
  edit->style()->polish(edit);
}

void AxesFacts::TakeRow(AxisSide side) {
  if (!map_) return;
  const Row& row = rows_[static_cast<std::size_t>(side)];
  const std::optional<Axis>& now = AxisOf(side);
  const auto refuse = [&](QLineEdit* edit, const QString& reason) {
    Mark(edit, true);
    emit Refused(reason);
  };
  SetAxis step;
  step.axis = side;
  const std::string typed_unit = row.unit->text().trimmed().isEmpty() ? "1" : row.unit->text().trimmed().toStdString();
  const auto unit = ParseUnit(typed_unit);
  if (!unit) return refuse(row.unit, tr("The unit: %1").arg(QString::fromStdString(unit.error().message)));
  if (!IsDocumentUnit(unit->spelling))
    return refuse(row.unit, tr("A map's axis cannot be in %1; give one of lb/min, kg/s, m\u00b3/s, 1, % and their like.").arg(row.unit->text()));
  if (!now || unit->spelling != now->unit) step.unit = unit->spelling;
  std::array<double, 2> ends{};
  for (const auto& [edit, end] : {std::pair(row.min, &ends[0]), std::pair(row.max, &ends[1])}) {
    std::string reason;
    const auto value = NumberIn(edit, *unit, &reason);
    if (!value) return refuse(edit, tr("The axis end: %1").arg(QString::fromStdString(reason)));
    *end = *value;
  }
  if (!(ends[1] != ends[0])) return refuse(row.max, tr("An axis runs from one value to another: its ends cannot be alike."));
  if (row.log->isChecked() && !(ends[0] > 0.0 && ends[1] > 0.0)) return refuse(row.min, tr("A logarithmic axis has ends above zero."));
  // What the fields show is rounded: an end that nobody touched is not a correction.
  if (!now || row.min->text() != Number(now->min) || row.max->text() != Number(now->max)) step.min = ends[0], step.max = ends[1];
  if (row.quantity->currentIndex() >= 0) {
    const auto quantity = static_cast<Quantity>(row.quantity->currentData().toInt());
    if (!now || quantity != now->quantity) step.quantity = quantity;
  }
  const AxisScale scale = row.log->isChecked() ? AxisScale::kLog : AxisScale::kLinear;
  if (!now || scale != now->scale) step.scale = scale;
  emit LeftEditing();
  if (!step.quantity && !step.unit && !step.scale && !step.min) return;
  if (map_->calibration) {
    Point2 center;
    for (const Point2& corner : map_->calibration->frame_px) center.x += corner.x / 4, center.y += corner.y / 4;
    step.panel = Point2{std::round(center.x), std::round(center.y)};
  }
  emit Corrected(step, tr("axis %1").arg(row.name->text().toLower()));
}

void AxesFacts::TakeReference() {
  if (!map_) return;
  const auto celsius = ParseUnit("degC"), kilopascal = ParseUnit("kPa");
  if (!celsius || !kilopascal) return emit Refused(tr("The units database cannot be read; see the installation."));
  const auto read = [&](QLineEdit* edit, const Unit& if_none, const QString& what) -> std::optional<double> {
    const auto typed = ParseTypedValue(edit->text().trimmed().toStdString(), if_none);
    if (typed && typed->unit.dimension == if_none.dimension && !typed->gauge()) {
      Mark(edit, false);
      return typed->si();
    }
    Mark(edit, true);
    emit Refused(typed ? tr("%1: %2 is not an absolute %3.").arg(what, edit->text(), QString::fromUtf8(DimensionName(if_none.dimension)))
                       : QStringLiteral("%1: %2").arg(what, QString::fromStdString(typed.error().message)));
    return std::nullopt;
  };
  // One of the two may be still to come.
  if (temperature_->text().trimmed().isEmpty()) return temperature_->setFocus();
  if (pressure_->text().trimmed().isEmpty()) return pressure_->setFocus();
  const std::optional<ReferenceConditions>& now = map_->reference_conditions;
  const auto temperature = now && temperature_->text() == shown_temperature_ ? std::optional(now->temperature_K)
                                                                             : read(temperature_, *celsius, tr("Reference temperature"));
  const auto pressure =
      now && pressure_->text() == shown_pressure_ ? std::optional(now->pressure_Pa) : read(pressure_, *kilopascal, tr("Reference pressure"));
  if (!temperature || !pressure) return;
  if (!(*temperature > 150.0 && *temperature < 500.0)) {
    Mark(temperature_, true);
    return emit Refused(tr("A reference temperature lies between -123 and 227 °C."));
  }
  if (!(*pressure > 10000.0 && *pressure < 1000000.0)) {
    Mark(pressure_, true);
    return emit Refused(tr("A reference pressure lies between 10 and 1,000 kPa."));
  }
  ReferenceConditions conditions;
  conditions.temperature_K = std::round(*temperature * 1000) / 1000;
  conditions.pressure_Pa = std::round(*pressure * 10) / 10;
  conditions.basis = printed_->isChecked() ? ReferenceConditions::Basis::kPrinted : ReferenceConditions::Basis::kAssumed;
  emit LeftEditing();
  if (map_->reference_conditions == conditions) return;
  emit Corrected(SetReference{conditions}, tr("reference conditions"));
}

void AxesFacts::TakeTitle() {
  if (!map_) return;
  emit LeftEditing();
  const std::string title = title_->text().trimmed().toStdString();
  if (title != map_->title) emit Corrected(SetTitle{title}, tr("title"));
}

void AxesFacts::EditAxis(AxisSide side) {
  QLineEdit* edit = rows_[static_cast<std::size_t>(side)].min;
  if (!edit->isVisible()) return;
  edit->setFocus(Qt::ShortcutFocusReason);
  edit->selectAll();
}

void AxesFacts::EditReference() {
  temperature_->setFocus(Qt::ShortcutFocusReason);
  temperature_->selectAll();
}

}  // namespace islebook
