#pragma once
// Untangling: where two joined paths meet, whether they cross or turn away from each other is judged once more from long stretches on both sides. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Exchanges the tails of open paths that meet, where that makes both smoother.
void Untangle(std::vector<Path>& paths);

}  // namespace islebook
