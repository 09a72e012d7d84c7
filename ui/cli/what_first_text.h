#pragma once
// What to change first, as a table for a person.

#include <string>

#include "mapstore/bench/what_first.h"

namespace islebook {

std::string WhatFirstText(const WhatFirst& found, const UnitHabit& units);
}  // namespace islebook
