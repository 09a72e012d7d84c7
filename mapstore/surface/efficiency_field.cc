#include "mapstore/surface/efficiency_field.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/surface/banded_spd.h"
#include "mapstore/surface/bspline_sheet.h"
#include "mapstore/surface/island_judge.h"
#include "mapstore/surface/spline.h"

namespace islebook {
namespace {

constexpr int kIntervals = 22;
constexpr int kSize = kIntervals + 3;
constexpr double kLow = BsplineSheet::kLow, kHigh = BsplineSheet::kHigh;
constexpr double kStep = (kHigh - kLow) / kIntervals;
constexpr int kHalfBand = 3 * kSize + 3;
constexpr int kSigmaGrid = 25;
constexpr int kFlagGrid = 64;
constexpr double kAlike = 8.0;        // neighboring points of a traced curve err alike: so many count as one
constexpr double kSigmaShare = 0.75;  // a random field is rougher than an efficiency: the share of its uncertainty that truth shows
// The same where no island bounds the value: the parabola that the islands began goes on better than chance has it.
constexpr double kSigmaShareBeyond = 0.53;
// Uncertainty of a value beside the only level there is: nothing says how fast efficiency falls from it, or rises inside.
constexpr double kAlone = 0.01, kUsualSlope = 0.3;
constexpr double kDoubtfulSigma = 1e-3;   // of a flagged island's level
constexpr double kUsualSpotSigma = 2e-3;  // of a printed efficiency that states none
constexpr double kFadeOutside = 0.15;     // beyond the outermost lines the change of efficiency fades over this part of the lines' range
constexpr double kSigmaOutside = 0.15;    // and its uncertainty grows by this over the lines' whole range
constexpr double kUsualCurvature = 5.0;   // second derivatives of efficiency over the unit square are of this size

struct Basis {
  int first;  // coefficient index of the first weight
  double weights[4];
};

Basis BasisAt(double x) {
  const double place = std::clamp((x - kLow) / kStep, 0.0, static_cast<double>(kIntervals));
  Basis basis{};
  basis.first = std::min(static_cast<int>(place), kIntervals - 1);
  BsplineWeights(place - basis.first, basis.weights);
  return basis;
}

void AddDatum(BandedSpd& matrix, std::vector<double>& right, double at_x, double at_y, double value, double weight) {
  const Basis x = BasisAt(at_x), y = BasisAt(at_y);
  for (int a = 0; a < 4; ++a) {
    for (int b = 0; b < 4; ++b) {
      const int row = (y.first + a) * kSize + x.first + b;
      const double left = weight * y.weights[a] * x.weights[b];
      right[row] += left * value;
      for (int c = 0; c <= a; ++c) {
        const int last = c < a ? 3 : b;
        for (int d = 0; d <= last; ++d) matrix.Lower(row, (y.first + c) * kSize + x.first + d) += left * y.weights[c] * x.weights[d];
      }
    }
  }
}

// How much an island counts while the sheet is still loose.
double Trust(const Island& island) { return island.doubtful ? 0.5 * std::pow(std::clamp(island.confidence, 0.1, 1.0), 2) : 1.0; }

// Even steps along an island, so that a densely drawn one does not outweigh the others.
std::vector<IslandPoint> EvenSteps(const Island& island, double step) {
  std::vector<IslandPoint> even;
  double left = 0.0;
  for (std::size_t i = 0; i < island.points.size(); ++i) {
    const IslandPoint& here = island.points[i];
    if (i == 0) {
      even.push_back(here);
      continue;
    }
    const IslandPoint& before = island.points[i - 1];
    const double length = std::hypot(here.x - before.x, here.y - before.y);
    double place = step - left;
    while (place <= length && length > 0.0) {
      const double t = place / length;
      IslandPoint between = before;
      between.x += t * (here.x - before.x);
      between.y += t * (here.y - before.y);
      even.push_back(between);
      place += step;
    }
    left = length - (place - step);
  }
  if (even.size() < 3) return island.points;
  return even;
}

}  // namespace

EfficiencyField::EfficiencyField(const std::vector<Island>& islands, const std::vector<EfficiencySpot>& spots, bool with_sigma, int left_out)
    : spots_(spots) {
  static_assert(kCoefficients == kSize * kSize && kSigmas == kSigmaGrid * kSigmaGrid && kFlags == kFlagGrid * kFlagGrid);
  std::vector<Island> even;
  std::vector<char> used;
  for (std::size_t i = 0; i < islands.size(); ++i) {
    if (static_cast<int>(i) == left_out || islands[i].points.size() < 3) continue;
    Island island = islands[i];
    island.points = EvenSteps(islands[i], 0.02);
    for (IslandPoint& point : island.points) point.trust = Trust(island);
    even.push_back(std::move(island));
    used.push_back(1);
  }
  if (even.empty()) return;
  // A loose sheet first: an island that disagrees with all the others is left out rather than obeyed.
  double roughness = 2.0;
  for (int round = 0; round < 3; ++round) {
    roughness = std::clamp(Fit(even, used, 3e-3, roughness, false), 0.3, 20.0);
    int worst = -1;
    double worst_miss = 0.0;
    for (std::size_t i = 0; i < even.size(); ++i) {
      if (!used[i]) continue;
      double squares = 0.0;
      for (const IslandPoint& point : even[i].points) squares += std::pow(Raw(point.x, point.y).value - even[i].level, 2);
      const double miss = std::sqrt(squares / static_cast<double>(even[i].points.size()));
      if (miss > worst_miss) worst_miss = miss, worst = static_cast<int>(i);
    }
    if (worst_miss < 0.012 || std::count(used.begin(), used.end(), 1) < 4) break;
    used[worst] = 0;
    notes_.push_back(fmt::format("The {:g} % island does not agree with the others and is left out.", std::round(even[worst].level * 1e4) / 100.0));
  }
  const std::vector<double> right = JudgeLevels(even, used, roughness);
  DropStrays(even, used, roughness);
  for (std::size_t i = 0; i < even.size(); ++i)
    if (used[i]) levels_.push_back(even[i].level);
  std::sort(levels_.begin(), levels_.end(), std::greater<>());
  levels_.erase(std::unique(levels_.begin(), levels_.end(), [](double a, double b) { return std::abs(a - b) < 1e-9; }), levels_.end());
  const double step = levels_.size() > 1 ? levels_[0] - levels_[1] : 0.02;
  peak_start_ = levels_[0] + 1.2 * step;
  peak_room_ = 0.8 * step;
  roughness = std::clamp(Fit(even, used, 1e-4, roughness, with_sigma), 0.3, 20.0);
  if (with_sigma && std::any_of(even.begin(), even.end(), [](const Island& island) { return island.doubtful; })) {
    // The value follows what is likeliest, a level as it is read; its uncertainty knows that the level may be wrong.
    const std::vector<double> likeliest = coefficients_;
    for (std::size_t i = 0; i < even.size(); ++i)
      if (even[i].doubtful) even[i].level_sigma = kWrongBy * std::sqrt(1.0 - right[i]);
    Fit(even, used, 1e-4, roughness, true);
    coefficients_ = likeliest;
  }
  MarkExtrapolated(even, used);
  if (levels_.size() == 1) {
    extrapolated_.assign(extrapolated_.size(), 1);
    notes_.push_back(
        fmt::format("Only islands of {:g} % can be used: away from them the efficiency is extrapolated.", std::round(levels_.front() * 1e4) / 100.0));
  }
  if (with_sigma || levels_.size() == 1) LevelSigma(even, used);
}

// A level that the other islands speak against is left out. Returns how likely each of the rest is right.
std::vector<double> EfficiencyField::JudgeLevels(const std::vector<Island>& islands, std::vector<char>& used, double roughness) {
  while (true) {
    const std::vector<double> right = JudgeIslands(islands, used, roughness);
    const auto worst = static_cast<std::size_t>(std::min_element(right.begin(), right.end()) - right.begin());
    if (right[worst] >= 0.5) return right;
    used[worst] = 0;
    notes_.push_back(
        fmt::format("The {:g} % island does not agree with the others and is left out.", std::round(islands[worst].level * 1e4) / 100.0));
  }
}

// What the fit's own uncertainty does not know.
void EfficiencyField::LevelSigma(const std::vector<Island>& islands, const std::vector<char>& used) {
  sigma_.resize(kSigmaGrid * kSigmaGrid, 0.0F);
  for (int j = 0; j < kSigmaGrid; ++j) {
    for (int i = 0; i < kSigmaGrid; ++i) {
      const double x = static_cast<double>(i) / (kSigmaGrid - 1), y = static_cast<double>(j) / (kSigmaGrid - 1);
      float& sigma = sigma_[j * kSigmaGrid + i];
      if (ExtrapolatedAt(x, y)) sigma *= static_cast<float>(kSigmaShareBeyond / kSigmaShare);
      if (levels_.size() > 1) continue;
      double nearest = 2.0;
      for (std::size_t k = 0; k < islands.size(); ++k)
        if (used[k])
          for (const IslandPoint& point : islands[k].points) nearest = std::min(nearest, std::hypot(point.x - x, point.y - y));
      sigma = static_cast<float>(std::hypot(sigma, kAlone + kUsualSlope * nearest));
    }
  }
}

EfficiencyField EfficiencyField::FromPoints(EfficiencyPoints& points, const std::vector<EfficiencySpot>& spots, double line_gap, bool with_sigma) {
  EfficiencyField field;
  double lowest = 1.0, highest = 0.0;
  for (const EfficiencySpot& spot : spots) lowest = std::min(lowest, spot.value), highest = std::max(highest, spot.value);
  field.levels_ = {highest, lowest};
  field.peak_start_ = highest + 0.005;
  field.peak_room_ = 0.01;
  // The points' own surface, taken over by a fine sheet.
  BsplineSheet sheet(kIntervals, 1e3, 1e3);
  constexpr int kPlaces = 2 * kIntervals + 1;
  for (int j = 0; j < kPlaces; ++j) {
    for (int i = 0; i < kPlaces; ++i) {
      const double x = kLow + (kHigh - kLow) * i / (kPlaces - 1), y = kLow + (kHigh - kLow) * j / (kPlaces - 1);
      sheet.Add(x, y, points.Value(x, y), 1e6);
    }
  }
  if (!sheet.Solve()) return field;
  field.coefficients_ = sheet.coefficients();
  if (with_sigma) {
    field.sigma_.resize(kSigmaGrid * kSigmaGrid);
    for (int j = 0; j < kSigmaGrid; ++j)
      for (int i = 0; i < kSigmaGrid; ++i)
        field.sigma_[j * kSigmaGrid + i] =
            static_cast<float>(points.Sigma(static_cast<double>(i) / (kSigmaGrid - 1), static_cast<double>(j) / (kSigmaGrid - 1)));
  }
  // Between readings of the lines on both sides, or beyond them.
  field.extrapolated_.assign(kFlagGrid * kFlagGrid, 1);
  constexpr double kSlack = 0.04;
  for (int j = 0; j < kFlagGrid; ++j) {
    for (int i = 0; i < kFlagGrid; ++i) {
      const double x = (i + 0.5) / kFlagGrid, y = (j + 0.5) / kFlagGrid;
      double left_low = 1e300, left_high = -1e300, right_low = 1e300, right_high = -1e300;
      for (const EfficiencySpot& spot : spots) {
        if (std::abs(spot.x - x) > 1.1 * line_gap + 1.0 / kFlagGrid) continue;
        if (spot.x <= x + 1.0 / kFlagGrid) left_low = std::min(left_low, spot.y), left_high = std::max(left_high, spot.y);
        if (spot.x >= x - 1.0 / kFlagGrid) right_low = std::min(right_low, spot.y), right_high = std::max(right_high, spot.y);
      }
      if (y > std::max(left_low, right_low) - kSlack && y < std::min(left_high, right_high) + kSlack) field.extrapolated_[j * kFlagGrid + i] = 0;
    }
  }
  return field;
}

// A stretch of an island that runs where the others cannot have it (two islands traced as one) is left out; the rest of the island stays.
void EfficiencyField::DropStrays(std::vector<Island>& islands, std::vector<char>& used, double roughness) {
  constexpr double kUsual = 3e-3;  // a loose sheet passes this near
  constexpr double kStray = 7e-3;
  constexpr double kMostGone = 1.0 / 3.0;  // of a flagged island: then its value is not to be believed either
  bool any = false;
  for (int round = 0; round < 5; ++round) {
    double farthest = 0.0;
    for (std::size_t i = 0; i < islands.size(); ++i) {
      if (!used[i]) continue;
      for (IslandPoint& point : islands[i].points) {
        const double miss = std::abs(Raw(point.x, point.y).value - islands[i].level);
        farthest = std::max(farthest, miss);
        const double share = 1.0 / (1.0 + std::pow(miss / kUsual, 2));
        point.trust = std::sqrt(Trust(islands[i])) * share * share;
      }
    }
    if (round == 0 && farthest < kStray) break;  // nothing to doubt
    any = true;
    Fit(islands, used, kUsual, roughness, false);
  }
  for (std::size_t i = 0; i < islands.size(); ++i) {
    if (!used[i]) continue;
    const std::size_t before = islands[i].points.size();
    if (any)
      std::erase_if(islands[i].points, [&](const IslandPoint& point) { return std::abs(Raw(point.x, point.y).value - islands[i].level) > kStray; });
    for (IslandPoint& point : islands[i].points) point.trust = 1.0;
    const std::size_t gone = before - islands[i].points.size();
    if (islands[i].doubtful && static_cast<double>(gone) > kMostGone * static_cast<double>(before)) {
      used[i] = 0;
      notes_.push_back(fmt::format("The {:g} % island does not agree with the others and is left out.", std::round(islands[i].level * 1e4) / 100.0));
      continue;
    }
    if (gone > before / 33)
      notes_.push_back(fmt::format("{:.0f} % of the {:g} % island disagrees with its neighbors and is left out.",
                                   100.0 * static_cast<double>(gone) / static_cast<double>(before), std::round(islands[i].level * 1e4) / 100.0));
  }
}

double EfficiencyField::Fit(const std::vector<Island>& islands, const std::vector<char>& used, double base_sigma, double roughness, bool with_sigma) {
  BandedSpd matrix = SheetPenalty(kSize, kStep, roughness, kUsualCurvature);
  std::vector<double> right(static_cast<std::size_t>(kSize) * kSize, 0.0);
  const bool have_sheet = !coefficients_.empty();
  for (std::size_t i = 0; i < islands.size(); ++i) {
    if (!used[i]) continue;
    for (const IslandPoint& point : islands[i].points) {
      double variance = base_sigma * base_sigma + (islands[i].doubtful ? kDoubtfulSigma * kDoubtfulSigma : 0.0);
      // A wrong level is wrong at all of its points.
      variance += islands[i].level_sigma * islands[i].level_sigma * static_cast<double>(islands[i].points.size());
      if (have_sheet) {
        const Jet jet = Raw(point.x, point.y);
        variance += kAlike * (std::pow(jet.by_x * point.sigma_x, 2) + std::pow(jet.by_y * point.sigma_y, 2));
      }
      const double weight = point.trust / variance;
      AddDatum(matrix, right, point.x, point.y, islands[i].level, weight);
    }
  }
  for (const EfficiencySpot& spot : spots_) {
    const double sigma = spot.sigma > 0.0 ? spot.sigma : kUsualSpotSigma;
    AddDatum(matrix, right, spot.x, spot.y, spot.value, 1.0 / (sigma * sigma + base_sigma * base_sigma));
  }
  if (!matrix.Factor()) return roughness;
  coefficients_ = right;
  matrix.Solve(coefficients_);
  // The sheet's own roughness: mean square third derivative over the square, as the prior has it.
  double energy = 0.0;
  int terms = 0;
  const auto c = [&](int x, int y) { return coefficients_[y * kSize + x]; };
  const int lowest = static_cast<int>(std::ceil(-kLow / kStep)), highest = kSize - 3 - lowest;
  for (int y = lowest; y < highest; ++y) {
    for (int x = lowest; x < highest; ++x) {
      const double third_x = c(x + 3, y) - 3.0 * c(x + 2, y) + 3.0 * c(x + 1, y) - c(x, y),
                   third_y = c(x, y + 3) - 3.0 * c(x, y + 2) + 3.0 * c(x, y + 1) - c(x, y);
      energy += (third_x * third_x + third_y * third_y) / std::pow(kStep, 6);
      terms += 1;
    }
  }
  const double found = std::sqrt(energy / (2.0 * std::max(terms, 1)));
  if (!with_sigma) return found;
  const std::vector<double> inverse = matrix.InverseBand();
  const int width = 2 * kHalfBand + 1;
  sigma_.resize(kSigmaGrid * kSigmaGrid);
  for (int j = 0; j < kSigmaGrid; ++j) {
    for (int i = 0; i < kSigmaGrid; ++i) {
      const Basis x = BasisAt(static_cast<double>(i) / (kSigmaGrid - 1)), y = BasisAt(static_cast<double>(j) / (kSigmaGrid - 1));
      double variance = 0.0;
      for (int a = 0; a < 16; ++a) {
        const int row = (y.first + a / 4) * kSize + x.first + a % 4;
        const double left = y.weights[a / 4] * x.weights[a % 4];
        for (int b = 0; b < 16; ++b) {
          const int column = (y.first + b / 4) * kSize + x.first + b % 4;
          variance += left * y.weights[b / 4] * x.weights[b % 4] * inverse[static_cast<std::size_t>(row) * width + (column - row + kHalfBand)];
        }
      }
      sigma_[j * kSigmaGrid + i] = static_cast<float>(kSigmaShare * std::sqrt(std::max(variance, 0.0)));
    }
  }
  return found;
}

EfficiencyField::Jet EfficiencyField::Raw(double x, double y) const {
  const double px = std::clamp((x - kLow) / kStep, 0.0, static_cast<double>(kIntervals)),
               py = std::clamp((y - kLow) / kStep, 0.0, static_cast<double>(kIntervals));
  const int fx = std::min(static_cast<int>(px), kIntervals - 1), fy = std::min(static_cast<int>(py), kIntervals - 1);
  double wx[4], sx[4], wy[4], sy[4];
  BsplineWeights(px - fx, wx);
  BsplineSlopeWeights(px - fx, sx);
  BsplineWeights(py - fy, wy);
  BsplineSlopeWeights(py - fy, sy);
  Jet jet;
  for (int a = 0; a < 4; ++a) {
    const double* const row = &coefficients_[static_cast<std::size_t>(fy + a) * kSize + fx];
    const double value = wx[0] * row[0] + wx[1] * row[1] + wx[2] * row[2] + wx[3] * row[3];
    const double slope = sx[0] * row[0] + sx[1] * row[1] + sx[2] * row[2] + sx[3] * row[3];
    jet.value += wy[a] * value;
    jet.by_x += wy[a] * slope;
    jet.by_y += sy[a] * value;
  }
  jet.by_x /= kStep;
  jet.by_y /= kStep;
  return jet;
}

EfficiencyField::Jet EfficiencyField::At(double x, double y) const {
  const double edge = std::clamp(x, 0.0, 1.0);
  Jet jet = Raw(edge, y);
  if (edge != x) {
    const double fade = std::tanh((x - edge) / kFadeOutside), step = 1e-4;
    const double twist = (Raw(edge, y + step).by_x - Raw(edge, y - step).by_x) / (2.0 * step);
    jet.value += jet.by_x * kFadeOutside * fade;
    jet.by_y += twist * kFadeOutside * fade;
    jet.by_x *= 1.0 - fade * fade;
  }
  if (jet.value > peak_start_) {
    const double bent = std::tanh((jet.value - peak_start_) / peak_room_);
    jet.value = peak_start_ + peak_room_ * bent;
    jet.by_x *= 1.0 - bent * bent;
    jet.by_y *= 1.0 - bent * bent;
  }
  return jet;
}

double EfficiencyField::SigmaAt(double x, double y) const {
  if (sigma_.empty()) return 0.0;
  const double px = std::clamp(x, 0.0, 1.0) * (kSigmaGrid - 1), py = std::clamp(y, 0.0, 1.0) * (kSigmaGrid - 1);
  const int i = std::min(static_cast<int>(px), kSigmaGrid - 2), j = std::min(static_cast<int>(py), kSigmaGrid - 2);
  const double s = px - i, t = py - j;
  const float* const low = &sigma_[j * kSigmaGrid + i];
  const float* const high = low + kSigmaGrid;
  const double sigma = (1.0 - t) * ((1.0 - s) * low[0] + s * low[1]) + t * ((1.0 - s) * high[0] + s * high[1]);
  const double outside = std::max({0.0, -x, x - 1.0});
  return outside > 0.0 ? std::hypot(sigma, kSigmaOutside * outside) : sigma;
}

bool EfficiencyField::ExtrapolatedAt(double x, double y) const {
  if (extrapolated_.empty() || x < -1e-9 || x > 1.0 + 1e-9) return true;
  const int i = std::clamp(static_cast<int>(x * kFlagGrid), 0, kFlagGrid - 1), j = std::clamp(static_cast<int>(y * kFlagGrid), 0, kFlagGrid - 1);
  return extrapolated_[j * kFlagGrid + i] != 0;
}

bool EfficiencyField::DoubtfulAt(double x, double y) const {
  if (doubtful_.empty()) return false;
  const int i = std::clamp(static_cast<int>(x * kFlagGrid), 0, kFlagGrid - 1), j = std::clamp(static_cast<int>(y * kFlagGrid), 0, kFlagGrid - 1);
  return doubtful_[j * kFlagGrid + i] != 0;
}

void EfficiencyField::MarkExtrapolated(const std::vector<Island>& islands, const std::vector<char>& used) {
  const int cells = kFlagGrid * kFlagGrid, levels = static_cast<int>(levels_.size());
  // Band of a cell: how many levels lie above its value; its floor is the level of that index.
  std::vector<int> band(cells);
  for (int j = 0; j < kFlagGrid; ++j) {
    for (int i = 0; i < kFlagGrid; ++i) {
      const double value = Raw((i + 0.5) / kFlagGrid, (j + 0.5) / kFlagGrid).value;
      band[j * kFlagGrid + i] = static_cast<int>(std::count_if(levels_.begin(), levels_.end(), [&](double level) { return level > value; }));
    }
  }
  std::vector<std::vector<char>> touched(levels, std::vector<char>(cells, 0));
  std::vector<char> trusted(levels, 0);
  for (std::size_t k = 0; k < islands.size(); ++k) {
    if (!used[k]) continue;
    const int level =
        static_cast<int>(std::min_element(levels_.begin(), levels_.end(),
                                          [&](double a, double b) { return std::abs(a - islands[k].level) < std::abs(b - islands[k].level); }) -
                         levels_.begin());
    if (!islands[k].doubtful) trusted[level] = 1;
    for (const IslandPoint& point : islands[k].points) {
      const int i = static_cast<int>(std::floor(point.x * kFlagGrid)), j = static_cast<int>(std::floor(point.y * kFlagGrid));
      for (int b = j - 1; b <= j + 1; ++b)
        for (int a = i - 1; a <= i + 1; ++a)
          if (a >= 0 && b >= 0 && a < kFlagGrid && b < kFlagGrid) touched[level][b * kFlagGrid + a] = 1;
    }
  }
  if (std::count(trusted.begin(), trusted.end(), 0) > 0) {
    doubtful_.assign(cells, 0);
    for (int cell = 0; cell < cells; ++cell) {
      const int own = band[cell];
      doubtful_[cell] = (own < levels && !trusted[own]) || (own > 0 && !trusted[own - 1]);
    }
  }
  extrapolated_.assign(cells, 0);
  std::vector<char> seen(cells, 0);
  std::vector<int> part;
  for (int start = 0; start < cells; ++start) {
    if (seen[start]) continue;
    part.assign(1, start);
    seen[start] = 1;
    bool bounded = false;
    const int own = band[start];
    for (std::size_t next = 0; next < part.size(); ++next) {
      const int cell = part[next], i = cell % kFlagGrid, j = cell / kFlagGrid;
      if (own < levels && touched[own][cell]) bounded = true;
      const int around[4][2] = {{i - 1, j}, {i + 1, j}, {i, j - 1}, {i, j + 1}};
      for (const auto& [a, b] : around) {
        if (a < 0 || b < 0 || a >= kFlagGrid || b >= kFlagGrid) continue;
        const int other = b * kFlagGrid + a;
        if (seen[other] || band[other] != own) continue;
        seen[other] = 1;
        part.push_back(other);
      }
    }
    if (!bounded)
      for (const int cell : part) extrapolated_[cell] = 1;
  }
}

}  // namespace islebook
