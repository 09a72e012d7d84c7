#include "digitizer/curves/dash_crossings.h"

#include <cmath>

namespace islebook {
namespace {

constexpr double kCell = 4.0;      // px
constexpr double kOn = 1.3;        // px: this close is on it
constexpr double kEndsPx = 2.5;    // of the bridge next to its ends
constexpr double kAlike = 0.35;    // of the log ink mass
constexpr std::size_t kLeast = 6;  // points: less may be dirt

}  // namespace

std::int64_t DashCrossings::Key(double x, double y) {
  return (static_cast<std::int64_t>(std::floor(x / kCell)) << 32) ^ (static_cast<std::int64_t>(std::floor(y / kCell)) & 0xffffffff);
}

DashCrossings::DashCrossings(const std::vector<Path>& paths) {
  masses_.resize(paths.size(), 0);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (!paths[i].Dashed() || paths[i].points.size() < kLeast) continue;
    masses_[i] = paths[i].ink_mass;
    for (const PathPoint& p : paths[i].points)
      cells_[Key(p.at.x, p.at.y)].push_back({static_cast<std::uint32_t>(i), static_cast<float>(p.at.x), static_cast<float>(p.at.y)});
  }
}

bool DashCrossings::Crosses(const std::vector<ImagePoint>& bridge, std::size_t a, std::size_t b, double ink_mass) const {
  if (bridge.size() < 3) return false;
  for (const ImagePoint& p : bridge) {
    if (std::hypot(p.x - bridge.front().x, p.y - bridge.front().y) < kEndsPx || std::hypot(p.x - bridge.back().x, p.y - bridge.back().y) < kEndsPx)
      continue;
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) {
        const auto cell = cells_.find(Key(p.x + dx * kCell, p.y + dy * kCell));
        if (cell == cells_.end()) continue;
        for (const Entry& e : cell->second)
          if (e.path != a && e.path != b && std::hypot(e.x - p.x, e.y - p.y) < kOn &&
              std::abs(std::log((masses_[e.path] + 0.1) / (ink_mass + 0.1))) < kAlike)
            return true;
      }
  }
  return false;
}

}  // namespace islebook
