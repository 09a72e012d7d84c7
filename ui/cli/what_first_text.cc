#include "ui/cli/what_first_text.h"

#include <cmath>

#include <nlohmann/json.hpp>

#include "ui/cli/shop_units.h"

namespace islebook {
namespace {

std::string Value(Goal goal, double value, const Shop& shop, UnitHabit units) {
  switch (goal) {
    case Goal::kPower: return shop.Power(value);
    case Goal::kLowSpeed: return GroupThousands(std::lround(value * 60)) + " rpm";
    case Goal::kDriveRatio: return fmt::format("{:.2f}", value);
    case Goal::kAltitude:
      return units == UnitHabit::kUs ? GroupThousands(std::lround(value / 0.3048 / 10) * 10) + " ft"
                                     : GroupThousands(std::lround(value / 10) * 10) + " m";
  }
  return "";
}

// A difference shows its sign; below a part in five hundred it is none.
std::string Gain(const WhatFirst& found, const RankedChange& change, const Shop& shop, UnitHabit units) {
  if (!change.gain) return "-";
  const double difference = *change.value - *found.now;
  if (std::abs(difference) < 2e-3 * std::max(std::abs(*found.now), 1e-9)) return "no change";
  return (difference > 0 ? "+" : "-") + Value(found.goal, std::abs(difference), shop, units);
}

nlohmann::ordered_json Optional(const std::optional<double>& value) {
  return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
}

}  // namespace

std::string WhatFirstText(const WhatFirst& found, UnitHabit units) {
  const Shop shop(units);
  const GoalDefinition& goal = DefinitionOf(found.goal);
  std::string out = fmt::format("What to change first: {}, at {}\n", goal.words, found.point);
  out += found.now
             ? fmt::format("  now {}{}\n", Value(found.goal, *found.now, shop, units), found.limited_by.empty() ? "" : ", then " + found.limited_by)
             : fmt::format("  now it holds nowhere: {}\n", found.limited_by);
  Table table;
  table.Add({"change", "then", "difference", "", "and then"});
  for (const RankedChange& change : found.changes) {
    std::string then = change.value ? Value(found.goal, *change.value, shop, units) : "holds nowhere";
    table.Add({change.words, then, Gain(found, change, shop, units), change.estimated ? "estimated" : "", change.limited_by});
  }
  out += table.Draw();
  out +=
      "  Each line changes one thing. \"Estimated\": a size by similarity that no map on the shelf describes. Of equal gain the cheaper comes first: "
      "ports and openings, coolers,\n"
      "  turbines, compressors (common practice, no source). A wheel from the shelf comes without its maker's speed limit: check it before anything "
      "is built.\n";
  for (const std::string& left_out : found.left_out) out += fmt::format("  left out: {}\n", left_out);
  return out;
}

std::string WhatFirstJson(const WhatFirst& found) {
  using Json = nlohmann::ordered_json;
  Json changes = Json::array();
  for (const RankedChange& change : found.changes)
    changes.push_back({{"element", ChangedElementName(change.element)},
                       {"stage", change.stage >= 0 ? Json(change.stage) : Json(nullptr)},
                       {"words", change.words},
                       {"estimated", change.estimated},
                       {"value", Optional(change.value)},
                       {"gain", Optional(change.gain)},
                       {"limited_by", change.limited_by}});
  const GoalDefinition& goal = DefinitionOf(found.goal);
  const Json out = {{"document", "bench-changes"},
                    {"schema", 1},
                    {"goal", goal.name},
                    {"words", goal.words},
                    {"point", found.point},
                    {"now", Optional(found.now)},
                    {"limited_by", found.limited_by},
                    {"changes", changes},
                    {"left_out", found.left_out}};
  return out.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace islebook
