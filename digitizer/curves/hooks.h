#pragma once
// Hooks and lone bars: what small pieces do to the paths they are joined to, or lie on. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Takes off short end pieces that turn away from the course of the long path they were joined to: scraps of glyphs, dirt, a neighbor's bar.
void TrimHooks(std::vector<Path>& paths, double unit);

// Lone bars that lie on the bridge of a path become part of it; those that lie along its ink are dropped. `bars` keeps the others.
void AbsorbLoneBars(std::vector<Path>& paths, std::vector<Path>& bars);

}  // namespace islebook
