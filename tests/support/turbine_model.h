#pragma once
// An invented turbine with formulas for everything. Flow follows the ellipse law of A. Stodola (Dampf- und Gasturbinen, 6th ed. 1924),
// efficiency the parabola over the ratio of blade speed to spouting velocity.

#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"

namespace islebook::paint {

struct TurbineModel {
  std::string wheel;
  double wheel_mm = 60.0;
  double design_rpm = 120000;
  double tip_speed = 450.0;  // m/s at design speed
  bool has_vanes = false;
  double flow = 0.04;          // kg/s sqrt(K)/kPa, choked, at design speed or fully open
  double choke_ratio = 0.42;   // outlet over inlet pressure at which it chokes
  double speed_effect = 0.12;  // how much a fast wheel holds flow back
  double peak_efficiency = 0.74;
  double best_velocity_ratio = 0.68;
  double sharpness = 1.0;
  double best_opening = 0.7;  // vanes
  double low_ratio = 1.15, high_ratio = 3.0;

  // `line`: speed as a fraction of the design speed, or vane opening 0..1.
  double Flow(double expansion_ratio, double line) const;
  double Efficiency(double expansion_ratio, double line) const;
  // Where the line is drawn.
  double FirstRatio(double line) const;
  double LastRatio(double line) const;

  static TurbineModel Draw(Random& random, double wheel_mm, std::string wheel, bool has_vanes);
};

}  // namespace islebook::paint
