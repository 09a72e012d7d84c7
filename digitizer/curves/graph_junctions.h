#pragma once
// Junctions of graph lines: where lines of one make cross at a shallow angle, each piece's continuation is chosen once more, for all pieces that meet
// there together, from long stretches on both sides. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

void ResolveJunctions(std::vector<Path>& paths, const JoinField& field);

}  // namespace islebook
