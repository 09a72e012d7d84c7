#include "mapstore/bench/shop_units.h"

#include <string_view>

#include <fmt/format.h>

namespace islebook {
namespace {

constexpr double kPound = 0.45359237, kHorsepower = 745.699872, kCubicInch = 1.6387064e-5;

bool Is(const ShopUnit& unit, std::string_view name) { return unit.name == name; }

}  // namespace

double Shop::In(ShopQuantity quantity, double si) const {
  const ShopUnit& unit = habit_.Of(quantity);
  return (si - unit.offset) / unit.factor;
}

std::string Shop::Words(ShopQuantity quantity, double si) const {
  const ShopUnit& unit = habit_.Of(quantity);
  return unit.decimals < 0 ? fmt::format("{:.4g} {}", In(quantity, si), unit.name)
                           : fmt::format("{:.{}f} {}", In(quantity, si), unit.decimals, unit.name);
}

std::string Shop::Pressure(double pascal) const { return Words(ShopQuantity::kPressure, pascal); }

std::string Shop::Drop(double pascal) const {
  const ShopUnit& unit = habit_.Of(ShopQuantity::kPressure);
  if (Is(unit, "psi")) return fmt::format("{:.2f} psi", pascal / unit.factor);
  return Is(unit, "mbar") ? fmt::format("{:.0f} mbar", pascal / 100) : fmt::format("{:.1f} kPa", pascal / 1e3);
}

std::string Shop::Temperature(double kelvin) const { return Words(ShopQuantity::kTemperature, kelvin); }

std::string Shop::Flow(double kg_s) const { return Words(ShopQuantity::kFlow, kg_s); }

// An hour is what fuel is counted by, whatever the air is counted by.
std::string Shop::Fuel(double kg_s) const {
  return Is(habit_.Of(ShopQuantity::kFlow), "lb/min") ? fmt::format("{:.4g} lb/h", kg_s * 3600 / kPound) : fmt::format("{:.4g} kg/h", kg_s * 3600);
}

std::string Shop::Power(double watt) const { return Words(ShopQuantity::kPower, watt); }

std::string Shop::Volume(double m3) const {
  return Is(habit_.Of(ShopQuantity::kLength), "ft") ? fmt::format("{:.4g} in3", m3 / kCubicInch) : fmt::format("{:.4g} L", m3 * 1e3);
}

std::string Shop::Consumption(double kg_J) const {
  return Is(habit_.Of(ShopQuantity::kPower), "hp") ? fmt::format("{:.3g} lb/(hp h)", kg_J * kHorsepower * 3600 / kPound)
                                                   : fmt::format("{:.4g} g/kWh", kg_J * 3.6e9);
}

}  // namespace islebook
