#pragma once
// Which paths pass near a place. Internal to curves.

#include <cmath>
#include <cstdint>
#include <unordered_map>
#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Finds the points of paths near a place. The paths must outlive it unchanged.
class PathGrid {
 public:
  explicit PathGrid(const std::vector<Path>& paths) {
    for (int i = 0; i < static_cast<int>(paths.size()); ++i)
      for (int k = 0; k < static_cast<int>(paths[static_cast<std::size_t>(i)].points.size()); ++k) {
        const ImagePoint p = paths[static_cast<std::size_t>(i)].points[static_cast<std::size_t>(k)].at;
        cells_[Key(p)].push_back({i, k});
      }
  }
  struct Entry {
    int path, point;
  };
  template <typename F>
  void Near(ImagePoint p, double radius, F&& visit) const {
    const int r = static_cast<int>(std::ceil(radius / kCell));
    for (int dy = -r; dy <= r; ++dy)
      for (int dx = -r; dx <= r; ++dx) {
        const auto cell = cells_.find(Key({p.x + dx * kCell, p.y + dy * kCell}));
        if (cell == cells_.end()) continue;
        for (const Entry& e : cell->second) visit(e);
      }
  }

 private:
  static constexpr double kCell = 16.0;  // px
  static std::int64_t Key(ImagePoint p) {
    return (static_cast<std::int64_t>(std::floor(p.x / kCell)) << 32) ^ (static_cast<std::int64_t>(std::floor(p.y / kCell)) & 0xffffffff);
  }
  std::unordered_map<std::int64_t, std::vector<Entry>> cells_;
};

}  // namespace islebook
