#pragma once
// Numbers in the units a shop is used to: US or SI.

#include <string>

#include "mapstore/bench/bench_case.h"

namespace islebook {

// Numbers in the shop's units.
class Shop {
 public:
  explicit Shop(UnitHabit habit) : us_(habit == UnitHabit::kUs) {}
  std::string Pressure(double pascal) const;
  std::string Drop(double pascal) const;
  std::string Flow(double kg_s) const;
  std::string Fuel(double kg_s) const;
  std::string Power(double watt) const;
  std::string Volume(double m3) const;
  std::string Temperature(double kelvin) const;
  std::string Consumption(double kg_J) const;

 private:
  bool us_;
};

}  // namespace islebook
