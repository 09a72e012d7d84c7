#pragma once
// Untangling: where two joined paths meet, whether they cross or turn away from each other is judged once more from long stretches on both sides. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Exchanges the tails of open paths that meet, where that makes both smoother.
void Untangle(std::vector<Path>& paths);

// Where a path ends beside the middle of another, which bends or changes its ink there as no line does, the two may have changed places: the path that ends
// is joined to the part that it carries on, and the other part is set free. A path that was led once around a round that it touches is parted from it. False when nothing was changed.
bool SetWrongTurnsRight(std::vector<Path>& paths, const JoinField& field);

}  // namespace islebook
