#include "tests/support/compressor_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook::paint {

double Random::Normal() {  // Box and Muller 1958
  const double radius = std::sqrt(-2 * std::log(1 - Part()));
  return radius * std::cos(2 * std::numbers::pi * Part());
}

Point2 CompressorModel::At(double s, double n) const {
  const double r = s * end_part;
  const double surge = surge_flow * std::pow(n, surge_power) * (1 + kink * std::tanh((n - 0.72) / 0.07));
  const double choke = choke_flow * (1 - std::exp(-choke_bend * std::pow(n, 1.35))) / (1 - std::exp(-choke_bend));
  const double c = std::pow(top_ratio, 2 / 7.0) - 1;  // (gamma - 1) / gamma = 2/7
  const double at_surge = std::pow(1 + c * n * n, 3.5);
  const double m = droop_power * (0.8 + 0.25 * n);
  const double shape = (1 + hump * (1.6 - n) * 6.75 * r * (1 - r) * (1 - r)) * std::pow(1 - std::pow(std::max(r, 0.0), m), 0.55);
  return {surge + r * (choke - surge), 1 + (at_surge - 1) * shape};
}

double CompressorModel::Efficiency(double s, double n) const {
  const double r = s * end_part;
  const double aside = (r - best_flow + 0.12 * (n - best_speed)) / 0.45, faster = (n - best_speed) / 0.3;
  return peak_efficiency - 0.075 * aside * aside * (1 + 0.2 * aside) - 0.045 * faster * faster + 0.02 * aside * faster - 0.2 * std::pow(r, 7);
}

bool CompressorModel::IsOneToOne() const {
  const int kSteps = 60;
  int sign = 0;
  for (int i = 0; i <= kSteps; ++i) {
    for (int k = 0; k <= kSteps; ++k) {
      const double s = 0.003 + 0.994 * i / kSteps, n = low_speed + (high_speed - low_speed) * k / kSteps;
      const double d = 1e-5;
      const Point2 a = At(s - d, n), b = At(s + d, n), e = At(s, n - d), f = At(s, n + d);
      const double turn = (b.x - a.x) * (f.y - e.y) - (b.y - a.y) * (f.x - e.x);
      const int here = turn > 0 ? 1 : -1;
      if (sign != 0 && here != sign) return false;
      sign = here;
    }
  }
  return true;
}

CompressorModel CompressorModel::Draw(Random& random, double inducer_mm, std::string wheel) {
  for (;;) {
    CompressorModel model;
    model.wheel = wheel;
    model.inducer_mm = inducer_mm;
    model.tip_speed = random.Between(440, 560);
    const double exducer = inducer_mm * 0.001 / random.Between(0.70, 0.78);
    model.design_rpm = 60 * model.tip_speed / (std::numbers::pi * exducer);
    // Work coefficient and efficiency as one number: pressure ratio of an ideal gas at 288 K.
    model.top_ratio = std::pow(1 + random.Between(0.44, 0.52) * model.tip_speed * model.tip_speed / (1005.0 * 288.15), 3.5);
    model.choke_flow = random.Between(150, 178) * std::numbers::pi / 4 * std::pow(inducer_mm * 0.001, 2);
    model.surge_flow = model.choke_flow * random.Between(0.5, 0.66);
    model.surge_power = random.Between(1.45, 2.0);
    model.choke_bend = random.Between(0.5, 1.4);
    model.hump = random.Between(0.0, 0.045);
    model.droop_power = random.Between(2.4, 4.2);
    model.end_part = random.Between(0.90, 0.975);
    model.peak_efficiency = random.Between(0.735, 0.825);
    model.best_flow = random.Between(0.38, 0.52);
    model.best_speed = random.Between(0.66, 0.84);
    model.kink = random.Chance(0.5) ? random.Between(-0.05, 0.05) : 0.0;
    model.low_speed = random.Between(0.36, 0.5);
    model.high_speed = random.Between(0.98, 1.06);
    if (model.IsOneToOne()) return model;
  }
}

}  // namespace islebook::paint
