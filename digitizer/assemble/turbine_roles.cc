#include <algorithm>
#include <cmath>
#include <limits>

#include <opencv2/core.hpp>

#include "digitizer/assemble/roles.h"

namespace islebook {
namespace {

constexpr double kFall = 0.012;  // of the frame's height: a flow line never falls by as much

// A flow line rises with expansion ratio and levels off: it falls nowhere and bends clockwise.
double FlowLineShape(const PlotCurve& c) {
  if (c.closed || c.points.size() < 4) return 0;
  double top = c.points.front().y, fall = 0;
  for (const PlotPoint& p : c.points) {
    top = std::max(top, p.y);
    fall = std::max(fall, top - p.y);
  }
  double score = std::exp(-std::pow(fall / kFall, 2));
  score *= std::clamp(1.2 - 5 * c.back_x / (c.max_x - c.min_x + 0.01), 0.0, 1.0);
  if (c.turn > 0.15) score *= 0.5;
  return score;
}

constexpr double kAlike = 0.15;      // in shape: groups closer than this are not told apart by it
constexpr double kFallsLess = 0.02;  // of what a line rises and falls in all

struct Split {
  std::vector<int> side;  // 0 or 1 per curve
  double quality = 0.0;   // 0 none, 1 clear
};

constexpr double kFamilyPart = 0.15;  // of the lines' length that each family has at least

// Two style groups: dashed against solid, else the clearest gap in color or ink mass.
Split SplitByStyle(const std::vector<TracedCurve>& traces, const std::vector<PlotCurve>& curves, const std::vector<std::size_t>& members) {
  Split split;
  split.side.assign(traces.size(), 0);
  double dashed = 0, all = 0, longest = 0;
  for (std::size_t i : members) {
    all += curves[i].length;
    dashed += traces[i].dashed ? curves[i].length : 0;
    longest = std::max(longest, curves[i].length);
  }
  // One piece that looks dashed by chance makes no family.
  if (dashed > kFamilyPart * all && dashed < (1 - kFamilyPart) * all) {
    for (std::size_t i : members) split.side[i] = traces[i].dashed;
    split.quality = 0.9;
    return split;
  }
  // Two centers by the farthest pair, then one round of nearest center.
  const auto distance = [&](std::size_t a, std::size_t b) {
    const double mass = std::log((traces[a].ink_mass + 0.1) / (traces[b].ink_mass + 0.1)) / 0.35;
    return std::hypot(cv::norm(traces[a].lab - traces[b].lab) / 18.0, mass);
  };
  std::size_t a = 0, b = 0;
  double farthest = 0;
  const auto counts = [&](std::size_t i) { return curves[i].length > 0.3 * longest; };
  for (std::size_t i : members)
    for (std::size_t j : members)
      if (counts(i) && counts(j) && distance(i, j) > farthest) {
        farthest = distance(i, j);
        a = i;
        b = j;
      }
  if (farthest < 0.9) return split;
  double worst_within = 0;
  for (std::size_t i : members) {
    split.side[i] = distance(i, a) <= distance(i, b) ? 0 : 1;
    if (counts(i)) worst_within = std::max(worst_within, std::min(distance(i, a), distance(i, b)));
  }
  split.quality = std::clamp(1.0 - worst_within / farthest, 0.0, 1.0);
  return split;
}

}  // namespace

std::vector<RoleGuess> GuessTurbineRoles(const RoleEvidence& evidence, bool main_is_flow, bool right_is_efficiency) {
  const std::vector<PlotCurve>& curves = *evidence.curves;
  const std::vector<TracedCurve>& traces = *evidence.traces;
  std::vector<RoleGuess> guess(curves.size());
  std::vector<std::size_t> members;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    if (curves[i].closed || curves[i].length < 0.05) {
      guess[i].confidence = 0.3;
      guess[i].reasons.push_back(curves[i].closed ? "a closed curve on a turbine chart" : "a short stroke that may be no curve");
      continue;
    }
    // Grid lines that slipped through run from side to side without bending.
    if (curves[i].straight < 0.002 && (curves[i].max_y - curves[i].min_y < 0.0015 || curves[i].max_x - curves[i].min_x < 0.0015)) {
      guess[i].drop = true;
      continue;
    }
    members.push_back(i);
  }
  if (!right_is_efficiency) {
    for (std::size_t i : members) guess[i].role = main_is_flow ? CurveRole::kFlowLine : CurveRole::kEfficiencyLine;
    for (std::size_t i : members) guess[i].on_right_axis = !main_is_flow;
    return guess;
  }
  const Split split = SplitByStyle(traces, curves, members);
  double flow_score[2] = {0, 0}, fall[2] = {0, 0}, weight[2] = {0, 0};
  for (std::size_t i : members) {
    const auto s = static_cast<std::size_t>(split.side[i]);
    flow_score[s] += curves[i].length * FlowLineShape(curves[i]);
    fall[s] += curves[i].length * curves[i].down_y / std::max(1e-6, curves[i].up_y + curves[i].down_y);
    weight[s] += curves[i].length;
  }
  double mean0 = weight[0] > 0 ? flow_score[0] / weight[0] : 0, mean1 = weight[1] > 0 ? flow_score[1] / weight[1] : 0;
  const bool two_styles = split.quality > 0.45 && weight[0] > 0 && weight[1] > 0;
  bool styles_tell = two_styles && std::abs(mean0 - mean1) > kAlike;
  const bool exact = std::ranges::all_of(members, [&](std::size_t i) { return traces[i].exact; });
  if (exact && two_styles && !styles_tell && std::abs(fall[0] / weight[0] - fall[1] / weight[1]) > kFallsLess) {
    // Both look like flow lines: those that fall less are. Of lines that were traced this would be noise.
    mean0 = 1.0 - fall[0] / weight[0];
    mean1 = 1.0 - fall[1] / weight[1];
    styles_tell = true;
  }
  for (std::size_t i : members) {
    bool flow;
    double confidence;
    if (styles_tell) {
      flow = (split.side[i] == 0) == (mean0 > mean1);
      confidence = std::min(1.0, 0.6 + std::abs(mean0 - mean1));
    } else {
      const double shape = FlowLineShape(curves[i]);
      flow = shape > 0.6;
      confidence = 0.45;
      guess[i].reasons.push_back("flow and efficiency lines are drawn alike; told apart by shape alone");
    }
    guess[i].role = flow ? CurveRole::kFlowLine : CurveRole::kEfficiencyLine;
    guess[i].on_right_axis = !flow;
    guess[i].confidence = confidence;
  }
  return guess;
}

}  // namespace islebook
