#pragma once
// An invented compressor with formulas for everything: speed lines, surge, choke and efficiency are smooth functions of two coordinates,
//   s  0 at surge .. 1 at the choke end of a speed line,
//   n  speed as a fraction of the design speed.
// Sensible rather than real: pressure ratio grows as an ideal gas's does with the square of tip speed, lines droop to a near vertical choke, surge
// and choke flows rise with speed, the best efficiency lies in the middle.

#include <string>

#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"

namespace islebook::paint {

struct CompressorModel {
  std::string wheel;  // "Alder 44"
  double inducer_mm = 52.0;
  double design_rpm = 140000;
  double tip_speed = 500.0;                     // m/s at design speed
  double top_ratio = 3.2;                       // pressure ratio at surge, design speed
  double surge_flow = 0.16, choke_flow = 0.33;  // kg/s at design speed
  double surge_power = 1.5;                     // surge flow ~ n^power
  double choke_bend = 1.0;                      // how early the inducer chokes
  double hump = 0.02;                           // rise of a line right of surge
  double droop_power = 3.2;                     // larger: flatter lines with a sharper fall
  double end_part = 0.96;                       // of the way to choke at which lines end
  double peak_efficiency = 0.78;
  double best_flow = 0.45;  // fraction of a line's flow range
  double best_speed = 0.75;
  double kink = 0.0;  // of the surge line
  double low_speed = 0.45, high_speed = 1.05;

  Point2 At(double s, double n) const;  // flow in kg/s, pressure ratio
  double Efficiency(double s, double n) const;
  bool IsOneToOne() const;  // lines do not cross anywhere in the domain

  // Draws parameters until the map is one to one.
  static CompressorModel Draw(Random& random, double inducer_mm, std::string wheel);
};

}  // namespace islebook::paint
