#pragma once
// islebook shelf find: maps by words, facts, what they can do, or likeness.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct ShelfFindArguments {
  std::vector<std::string> words;
  std::string maker;
  std::vector<std::string> tags;
  std::string kind;
  std::string inducer, exducer;  // "52", "50..60", "..60" in mm
  bool removed = false;
  std::string flow, pressure_ratio;             // an operating point; "0.42 kg/s"
  std::optional<std::filesystem::path> points;  // an operating line, CSV
  std::string surge_margin, efficiency;         // at least; "0.15" or "15 %"
  std::string reference;                        // what the flows are corrected to; empty: 288.15 K, 101325 Pa
  std::string like;                             // a map's name
  bool from_index = false;                      // the index's word alone
  int limit = 20;
};

int RunShelfFind(const ShelfFindArguments& arguments, const CommonArguments& common);

}  // namespace islebook
