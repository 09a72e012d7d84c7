#pragma once
// What every stage says about itself besides its result.

#include <functional>
#include <string>
#include <vector>

namespace islebook {

struct StageReport {
  double confidence = 1.0;          // 0..1
  std::vector<std::string> notes;   // short facts: "84 chains", "residual 0.08 px", "stopped: no long lines"
  std::vector<std::string> doubts;  // in words, for a person to review
};

// Called with the stage's name and the fraction done (0..1) of the whole sheet; returning false asks the work to stop (ErrorCode::kCancelled).
using Progress = std::function<bool(const char* stage, double fraction)>;

}  // namespace islebook
