#pragma once
// What a goal's values are in words, in the shop's units.

#include <string>

#include "mapstore/bench/what_first.h"

namespace islebook {

std::string GoalValueWords(Goal goal, double value, const UnitHabit& units);
// "+12.4 hp", "-246 rpm", "no change" below a part in five hundred, "-" where it holds nowhere, with the change or as it stands.
std::string GainWords(const WhatFirst& found, const RankedChange& change, const UnitHabit& units);

}  // namespace islebook
