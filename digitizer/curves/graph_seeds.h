#pragma once
// Seeds of graph lines: stretches that surely belong to one line. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

struct GraphSeeds {
  std::vector<Path> solid;   // middle stretches of long strokes, longest first
  std::vector<Path> dashed;  // dashes that follow each other without a rival
  std::vector<Path> rest;    // shorter strokes, for lines that nothing else has taken
  double usual_gap = 6.0;    // px between dashes
};

GraphSeeds FindGraphSeeds(const std::vector<Stroke>& strokes, const JoinField& field);

}  // namespace islebook
