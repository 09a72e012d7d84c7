#include "mapstore/bench/goal_words.h"

#include <cmath>

#include <fmt/format.h>

#include "mapstore/bench/shop_units.h"

namespace islebook {

std::string GoalValueWords(Goal goal, double value, const UnitHabit& units) {
  switch (goal) {
    case Goal::kPower: return Shop(units).Power(value);
    case Goal::kLowSpeed: return GroupThousands(std::lround(value * 60)) + " rpm";
    case Goal::kDriveRatio: return fmt::format("{:.2f}", value);
    case Goal::kAltitude: {
      const ShopUnit& unit = units.Of(ShopQuantity::kLength);
      return GroupThousands(std::lround(value / unit.factor / 10) * 10) + ' ' + unit.name;
    }
  }
  return "";
}

std::string GainWords(const WhatFirst& found, const RankedChange& change, const UnitHabit& units) {
  if (!change.gain) return "-";
  const double difference = *change.value - *found.now;
  if (std::abs(difference) < 2e-3 * std::max(std::abs(*found.now), 1e-9)) return "no change";
  return (difference > 0 ? "+" : "-") + GoalValueWords(found.goal, std::abs(difference), units);
}

}  // namespace islebook
