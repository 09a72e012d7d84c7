#pragma once
// What to change first, as a table for a person and as JSON.

#include <string>

#include "mapstore/bench/what_first.h"

namespace islebook {

std::string WhatFirstText(const WhatFirst& found, UnitHabit units);
// One object, described in mapstore/bench/CASE_FILE.md. SI.
std::string WhatFirstJson(const WhatFirst& found);

}  // namespace islebook
