#include "mapstore/surface/speed_sigma.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr int kRowsPerGap = 4;
// Leaving a line out doubles the gap, and the error of a smooth interpolant grows faster than the gap: the share of it that stays when the line is back.
// From many invented maps of exact curves; the test that holds the stated band against truth watches it.
constexpr double kShareOfDoubleGap = 0.4;
constexpr double kLeast = 1e-6;     // of the highest speed: nothing is surer than this between lines
constexpr double kFewLines = 4e-3;  // where too few lines are left to leave one out

constexpr double kLeastOutside = 1e-3;     // nothing is surer than this beyond the outermost lines, a line's distance away
constexpr double kFewLinesOutside = 0.02;  // the same beyond the outermost lines, a line's distance away

// The change of speed that a change of (flow, head) at a place stands for.
double SpeedChange(const TableJet& jet, double flow, double head) {
  const double determinant = jet.by_n[0] * jet.by_beta[1] - jet.by_n[1] * jet.by_beta[0];
  return determinant != 0.0 ? (flow * jet.by_beta[1] - head * jet.by_beta[0]) / determinant : 0.0;
}

}  // namespace

SpeedSigma::SpeedSigma(const LineFamily& family, const SurfaceTable& table) {
  const std::vector<double>& lines = family.lines();
  const int count = static_cast<int>(lines.size());
  const int columns = table.columns();
  const auto column_of = [&](int k) { return static_cast<int>(std::lround(static_cast<double>(k) * (columns - 1) / (kColumns - 1))); };

  // Its zeros are chance: what its neighborhood shows counts.
  const auto widened = [](const std::vector<double>& seen) {
    std::vector<double> wide(kColumns);
    for (int k = 0; k < kColumns; ++k) {
      double squares = 0.0, weights = 0.0;
      for (int other = 0; other < kColumns; ++other) {
        const double weight = std::exp(-0.5 * std::pow((other - k) / 2.5, 2));
        squares += weight * seen[other] * seen[other];
        weights += weight;
      }
      wide[k] = std::sqrt(squares / weights);
    }
    return wide;
  };
  const auto left_out = [&](int i) {
    const LineFamily others(family, i);
    const FamilyRow predicted = others.At(lines[i]);
    std::vector<double> seen(kColumns);
    for (int k = 0; k < kColumns; ++k) {
      const int column = column_of(k);
      const TableJet jet = table.At(lines[i], static_cast<double>(column) / (columns - 1));
      seen[k] = std::abs(SpeedChange(jet, predicted.flow[column] - jet.value[0], predicted.head[column] - jet.value[1]));
    }
    return widened(seen);
  };
  // What each line shows when it is left out.
  std::vector<std::vector<double>> missed(count);
  if (count >= 4) {
    for (int i = 1; i + 1 < count; ++i) missed[i] = left_out(i);
  }
  below_ = {lines[1] - lines[0], std::vector<double>(kColumns, kFewLinesOutside)};
  above_ = {lines[count - 1] - lines[count - 2], std::vector<double>(kColumns, kFewLinesOutside)};
  if (count >= 4) {
    if (table.LowestN() < table.MinN()) below_.missed = left_out(0);
    if (table.HighestN() > table.MaxN()) above_.missed = left_out(count - 1);
  }
  for (int gap = 0; gap + 1 < count; ++gap) {
    const int rows = gap + 2 == count ? kRowsPerGap + 1 : kRowsPerGap;
    for (int r = 0; r < rows; ++r) {
      const double t = static_cast<double>(r) / kRowsPerGap;
      const double n = lines[gap] + t * (lines[gap + 1] - lines[gap]);
      n_.push_back(n);
      for (int k = 0; k < kColumns; ++k) {
        double squares = 0.0;
        int known = 0;
        for (const int line : {gap, gap + 1}) {
          if (missed[line].empty()) continue;
          // The line that was left out stood in a gap of this size.
          const double seen = lines[line + 1] - lines[line - 1];
          const double share = std::min(1.0, std::pow(2.0 * (lines[gap + 1] - lines[gap]) / seen, 2));
          squares += std::pow(share * missed[line][k], 2);
          ++known;
        }
        double between = known > 0 ? kShareOfDoubleGap * std::sqrt(squares / known) : kFewLines;
        if (known > 0 && (gap == 0 || gap + 2 == count)) between *= 1.6;  // only one neighbor
        between = std::hypot(between, kLeast) * 4.0 * t * (1.0 - t);
        const TableJet jet = table.At(n, static_cast<double>(column_of(k)) / (columns - 1));
        double measured = 0.0;
        for (const int line : {gap, gap + 1}) {
          const LineFamily::LineSigma& sigma = family.sigmas()[line];
          const double own = std::hypot(SpeedChange(jet, sigma.flow, 0.0), SpeedChange(jet, 0.0, sigma.head));
          measured += (line == gap ? 1.0 - t : t) * own;
        }
        sigma_.push_back(static_cast<float>(std::hypot(std::hypot(between, measured), kLeast)));
      }
    }
  }
}

double SpeedSigma::At(double n, double beta) const {
  const int rows = static_cast<int>(n_.size());
  const int row = std::clamp(static_cast<int>(std::upper_bound(n_.begin(), n_.end(), n) - n_.begin()) - 1, 0, rows - 2);
  const double t = std::clamp((n - n_[row]) / (n_[row + 1] - n_[row]), 0.0, 1.0);
  const double place = std::clamp(beta, 0.0, 1.0) * (kColumns - 1);
  const int column = std::min(static_cast<int>(place), kColumns - 2);
  const double s = place - column;
  const float* const low = &sigma_[static_cast<std::size_t>(row) * kColumns + column];
  const float* const high = low + kColumns;
  const double sigma = (1.0 - t) * ((1.0 - s) * low[0] + s * low[1]) + t * ((1.0 - s) * high[0] + s * high[1]);
  const double outside = std::max(n_.front() - n, n - n_.back());
  if (outside <= 0.0) return sigma;
  const Beyond& beyond = n < n_.front() ? below_ : above_;
  const double missed = (1.0 - s) * beyond.missed[column] + s * beyond.missed[column + 1];
  return std::hypot(sigma, std::max(missed, kLeastOutside) * outside / beyond.gap);
}

}  // namespace islebook
