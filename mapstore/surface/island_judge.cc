#include "mapstore/surface/island_judge.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "mapstore/surface/bspline_sheet.h"

namespace islebook {
namespace {

constexpr int kIntervals = 14;
constexpr double kCurvature = 5.0;     // as EfficiencyField's
constexpr double kLoose = 3e-3;        // a sheet that passes this near
constexpr double kLeastSigma = 4e-3;   // no prediction is surer
constexpr double kShare = 0.75;        // a random field is rougher than an efficiency, as EfficiencyField has it
constexpr std::size_t kPlaces = 40;    // of an island are looked at
constexpr double kCoincidence = 0.2;   // a wrong value is another island's, too, about so often
constexpr double kOftenWrong = 0.12;   // of flagged islands
constexpr double kWrongSpread = 0.16;  // a wrong value is anywhere in a range so wide

std::size_t StrideOf(const Island& island) { return std::max<std::size_t>(1, island.points.size() / kPlaces); }

}  // namespace

std::vector<double> JudgeIslands(const std::vector<Island>& islands, const std::vector<char>& used, double roughness) {
  std::vector<double> right(islands.size(), 1.0);
  if (std::count(used.begin(), used.end(), 1) < 3) return right;
  for (std::size_t judged = 0; judged < islands.size(); ++judged) {
    if (!used[judged] || !islands[judged].doubtful) continue;
    BsplineSheet sheet(kIntervals, roughness, kCurvature);
    for (std::size_t i = 0; i < islands.size(); ++i) {
      if (!used[i] || i == judged) continue;
      const std::size_t stride = StrideOf(islands[i]);
      for (std::size_t k = 0; k < islands[i].points.size(); k += stride) {
        const IslandPoint& point = islands[i].points[k];
        sheet.Add(point.x, point.y, islands[i].level, point.trust / (kLoose * kLoose));
      }
    }
    if (!sheet.Solve()) continue;
    double miss = 0.0, sigma = 0.0;
    int places = 0;
    for (std::size_t k = 0; k < islands[judged].points.size(); k += StrideOf(islands[judged])) {
      const IslandPoint& point = islands[judged].points[k];
      miss += sheet.Value(point.x, point.y) - islands[judged].level;
      sigma += std::sqrt(sheet.Variance(point.x, point.y));
      ++places;
    }
    miss /= places;
    sigma = std::hypot(kShare * sigma / places, kLeastSigma);
    double wrong_before = kOftenWrong;
    for (std::size_t i = 0; i < islands.size(); ++i) {
      if (!used[i] || i == judged || std::abs(islands[i].level - islands[judged].level) > 1e-6) continue;
      wrong_before *= kCoincidence;
      break;
    }
    const double if_right = std::exp(-0.5 * std::pow(miss / sigma, 2)) / (sigma * std::sqrt(2.0 * std::numbers::pi));
    const double if_wrong = 1.0 / kWrongSpread;
    right[judged] = (1.0 - wrong_before) * if_right / ((1.0 - wrong_before) * if_right + wrong_before * if_wrong);
  }
  return right;
}

}  // namespace islebook
