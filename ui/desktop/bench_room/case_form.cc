#include "ui/desktop/bench_room/case_form.h"

#include <algorithm>
#include <array>

#include <QAbstractItemView>
#include <QComboBox>
#include <QCoreApplication>
#include <QEvent>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QScrollBar>
#include <QStyle>
#include <QTableWidget>
#include <QTimer>
#include <QToolButton>
#include <QVBoxLayout>

#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr int kFieldWidth = 60;  // px, the least

struct TargetWords {
  const char* key;
  const char* words;
  const char* example;
};
constexpr std::array<TargetWords, 5> kTargets{{
    {"boost", QT_TRANSLATE_NOOP("islebook::CaseForm", "Boost (gauge)"), "1.2 bar"},
    {"manifold_pressure", QT_TRANSLATE_NOOP("islebook::CaseForm", "Manifold, absolute"), "2.2 bar absolute"},
    {"power", QT_TRANSLATE_NOOP("islebook::CaseForm", "Power"), "300 kW"},
    {"air_flow", QT_TRANSLATE_NOOP("islebook::CaseForm", "Air flow"), "0.4 kg/s"},
    {"fuel_rate", QT_TRANSLATE_NOOP("islebook::CaseForm", "Fuel rate"), "60 kg/h"},
}};

const TargetWords* FindTarget(const QString& key) {
  for (const TargetWords& target : kTargets)
    if (key == QLatin1String(target.key)) return &target;
  return nullptr;
}

void Repolish(QWidget* widget, bool wrong) {
  if (widget->property("wrong").toBool() == wrong) return;
  widget->setProperty("wrong", wrong);
  widget->style()->unpolish(widget);
  widget->style()->polish(widget);
}

}  // namespace

CaseForm::CaseForm(CaseDocument& document, Workplace& workplace, QWidget* parent) : QScrollArea(parent), document_(document), workplace_(workplace) {
  setObjectName("case_form");
  setAccessibleName(tr("The case as a form"));
  setWidgetResizable(true);
  setFrameShape(QFrame::NoFrame);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  Build();
  connect(&document_, &CaseDocument::Changed, this, [this] {
    if (document_.Count("stage") != built_stages_ || HasTurbines() != built_turbines_) {
      // Not from within a field's own signal: the field goes.
      QTimer::singleShot(0, this, [this] {
        if (document_.Count("stage") != built_stages_ || HasTurbines() != built_turbines_) Build();
      });
    }
    Refresh();
  });
}

bool CaseForm::HasTurbines() const {
  for (std::size_t i = 0; i < document_.Count("stage"); ++i)
    if (!document_.Written({"stage", i, "turbine"}).isEmpty() || !document_.Written({"stage", i, "turbine_effective_area"}).isEmpty()) return true;
  return false;
}

void CaseForm::Heading(const QString& words, QWidget* beside) {
  auto* row = new QHBoxLayout;
  auto* label = new QLabel(words, body_);
  label->setProperty("heading", true);
  row->addWidget(label, 1);
  if (beside != nullptr) row->addWidget(beside);
  column_->addSpacing(6);
  column_->addLayout(row);
  rows_ = new QFormLayout;
  rows_->setLabelAlignment(Qt::AlignLeft);
  rows_->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  rows_->setHorizontalSpacing(8);
  rows_->setVerticalSpacing(3);
  column_->addLayout(rows_);
}

void CaseForm::AddField(const CasePlace& place, const QString& words, const QString& example) {
  auto* edit = new QLineEdit(body_);
  edit->setMinimumWidth(kFieldWidth);
  const std::string section =
      place.section.empty() ? "" : place.section + (place.section == "stage" ? " " + std::to_string(place.index + 1) : "") + ".";
  edit->setObjectName(QString::fromStdString(section + place.key));
  edit->setAccessibleName(words);
  edit->setToolTip(tr("In the case's text: %1").arg(QString::fromStdString((place.section.empty() ? "" : "[" + place.section + "] ") + place.key)));
  const std::size_t number = fields_.size();
  QString assumed;
  if (!place.section.empty()) {
    const bool only = place.section != "stage" || document_.Count("stage") < 2;
    assumed = QString::fromStdString((only ? place.section : place.section + " " + std::to_string(place.index + 1)) + "." + place.key);
  }
  fields_.push_back({place, edit, nullptr, assumed, example});
  connect(edit, &QLineEdit::textEdited, this, [this, number](const QString& text) {
    writing_ = true;
    document_.Set(fields_[number].place, text, QStringLiteral("field %1").arg(number));
    writing_ = false;
  });
  edit->installEventFilter(this);
  connect(edit, &QLineEdit::editingFinished, this, [this] { Refresh(); });
  auto* label = new QLabel(words, body_);
  label->setWordWrap(true);
  label->setBuddy(edit);
  rows_->addRow(label, edit);
}

void CaseForm::AddMapField(const CasePlace& place, const QString& words, bool turbine) {
  auto* choice = new QComboBox(body_);
  choice->setObjectName(QString::fromStdString("stage " + std::to_string(place.index + 1) + "." + place.key));
  choice->setEditable(true);
  choice->setInsertPolicy(QComboBox::NoInsert);
  choice->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  choice->setMinimumContentsLength(6);
  choice->setMinimumWidth(kFieldWidth);
  choice->setAccessibleName(words);
  choice->setToolTip(tr("A name on the shelf (NAME or NAME@REVISION) or a map file beside the case"));
  choice->lineEdit()->setObjectName(choice->objectName() + ".edit");
  OfferIn(choice, turbine);
  const std::size_t number = fields_.size();
  fields_.push_back({place, nullptr, choice, {}, turbine ? tr("none, or an area below") : tr("a map of the shelf")});
  const auto write = [this, number](const QString& text) {
    if (filling_) return;
    writing_ = true;
    document_.Set(fields_[number].place, text, QStringLiteral("field %1").arg(number));
    writing_ = false;
  };
  connect(choice, &QComboBox::textActivated, this, write);
  connect(choice->lineEdit(), &QLineEdit::textEdited, this, write);
  choice->lineEdit()->installEventFilter(this);
  auto* label = new QLabel(words, body_);
  label->setBuddy(choice);
  rows_->addRow(label, choice);
}

void CaseForm::OfferIn(QComboBox* choice, bool turbine) {
  filling_ = true;
  const QString text = choice->currentText();
  choice->clear();
  choice->addItems(turbine ? turbines_ : compressors_);
  choice->setCurrentIndex(-1);
  choice->setEditText(text);
  filling_ = false;
}

void CaseForm::OfferMaps(const QStringList& compressors, const QStringList& turbines) {
  compressors_ = compressors;
  turbines_ = turbines;
  for (const FieldEntry& field : fields_)
    if (field.choice != nullptr) OfferIn(field.choice, field.place.key == "turbine");
}

void CaseForm::AddTarget() {
  auto* row = new QHBoxLayout;
  target_kind_ = new QComboBox(body_);
  target_kind_->setObjectName("engine.target_kind");
  target_kind_->setAccessibleName(tr("What fixes the point"));
  for (const TargetWords& target : kTargets) target_kind_->addItem(tr(target.words), QString::fromLatin1(target.key));
  target_kind_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  target_kind_->setMinimumContentsLength(9);
  target_value_ = new QLineEdit(body_);
  target_value_->setMinimumWidth(kFieldWidth);
  target_value_->setObjectName("engine.target");
  target_value_->setAccessibleName(tr("Target of every point that has none of its own"));
  target_value_->installEventFilter(this);
  connect(target_kind_, &QComboBox::activated, this, [this] {
    // The same number means nothing in another quantity: the old key goes, the field waits.
    std::vector<CaseValue> values;
    for (const TargetWords& target : kTargets)
      if (target_kind_->currentData().toString() != QLatin1String(target.key)) values.push_back({{"engine", 0, target.key}, ""});
    document_.SetAll(values);
    target_value_->setPlaceholderText(QString::fromUtf8(FindTarget(target_kind_->currentData().toString())->example));
    target_value_->setFocus();
  });
  connect(target_value_, &QLineEdit::textEdited, this, [this](const QString& text) {
    writing_ = true;
    document_.Set({"engine", 0, target_kind_->currentData().toString().toStdString()}, text, QStringLiteral("engine target"));
    writing_ = false;
  });
  auto* label = new QLabel(tr("Holds"), body_);
  label->setBuddy(target_kind_);
  row->addWidget(target_kind_);
  row->addWidget(target_value_, 1);
  rows_->addRow(label, row);
}

void CaseForm::RefreshTarget() {
  if (target_value_->hasFocus() && writing_) return;
  for (const TargetWords& target : kTargets) {
    const QString written = document_.Written({"engine", 0, target.key});
    if (written.isEmpty()) continue;
    target_kind_->setCurrentIndex(target_kind_->findData(QString::fromLatin1(target.key)));
    if (target_value_->text() != written) target_value_->setText(written);
    return;
  }
  if (!target_value_->text().isEmpty()) target_value_->clear();
  target_value_->setPlaceholderText(tr("each point its own"));
}

QString CaseForm::StageHeading(std::size_t index, std::size_t count) const {
  if (count < 2) return tr("Stage");
  return index == 0 ? tr("Stage 1, first in the air (the large one)") : tr("Stage %1").arg(index + 1);
}

void CaseForm::AddStage(std::size_t index, std::size_t count) {
  auto* remove = new QToolButton(body_);
  remove->setText(tr("Remove"));
  remove->setObjectName(QStringLiteral("remove_stage_%1").arg(index + 1));
  remove->setAccessibleName(tr("Remove stage %1").arg(index + 1));
  remove->setEnabled(count > 1);
  connect(remove, &QToolButton::clicked, this, [this, index] { document_.RemoveSection("stage", index); });
  Heading(StageHeading(index, count), count > 1 ? remove : nullptr);
  if (count < 2) remove->hide();
  AddMapField({"stage", index, "compressor"}, tr("Compressor"), false);
  if (count > 1) AddField({"stage", index, "name"}, tr("Called"), tr("low pressure"));
  AddField({"stage", index, "speed_limit"}, tr("Speed limit (maker's)"), "112000 rpm");
  AddField({"stage", index, "assumed_efficiency"}, tr("Efficiency off the map"), "65 %");
  if (index > 0) {
    AddField({"stage", index, "inlet_loss"}, tr("Loss before it"), "2 kPa");
    AddField({"stage", index, "inlet_cooler_effectiveness"}, tr("Cooler before it"), "0 %");
    AddField({"stage", index, "inlet_coolant_temperature"}, tr("Its coolant"), "35 °C");
  }
  if (index + 1 < count)
    AddField({"stage", index, "pressure_ratio"}, tr("Pressure ratio"), built_turbines_ ? tr("follows from the shaft") : tr("least work"));
  AddMapField({"stage", index, "turbine"}, tr("Turbine"), true);
  AddField({"stage", index, "turbine_effective_area"}, tr("or its effective area"), built_turbines_ ? "8.5 cm2" : tr("none: no turbine side"));
  if (!built_turbines_) return;
  AddField({"stage", index, "turbine_efficiency"}, tr("Turbine efficiency"), "70 %");
  AddField({"stage", index, "wastegate_diameter"}, tr("Wastegate bore"), tr("no port"));
  AddField({"stage", index, "wastegate_opening"}, tr("Wastegate held at"), tr("it regulates"));
  AddField({"stage", index, "vane_opening"}, tr("Vanes held at"), tr("they regulate"));
  AddField({"stage", index, "shaft_efficiency"}, tr("Shaft efficiency"), "97 %");
}

void CaseForm::AddPoints() {
  auto* buttons = new QWidget(body_);
  auto* row = new QHBoxLayout(buttons);
  row->setContentsMargins(0, 0, 0, 0);
  point_kind_ = new QComboBox(buttons);
  point_kind_->setObjectName("point_target_kind");
  point_kind_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  point_kind_->setMinimumContentsLength(9);
  point_kind_->setAccessibleName(tr("What the points' last column holds"));
  for (const TargetWords& target : kTargets) point_kind_->addItem(tr(target.words), QString::fromLatin1(target.key));
  auto* add = new QToolButton(buttons);
  add->setText(tr("Add"));
  add->setObjectName("add_point");
  add->setAccessibleName(tr("Add an operating point"));
  auto* remove = new QToolButton(buttons);
  remove->setText(tr("Remove"));
  remove->setObjectName("remove_point");
  remove->setAccessibleName(tr("Remove the chosen operating point"));
  row->addWidget(add);
  row->addWidget(remove);
  Heading(tr("Operating points"), buttons);
  auto* kinds = new QHBoxLayout;
  auto* label = new QLabel(tr("Each holds"), body_);
  label->setBuddy(point_kind_);
  kinds->addWidget(label);
  kinds->addWidget(point_kind_, 1);
  column_->addLayout(kinds);
  points_ = new QTableWidget(body_);
  points_->setObjectName("points");
  points_->setAccessibleName(tr("Operating points"));
  points_->setColumnCount(3);
  points_->setMinimumWidth(200);
  points_->verticalHeader()->setDefaultSectionSize(24);
  points_->verticalHeader()->setSectionResizeMode(QHeaderView::Fixed);
  points_->horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  points_->horizontalHeader()->setSectionResizeMode(0, QHeaderView::Stretch);
  points_->setColumnWidth(1, 76);
  points_->setColumnWidth(2, 88);
  points_->setTabKeyNavigation(false);
  points_->setSelectionMode(QAbstractItemView::SingleSelection);
  column_->addWidget(points_);
  connect(points_, &QTableWidget::cellChanged, this, &CaseForm::WritePoint);
  connect(add, &QToolButton::clicked, this, &CaseForm::AddPoint);
  connect(remove, &QToolButton::clicked, this, [this] {
    if (points_->currentRow() >= 0) document_.RemoveSection("point", static_cast<std::size_t>(points_->currentRow()));
  });
  connect(point_kind_, &QComboBox::activated, this, [this] {
    point_target_ = point_kind_->currentData().toString();
    RefreshPoints();
  });
}

void CaseForm::AddPoint() {
  const std::size_t count = document_.Count("point");
  std::vector<std::pair<std::string, std::string>> values;
  values.emplace_back("name", "point " + std::to_string(count + 1));
  if (count > 0) {
    const CasePlace last{"point", count - 1, ""};
    for (const char* key : {"speed", "boost", "manifold_pressure", "power", "air_flow", "fuel_rate"})
      values.emplace_back(key, document_.Written({"point", count - 1, key}).toStdString());
  } else {
    // A first point takes what the engine section had for all.
    values.emplace_back("speed", document_.Written({"engine", 0, "speed"}).split(';').value(0).trimmed().toStdString());
  }
  if (document_.AddSection("point", values)) {
    points_->setCurrentCell(static_cast<int>(count), 0);
    points_->setFocus();
  }
}

void CaseForm::WritePoint(int row, int column) {
  if (filling_) return;
  const auto index = static_cast<std::size_t>(row);
  const QString text = points_->item(row, column)->text();
  const std::string target = point_target_.toStdString();
  const char* key = column == 0 ? "name" : column == 1 ? "speed" : target.c_str();
  std::vector<CaseValue> values;
  if (column == 2 && !text.trimmed().isEmpty())  // one target a point
    for (const TargetWords& other : kTargets)
      if (target != other.key && !document_.Written({"point", index, other.key}).isEmpty()) values.push_back({{"point", index, other.key}, ""});
  values.push_back({{"point", index, key}, text.toStdString()});
  document_.SetAll(values);
}

void CaseForm::RefreshPoints() {
  if (points_ == nullptr) return;
  filling_ = true;
  const auto count = static_cast<int>(document_.Count("point"));
  if (points_->rowCount() != count) points_->setRowCount(count);
  points_->setHorizontalHeaderLabels({tr("Name"), tr("Speed"), tr(FindTarget(point_target_)->words)});
  for (int row = 0; row < count; ++row) {
    const auto index = static_cast<std::size_t>(row);
    const std::array<QString, 3> texts{document_.Written({"point", index, "name"}), document_.Written({"point", index, "speed"}),
                                       document_.Written({"point", index, point_target_.toStdString()})};
    for (int column = 0; column < 3; ++column) {
      QTableWidgetItem* cell = points_->item(row, column);
      if (cell == nullptr) points_->setItem(row, column, cell = new QTableWidgetItem);
      if (cell->text() != texts[static_cast<std::size_t>(column)]) cell->setText(texts[static_cast<std::size_t>(column)]);
      if (column != 2) continue;
      // Another target than the column's: said, so that nobody thinks there is none.
      QString other;
      for (const TargetWords& target : kTargets)
        if (const QString written = document_.Written({"point", index, target.key}); !written.isEmpty() && point_target_ != QLatin1String(target.key))
          other = tr("%1 %2").arg(tr(target.words), written);
      cell->setToolTip(other.isEmpty() ? tr("Empty: as under Engine")
                                       : tr("This point holds another target: %1. What you write here takes its place.").arg(other));
    }
  }
  points_->setFixedHeight(30 + 24 * std::max(count, 1) + 4);
  filling_ = false;
}

void CaseForm::Build() {
  const int scrolled = verticalScrollBar()->value();
  const QString focused = focusWidget() != nullptr ? focusWidget()->objectName() : QString();
  fields_.clear();
  built_stages_ = document_.Count("stage");
  built_turbines_ = HasTurbines();
  body_ = new QWidget;
  column_ = new QVBoxLayout(body_);
  column_->setContentsMargins(10, 4, 12, 12);
  column_->setSpacing(3);

  Heading(tr("Case"));
  AddField({"", 0, "title"}, tr("Title"), tr("a line for the report"));
  Heading(tr("Engine"));
  AddField({"engine", 0, "displacement"}, tr("Displacement"), "5.9 L");
  AddField({"engine", 0, "displacement_per_cylinder"}, tr("or per cylinder"), "2.1 L");
  AddField({"engine", 0, "cylinders"}, tr("Cylinders"), "6");
  AddField({"engine", 0, "strokes"}, tr("Strokes"), "4");
  AddField({"engine", 0, "speed"}, tr("Speed points"), "1000 rpm; 1400 rpm");
  AddTarget();
  AddField({"engine", 0, "volumetric_efficiency"}, tr("Volumetric efficiency"), "92 %");
  AddField({"engine", 0, "air_fuel_ratio"}, tr("Air-fuel ratio"), "24");
  AddField({"engine", 0, "brake_specific_fuel_consumption"}, tr("Fuel per work"), "210 g/kWh");
  AddPoints();
  for (std::size_t i = 0; i < built_stages_; ++i) AddStage(i, built_stages_);
  auto* another = new QToolButton(body_);
  another->setText(tr("Another stage behind"));
  another->setObjectName("add_stage");
  another->setAccessibleName(tr("Add a compressor behind the last"));
  another->setEnabled(built_stages_ < 3);
  connect(another, &QToolButton::clicked, this, [this] {
    // The same wheel stands there until another is chosen, so that the case stays whole.
    const std::size_t last = document_.Count("stage");
    document_.AddSection(
        "stage", {{"compressor", last > 0 ? document_.Written({"stage", last - 1, "compressor"}).toStdString() : "?"},
                  {"turbine", last > 0 ? document_.Written({"stage", last - 1, "turbine"}).toStdString() : ""},
                  {"turbine_effective_area", last > 0 ? document_.Written({"stage", last - 1, "turbine_effective_area"}).toStdString() : ""}});
  });
  column_->addWidget(another, 0, Qt::AlignLeft);
  Heading(tr("Ambient"));
  AddField({"ambient", 0, "altitude"}, tr("Altitude"), tr("sea level"));
  AddField({"ambient", 0, "pressure"}, tr("or barometer"), "1013 hPa");
  AddField({"ambient", 0, "temperature"}, tr("Temperature"), tr("standard atmosphere"));
  AddField({"ambient", 0, "relative_humidity"}, tr("Relative humidity"), "0 %");
  Heading(tr("Air path and cooler"));
  AddField({"air_path", 0, "inlet_loss"}, tr("Inlet loss"), "3 kPa");
  AddField({"air_path", 0, "cooler_loss"}, tr("Cooler loss"), "7 kPa");
  AddField({"air_path", 0, "cooler_effectiveness"}, tr("Cooler effectiveness"), "75 %");
  AddField({"air_path", 0, "coolant_temperature"}, tr("Coolant"), tr("ambient plus 10 K"));
  if (built_turbines_) {
    Heading(tr("Exhaust"));
    AddField({"exhaust", 0, "exhaust_temperature"}, tr("Behind the valves"), tr("from the energy balance"));
    AddField({"exhaust", 0, "heat_to_coolant"}, tr("Heat to coolant"), "24 %");
    AddField({"exhaust", 0, "heat_loss"}, tr("Heat lost"), "3 %");
    AddField({"exhaust", 0, "back_pressure"}, tr("Back pressure"), "6 kPa");
  }
  Heading(tr("Graded by"));
  AddField({"limits", 0, "surge_margin_room"}, tr("Surge margin, room"), "15 %");
  AddField({"limits", 0, "choke_margin_room"}, tr("Choke margin, room"), "8 %");
  AddField({"limits", 0, "speed_room"}, tr("Speed, room"), "95 %");
  AddField({"limits", 0, "outlet_temperature_over"}, tr("Outlet, over"), "210 °C");
  if (built_turbines_) AddField({"limits", 0, "turbine_temperature_over"}, tr("Before turbine, over"), "760 °C");
  column_->addStretch(1);
  setWidget(body_);  // the old one goes with all its fields
  // Nothing is cut off on the right, however wide the words are.
  setMinimumWidth(body_->minimumSizeHint().width() + verticalScrollBar()->sizeHint().width() + 4);
  ShowAssumed(assumed_);
  Refresh();
  verticalScrollBar()->setValue(scrolled);
  if (!focused.isEmpty())
    if (auto* again = body_->findChild<QWidget*>(focused)) again->setFocus();
  for (const FieldEntry& field : fields_)
    if (field.choice != nullptr) field.choice->lineEdit()->setPlaceholderText(field.example);
}

void CaseForm::Refresh() {
  for (const FieldEntry& field : fields_) {
    const QString written = document_.Written(field.place);
    if (field.edit != nullptr) {
      if (writing_ && field.edit->hasFocus()) continue;  // as it is being typed
      if (field.edit->text() != written) field.edit->setText(written);
    } else {
      if (writing_ && field.choice->lineEdit()->hasFocus()) continue;
      if (field.choice->currentText() != written) field.choice->setEditText(written);
    }
  }
  // The column shows what most points hold.
  if (!filling_ && !writing_) {
    bool seen = false;
    for (std::size_t i = 0; i < document_.Count("point") && !seen; ++i)
      seen = !document_.Written({"point", i, point_target_.toStdString()}).isEmpty();
    for (const TargetWords& target : kTargets)
      if (!seen && document_.Count("point") > 0 && !document_.Written({"point", 0, target.key}).isEmpty())
        point_target_ = QString::fromLatin1(target.key), seen = true;
    point_kind_->setCurrentIndex(point_kind_->findData(point_target_));
  }
  RefreshTarget();
  RefreshPoints();
}

void CaseForm::ShowAssumed(const std::vector<AssumedValue>& assumed) {
  assumed_ = assumed;
  for (const FieldEntry& field : fields_) {
    if (field.edit == nullptr) continue;
    QString words = field.example;
    for (const AssumedValue& value : assumed_)
      if (field.assumed_key == QString::fromStdString(value.key)) words = tr("%1, taken").arg(QString::fromStdString(value.value));
    if (field.edit->placeholderText() != words) field.edit->setPlaceholderText(words);
  }
}

void CaseForm::MarkLine(int line) {
  for (const FieldEntry& field : fields_) {
    const bool wrong = line > 0 && document_.Line(field.place) == line;
    Repolish(field.edit != nullptr ? static_cast<QWidget*>(field.edit) : field.choice->lineEdit(), wrong);
  }
  bool target = false;
  for (const TargetWords& known : kTargets) target = target || (line > 0 && document_.Line({"engine", 0, known.key}) == line);
  Repolish(target_value_, target);
}

bool CaseForm::eventFilter(QObject* watched, QEvent* event) {
  if (event->type() == QEvent::FocusIn) {
    for (const FieldEntry& field : fields_) {
      if (watched != field.edit && (field.choice == nullptr || watched != field.choice->lineEdit())) continue;
      if (field.place.section == "stage") chosen_stage_ = static_cast<int>(field.place.index);
      emit FieldEntered(document_.Line(field.place));
    }
  }
  return QScrollArea::eventFilter(watched, event);
}

QLineEdit* CaseForm::Field(const QString& name) const {
  for (const FieldEntry& field : fields_) {
    if (field.edit != nullptr && field.edit->objectName() == name) return field.edit;
    if (field.choice != nullptr && field.choice->objectName() == name) return field.choice->lineEdit();
  }
  return nullptr;
}

}  // namespace islebook
