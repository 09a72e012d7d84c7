#include "ui/desktop/bench_room/altitude_bar.h"

#include <algorithm>
#include <cmath>

#include <QCheckBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QSignalBlocker>
#include <QSlider>

#include "mapstore/bench/bench.h"
#include "ui/chart/said.h"
#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr double kFoot = 0.3048;  // m, exact by definition

}  // namespace

AltitudeBar::AltitudeBar(CaseDocument& document, Workplace& workplace, QWidget* parent)
    : QWidget(parent),
      document_(document),
      workplace_(workplace),
      slider_(new QSlider(Qt::Horizontal, this)),
      value_(new QLabel(this)),
      fan_(new QCheckBox(tr("F&an from sea level"), this)) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(10, 4, 10, 4);
  auto* label = new QLabel(tr("A&ltitude"), this);
  label->setBuddy(slider_);
  slider_->setObjectName("altitude");
  slider_->setAccessibleName(tr("Altitude of the case"));
  slider_->setToolTip(
      tr("Writes altitude under [ambient]: pressure as in the standard atmosphere, temperature as the case says.\naltitude = \"1500 m\" in the case "
         "file"));
  slider_->setMinimumWidth(120);
  value_->setObjectName("altitude_value");
  value_->setMinimumWidth(86);
  fan_->setObjectName("altitude_fan");
  fan_->setToolTip(
      tr("Works every point out at sea level, half way and at this altitude.\naltitude = [\"0 m\", \"750 m\", \"1500 m\"] in the case file"));
  row->addWidget(label);
  row->addWidget(slider_, 1);
  row->addWidget(value_);
  row->addWidget(fan_);
  TakeUnits();
  connect(slider_, &QSlider::valueChanged, this, [this] {
    ShowWords();
    Write();
  });
  connect(fan_, &QCheckBox::toggled, this, [this] { Write(); });
  connect(&workplace_, &Workplace::UnitsChanged, this, &AltitudeBar::TakeUnits);
}

bool AltitudeBar::InFeet() const { return workplace_.units().Of(ShopQuantity::kLength).factor == kFoot; }

void AltitudeBar::TakeUnits() {
  const QSignalBlocker quiet(slider_);
  const bool us = InFeet();
  slider_->setRange(0, us ? 160 : 100);  // steps of 100 ft or 50 m
  slider_->setSingleStep(us ? 5 : 2);
  slider_->setPageStep(us ? 20 : 10);
  slider_->setValue(static_cast<int>(std::lround(highest_m_ / (us ? 100 * kFoot : 50.0))));
  ShowWords();
}

void AltitudeBar::ShowWords() {
  const bool us = InFeet();
  value_->setText(islebook::Said(AltitudeWords(slider_->value() * (us ? 100 * kFoot : 50.0), workplace_.units())));
}

void AltitudeBar::Show(const BenchResult& result) {
  double highest = 0.0;
  std::vector<long> seen;
  for (const PointResult& point : result.points) {
    const double altitude = point.input.altitude_m.value_or(AltitudeOfPressure(point.input.ambient.pressure_Pa));
    highest = std::max(highest, altitude);
    if (std::find(seen.begin(), seen.end(), std::lround(altitude)) == seen.end()) seen.push_back(std::lround(altitude));
  }
  if (slider_->isSliderDown()) return;
  highest_m_ = highest;
  const QSignalBlocker quiet_slider(slider_), quiet_fan(fan_);
  fan_->setChecked(seen.size() > 1);
  const bool us = InFeet();
  const auto step = static_cast<int>(std::lround(highest / (us ? 100 * kFoot : 50.0)));
  if (slider_->value() != step) slider_->setValue(step);
  value_->setText(islebook::Said(AltitudeWords(highest, workplace_.units())));
}

void AltitudeBar::Write() {
  const bool us = InFeet();
  const int top = slider_->value() * (us ? 100 : 50);
  highest_m_ = top * (us ? kFoot : 1.0);
  const QString unit = us ? QStringLiteral(" ft") : QStringLiteral(" m");
  QString written = QString::number(top) + unit;
  if (fan_->isChecked() && top > 0) {
    const int half = top / 2;
    written = QStringLiteral("0%1; %2%1; %3%1").arg(unit).arg(half).arg(top);
  }
  std::vector<CaseValue> values;
  if (!document_.Written({"ambient", 0, "pressure"}).isEmpty()) {
    values.push_back({{"ambient", 0, "pressure"}, ""});
    emit Said(tr("The barometer that the case had gives way to the altitude; undo brings it back."));
  }
  for (std::size_t i = 0; i < document_.Count("point"); ++i)
    if (!document_.Written({"point", i, "altitude"}).isEmpty() || !document_.Written({"point", i, "pressure"}).isEmpty())
      emit Said(tr("Points with an altitude or barometer of their own keep it."));
  values.push_back({{"ambient", 0, "altitude"}, written.toStdString()});
  document_.SetAll(values, QStringLiteral("altitude"));
}

}  // namespace islebook
