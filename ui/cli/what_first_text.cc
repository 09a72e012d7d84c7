#include "ui/cli/what_first_text.h"

#include <fmt/format.h>

#include "mapstore/bench/goal_words.h"
#include "ui/cli/text_table.h"

namespace islebook {
std::string WhatFirstText(const WhatFirst& found, const UnitHabit& units) {
  const GoalDefinition& goal = DefinitionOf(found.goal);
  std::string out = fmt::format("What to change first: {}, at {}\n", goal.words, found.point);
  out += found.now ? fmt::format("  now {}{}\n", GoalValueWords(found.goal, *found.now, units),
                                 found.limited_by.empty() ? "" : ", then " + found.limited_by)
                   : fmt::format("  now it holds nowhere: {}\n", found.limited_by);
  Table table;
  table.Add({"change", "then", "difference", "", "and then"});
  for (const RankedChange& change : found.changes) {
    std::string then = change.value ? GoalValueWords(found.goal, *change.value, units) : "holds nowhere";
    table.Add({change.words, then, GainWords(found, change, units), change.estimated ? "estimated" : "", change.limited_by});
  }
  out += table.Draw();
  out +=
      "  Each line changes one thing. \"Estimated\": a size by similarity that no map on the shelf describes. Of equal gain the cheaper comes first: "
      "ports and openings, coolers,\n"
      "  turbines, compressors (common practice, no source). A wheel from the shelf comes without its maker's speed limit: check it before anything "
      "is built.\n";
  if (found.not_tried > 0) out += fmt::format("  {} changes were not tried.\n", found.not_tried);
  for (const std::string& left_out : found.left_out) out += fmt::format("  left out: {}\n", left_out);
  return out;
}

}  // namespace islebook
