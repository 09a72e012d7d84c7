#pragma once
// Numbers in the units that a shop is used to.

#include <optional>
#include <string>

#include "mapstore/bench/unit_habit.h"

namespace islebook {

class Shop {
 public:
  explicit Shop(const UnitHabit& habit) : habit_(habit) {}
  std::string Pressure(double pascal) const;
  std::string Drop(double pascal) const;  // small differences of pressure
  std::string Flow(double kg_s) const;
  std::string Fuel(double kg_s) const;
  std::string Power(double watt) const;
  std::string Volume(double m3) const;
  std::string Temperature(double kelvin) const;
  std::string Consumption(double kg_J) const;

  // A number in the shop's unit, without it.
  double In(ShopQuantity quantity, double si) const;
  // A difference or an uncertainty: no offset.
  double Difference(ShopQuantity quantity, double si) const { return si / habit_.Of(quantity).factor; }
  const char* Unit(ShopQuantity quantity) const { return habit_.Of(quantity).name; }

 private:
  std::string Words(ShopQuantity quantity, double si) const;

  UnitHabit habit_;
};

}  // namespace islebook
