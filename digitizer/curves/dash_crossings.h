#pragma once
// Dash crossings: dashed lines of one make (islands) do not cross, so a join whose bridge runs across another of them is unlikely. Internal to curves.

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

class DashCrossings {
 public:
  explicit DashCrossings(const std::vector<Path>& paths);
  // Whether the bridge from path a to path b passes over a third dashed path of about their ink mass.
  bool Crosses(const std::vector<ImagePoint>& bridge, std::size_t a, std::size_t b, double ink_mass) const;

 private:
  struct Entry {
    std::uint32_t path;
    float x, y;
  };
  static std::int64_t Key(double x, double y);
  std::unordered_map<std::int64_t, std::vector<Entry>> cells_;
  std::vector<double> masses_;
};

}  // namespace islebook
