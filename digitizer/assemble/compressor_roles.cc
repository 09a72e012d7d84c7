#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>

#include "digitizer/assemble/roles.h"

namespace islebook {
namespace {

constexpr double kTouch = 0.018;       // of the frame's height: a left end this close to a line touches it
constexpr double kChokePast = 0.012;   // a speed line runs across a line if it ends this far beyond it
constexpr double kChokeTouch = 0.008;  // right ends run down to the choke line and stop there

// 0..1: does this open curve have the shape of a speed line: flat or gently rising from its left end, then falling ever more steeply to the right.
double SpeedLineShape(const PlotCurve& c) {
  if (c.closed || c.points.size() < 4) return 0;
  const PlotPoint l = c.Left(), r = c.Right();
  const double width = r.x - l.x, drop = l.y - r.y;
  const double peak = c.max_y;
  if (peak - r.y < 0.004 || width <= 0) return 0;
  double score = 1;
  score *= std::clamp(1.2 - 4 * (c.back_x / (width + 0.01)), 0.0, 1.0);
  // After its peak it only falls, before it only rises, and not by much.
  score *= std::clamp(1.3 - 3 * ((peak - l.y) / (peak - r.y)), 0.0, 1.0);
  const double stray = (c.up_y - (peak - l.y)) / (peak - r.y);
  score *= std::clamp(1.1 - 6 * std::max(0.0, stray), 0.0, 1.0);
  // It bends clockwise, seen left to right.
  score *= std::clamp(0.35 - 3.0 * c.turn, 0.0, 1.0);
  if (c.turn < -2.6) score *= 0.1;
  if (drop < 0) score *= 0.6;
  return score;
}

// 0..1: rising from its lower left to its upper right end without turning back.
double RisingShape(const PlotCurve& c) {
  if (c.closed || c.points.size() < 4) return 0;
  const PlotPoint l = c.Left(), r = c.Right();
  if (r.y <= l.y) return 0;
  double score = 1;
  score *= std::clamp(1.15 - 5 * (c.back_x / (r.x - l.x + 0.02)), 0.0, 1.0);
  score *= std::clamp(1.15 - 5 * (c.down_y / (c.up_y + 0.01)), 0.0, 1.0);
  return score;
}

bool AxisParallelStraight(const PlotCurve& c) {
  if (c.closed) return false;
  const double w = c.max_x - c.min_x, h = c.max_y - c.min_y;
  return std::min(w, h) < 0.0035 && c.straight < 0.02;
}

// Distance of two styles: 0 alike, 1 clearly other.
double StyleDistance(const TracedCurve& a, const TracedCurve& b) {
  const double color = cv::norm(a.lab - b.lab) / 22.0;
  const double mass = std::abs(std::log((a.ink_mass + 0.1) / (b.ink_mass + 0.1))) / 0.45;
  return std::min(1.0, std::max({color * color, mass * mass, a.dashed != b.dashed ? 0.8 : 0.0}));
}

struct Touch {
  int lefts = 0, rights = 0;
};

}  // namespace

void KeepRoles(const std::vector<JudgedCurve>& known, std::vector<RoleGuess>& guesses) {
  for (std::size_t i = 0; i < known.size(); ++i) {
    const JudgedCurve& curve = known[i];
    RoleGuess& guess = guesses[i];
    if (curve.word.role)
      guess = {curve.role, false, curve.on_right_axis, 1.0, {}};
    else if (guess.drop || guess.role != curve.role || guess.on_right_axis != curve.on_right_axis)
      guess = {curve.role, false, curve.on_right_axis, curve.role_confidence, curve.role_reasons};
  }
}

std::vector<RoleGuess> GuessCompressorRoles(const RoleEvidence& evidence) {
  const std::vector<PlotCurve>& curves = *evidence.curves;
  const std::vector<TracedCurve>& traces = *evidence.traces;
  const std::size_t n = curves.size();
  std::vector<RoleGuess> guess(n);
  std::vector<double> speed(n), rising(n);
  for (std::size_t i = 0; i < n; ++i) {
    speed[i] = SpeedLineShape(curves[i]);
    rising[i] = RisingShape(curves[i]);
    if (AxisParallelStraight(curves[i])) {
      guess[i].drop = true;
      speed[i] = rising[i] = 0;
    }
  }
  // Surge: the rising line that most left ends of speed lines touch. Choke: the same for right ends.
  std::vector<Touch> touch(n);
  int speed_lines = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (speed[i] < 0.3) continue;
    ++speed_lines;
    for (std::size_t j = 0; j < n; ++j) {
      if (j == i || rising[j] < 0.4) continue;
      if (DistanceTo(curves[j], curves[i].Left()) < kTouch) ++touch[j].lefts;
      if (DistanceTo(curves[j], curves[i].Right()) < kChokeTouch) ++touch[j].rights;
    }
  }
  const auto best_of = [&](auto count, auto length_weight) {
    std::size_t best = n;
    double best_score = 0;
    for (std::size_t j = 0; j < n; ++j) {
      if (rising[j] < 0.4 || guess[j].role != CurveRole::kOther) continue;
      const double score = rising[j] * (count(touch[j]) + length_weight * curves[j].length);
      if (count(touch[j]) >= std::max(2, speed_lines / 4) && score > best_score) {
        best = j;
        best_score = score;
      }
    }
    return best;
  };
  const std::size_t surge = best_of([](const Touch& t) { return t.lefts; }, 0.2);
  if (surge < n) {
    guess[surge].role = CurveRole::kSurgeLine;
    const int touching = touch[surge].lefts;
    guess[surge].confidence = std::clamp(0.4 + 0.6 * touching / std::max(1.0, 0.8 * speed_lines), 0.0, 1.0);
    if (touching < 0.5 * speed_lines)
      guess[surge].reasons.push_back("only " + std::to_string(touching) + " of " + std::to_string(speed_lines) +
                                     " speed lines start at this surge line");
  }
  const std::size_t choke = best_of([](const Touch& t) { return t.rights; }, 0.2);
  // Speed lines end at the choke line; one that runs on past a line shows that it is an island. So does an efficiency printed on it.
  int past = 0;
  for (std::size_t i = 0; i < n && choke < n; ++i) {
    if (i == choke || speed[i] < 0.3) continue;
    for (const Crossing& x : FindCrossings(curves[i], curves[choke])) {
      const auto at = static_cast<std::size_t>(x.along_a);
      const PlotPoint p = curves[i].points[at], end = curves[i].Right();
      past += std::hypot(end.x - p.x, end.y - p.y) > kChokePast;
    }
  }
  const bool labelled = choke < n && evidence.efficiency_on != nullptr && (*evidence.efficiency_on)[choke] != 0;
  if (choke < n && past == 0 && !labelled && touch[choke].rights >= std::max(3.0, 0.6 * speed_lines) && touch[choke].lefts == 0) {
    guess[choke].role = CurveRole::kChokeLine;
    guess[choke].confidence = std::clamp(0.4 + 0.6 * touch[choke].rights / std::max(1.0, 0.8 * speed_lines), 0.0, 1.0);
  }

  // The rest by shape, then by the company they keep: curves of one role are drawn alike.
  for (std::size_t i = 0; i < n; ++i) {
    if (guess[i].drop || guess[i].role != CurveRole::kOther) continue;
    if (curves[i].closed) {
      guess[i].role = CurveRole::kEfficiencyIsland;
    } else if (speed[i] >= 0.3) {
      guess[i].role = CurveRole::kSpeedLine;
      guess[i].confidence = std::min(1.0, 0.4 + speed[i]);
    } else {
      guess[i].role = CurveRole::kEfficiencyIsland;
      guess[i].confidence = 0.8;
    }
  }
  const auto mean_distance = [&](std::size_t i, CurveRole role) {
    double sum = 0, weight = 0;
    for (std::size_t j = 0; j < n; ++j) {
      if (j == i || guess[j].drop || guess[j].role != role) continue;
      sum += curves[j].length * StyleDistance(traces[i], traces[j]);
      weight += curves[j].length;
    }
    return weight > 0 ? sum / weight : -1.0;
  };
  for (int round = 0; round < 2; ++round) {
    std::vector<CurveRole> next(n);
    for (std::size_t i = 0; i < n; ++i) {
      next[i] = guess[i].role;
      if (guess[i].drop || curves[i].closed) continue;
      if (guess[i].role != CurveRole::kSpeedLine && guess[i].role != CurveRole::kEfficiencyIsland) continue;
      const CurveRole other = guess[i].role == CurveRole::kSpeedLine ? CurveRole::kEfficiencyIsland : CurveRole::kSpeedLine;
      const double own = mean_distance(i, guess[i].role), across = mean_distance(i, other);
      if (own < 0 || across < 0) continue;
      const bool shape_allows = other == CurveRole::kSpeedLine ? speed[i] > 0.05 : speed[i] < 0.85 || curves[i].length < 0.15;
      if (own > 0.6 && across < 0.25 && shape_allows) next[i] = other;
    }
    for (std::size_t i = 0; i < n; ++i)
      if (next[i] != guess[i].role) {
        guess[i].role = next[i];
        guess[i].confidence = 0.6;
      }
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (guess[i].drop || curves[i].closed) continue;
    if (guess[i].role != CurveRole::kSpeedLine && guess[i].role != CurveRole::kEfficiencyIsland) continue;
    const CurveRole other = guess[i].role == CurveRole::kSpeedLine ? CurveRole::kEfficiencyIsland : CurveRole::kSpeedLine;
    const double own = mean_distance(i, guess[i].role), across = mean_distance(i, other);
    if (own > 0.7 && across >= 0 && across < 0.4) {
      guess[i].confidence = std::min(guess[i].confidence, 0.45);
      guess[i].reasons.push_back(guess[i].role == CurveRole::kSpeedLine ? "shaped like a speed line but drawn like an efficiency island"
                                                                        : "shaped like an efficiency island but drawn like a speed line");
    }
  }
  return guess;
}

}  // namespace islebook
