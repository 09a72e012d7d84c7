#include "mapstore/bench/shop_units.h"

#include <fmt/format.h>

namespace islebook {
namespace {

constexpr double kPsi = 6894.757293168, kPound = 0.45359237, kHorsepower = 745.699872, kCubicInch = 1.6387064e-5;

}  // namespace

std::string Shop::Pressure(double pascal) const { return us_ ? fmt::format("{:.1f} psi", pascal / kPsi) : fmt::format("{:.3f} bar", pascal / 1e5); }

std::string Shop::Drop(double pascal) const { return us_ ? fmt::format("{:.2f} psi", pascal / kPsi) : fmt::format("{:.1f} kPa", pascal / 1e3); }

std::string Shop::Temperature(double kelvin) const {
  return us_ ? fmt::format("{:.0f} °F", kelvin * 1.8 - 459.67) : fmt::format("{:.0f} °C", kelvin - 273.15);
}

std::string Shop::Flow(double kg_s) const { return us_ ? fmt::format("{:.4g} lb/min", kg_s * 60 / kPound) : fmt::format("{:.4g} kg/s", kg_s); }

std::string Shop::Fuel(double kg_s) const { return us_ ? fmt::format("{:.4g} lb/h", kg_s * 3600 / kPound) : fmt::format("{:.4g} kg/h", kg_s * 3600); }

std::string Shop::Power(double watt) const { return us_ ? fmt::format("{:.4g} hp", watt / kHorsepower) : fmt::format("{:.4g} kW", watt / 1e3); }

std::string Shop::Volume(double m3) const { return us_ ? fmt::format("{:.4g} in3", m3 / kCubicInch) : fmt::format("{:.4g} L", m3 * 1e3); }

std::string Shop::Consumption(double kg_J) const {
  return us_ ? fmt::format("{:.3g} lb/(hp h)", kg_J * kHorsepower * 3600 / kPound) : fmt::format("{:.4g} g/kWh", kg_J * 3.6e9);
}

}  // namespace islebook
