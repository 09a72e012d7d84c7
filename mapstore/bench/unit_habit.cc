#include "mapstore/bench/unit_habit.h"

#include <algorithm>

#include <fmt/format.h>

namespace islebook {
namespace {

// Pound, foot: exact (international yard and pound, 1959). Pound-force per square inch and horsepower (550 ft lbf/s) follow from them and standard gravity;
// the metric horsepower is 75 m kgf/s (DIN 66036).
constexpr ShopUnit kFlows[] = {{"kg/s", "kg/s", 1.0, 0.0, -1},
                               {"g/s", "g/s", 1e-3, 0.0, -1},
                               {"kg/min", "kg/min", 1.0 / 60, 0.0, -1},
                               {"kg/h", "kg/h", 1.0 / 3600, 0.0, -1},
                               {"lb/min", "lb/min", 0.45359237 / 60, 0.0, -1}};
constexpr ShopUnit kPressures[] = {
    {"bar", "", 1e5, 0.0, 3}, {"kPa", "", 1e3, 0.0, 1}, {"mbar", "", 1e2, 0.0, 0}, {"psi", "", 6894.757293168, 0.0, 1}};
constexpr ShopUnit kTemperatures[] = {{"°C", "", 1.0, 273.15, 0}, {"K", "", 1.0, 0.0, 0}, {"°F", "", 1 / 1.8, 459.67 / 1.8, 0}};
constexpr ShopUnit kSpeeds[] = {{"rpm", "rpm", 1.0 / 60, 0.0, 0}, {"krpm", "krpm", 1000.0 / 60, 0.0, 2}};
constexpr ShopUnit kPowers[] = {{"kW", "", 1e3, 0.0, -1}, {"hp", "", 745.699872, 0.0, -1}, {"PS", "", 735.49875, 0.0, -1}};
constexpr ShopUnit kLengths[] = {{"m", "", 1.0, 0.0, 0}, {"ft", "", 0.3048, 0.0, 0}};

constexpr ShopQuantity kAll[] = {ShopQuantity::kFlow,  ShopQuantity::kPressure, ShopQuantity::kTemperature,
                                 ShopQuantity::kSpeed, ShopQuantity::kPower,    ShopQuantity::kLength};

std::string_view Trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

}  // namespace

constexpr UnitHabit UnitHabit::kSi{{0, 0, 0, 0, 0, 0}};
constexpr UnitHabit UnitHabit::kUs{{4, 3, 2, 0, 1, 1}};

const char* ShopQuantityName(ShopQuantity quantity) {
  static constexpr const char* kNames[] = {"flow", "pressure", "temperature", "speed", "power", "length"};
  return kNames[static_cast<std::size_t>(quantity)];
}

std::span<const ShopUnit> ShopUnits(ShopQuantity quantity) {
  switch (quantity) {
    case ShopQuantity::kFlow: return kFlows;
    case ShopQuantity::kPressure: return kPressures;
    case ShopQuantity::kTemperature: return kTemperatures;
    case ShopQuantity::kSpeed: return kSpeeds;
    case ShopQuantity::kPower: return kPowers;
    case ShopQuantity::kLength: return kLengths;
  }
  return {};
}

const ShopUnit& UnitHabit::Of(ShopQuantity quantity) const { return ShopUnits(quantity)[chosen_[static_cast<std::size_t>(quantity)]]; }

Result<void> UnitHabit::Set(ShopQuantity quantity, std::string_view unit) {
  const std::span<const ShopUnit> units = ShopUnits(quantity);
  // A keyboard has no degree sign at hand.
  const std::string wanted = unit == "degC" || unit == "C" ? "°C" : unit == "degF" || unit == "F" ? "°F" : std::string(unit);
  const auto found = std::ranges::find_if(units, [&](const ShopUnit& known) { return wanted == known.name; });
  if (found == units.end()) {
    std::string names;
    for (const ShopUnit& known : units) names += (names.empty() ? "" : ", ") + std::string(known.name);
    return Fail(ErrorCode::kUnknownUnit, fmt::format("{} is shown in one of {}, not in \"{}\".", ShopQuantityName(quantity), names, unit));
  }
  chosen_[static_cast<std::size_t>(quantity)] = static_cast<unsigned char>(found - units.begin());
  return {};
}

Result<UnitHabit> ParseUnitHabit(std::string_view text) {
  UnitHabit habit;
  for (bool first = true; first || !text.empty(); first = false) {
    const auto comma = text.find(',');
    const std::string_view part = Trimmed(text.substr(0, comma));
    text = comma == std::string_view::npos ? std::string_view() : text.substr(comma + 1);
    if (first && (part == "si" || part == "us")) {
      habit = part == "us" ? UnitHabit::kUs : UnitHabit::kSi;
      continue;
    }
    const auto gap = part.find(' ');
    const std::string_view name = part.substr(0, gap);
    const auto quantity = std::ranges::find_if(kAll, [&](ShopQuantity known) { return name == ShopQuantityName(known); });
    if (first || gap == std::string_view::npos || quantity == std::end(kAll))
      return Fail(ErrorCode::kInvalidArgument,
                  fmt::format("units is \"si\" or \"us\", with what is different behind it (\"si, flow lb/min, pressure kPa\"), not \"{}\".", part));
    if (const Result<void> set = habit.Set(*quantity, Trimmed(part.substr(gap))); !set) return std::unexpected(set.error());
  }
  return habit;
}

std::string WriteUnitHabit(const UnitHabit& habit) {
  const auto different = [&](const UnitHabit& base) {
    return std::ranges::count_if(kAll, [&](ShopQuantity quantity) { return &base.Of(quantity) != &habit.Of(quantity); });
  };
  const bool us = different(UnitHabit::kUs) < different(UnitHabit::kSi);
  std::string text = us ? "us" : "si";
  const UnitHabit base = us ? UnitHabit::kUs : UnitHabit::kSi;
  for (const ShopQuantity quantity : kAll)
    if (&base.Of(quantity) != &habit.Of(quantity)) text += fmt::format(", {} {}", ShopQuantityName(quantity), habit.Of(quantity).name);
  return text;
}

}  // namespace islebook
