#include <algorithm>
#include <cmath>
#include <limits>

#include <opencv2/core.hpp>

#include "digitizer/assemble/roles.h"

namespace islebook {
namespace {

// A flow line rises with expansion ratio and levels off: it never falls by much, and it bends clockwise.
double FlowLineShape(const PlotCurve& c) {
  if (c.closed || c.points.size() < 4) return 0;
  const double total = c.up_y + c.down_y;
  if (total < 1e-6) return 0.5;
  double score = std::clamp(1.25 - 2.5 * c.down_y / total, 0.0, 1.0);
  score *= std::clamp(1.2 - 5 * c.back_x / (c.max_x - c.min_x + 0.01), 0.0, 1.0);
  if (c.turn > 0.15) score *= 0.5;
  return score;
}

struct Split {
  std::vector<int> side;  // 0 or 1 per curve
  double quality = 0.0;   // 0 none, 1 clear
};

// Two style groups: dashed against solid, else the clearest gap in color or ink mass.
Split SplitByStyle(const std::vector<TracedCurve>& traces, const std::vector<std::size_t>& members) {
  Split split;
  split.side.assign(traces.size(), 0);
  int dashed = 0;
  for (std::size_t i : members) dashed += traces[i].dashed;
  if (dashed > 0 && dashed < static_cast<int>(members.size())) {
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
  for (std::size_t i : members)
    for (std::size_t j : members)
      if (distance(i, j) > farthest) {
        farthest = distance(i, j);
        a = i;
        b = j;
      }
  if (farthest < 0.9) return split;
  double worst_within = 0;
  for (std::size_t i : members) {
    split.side[i] = distance(i, a) <= distance(i, b) ? 0 : 1;
    worst_within = std::max(worst_within, std::min(distance(i, a), distance(i, b)));
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
  const Split split = SplitByStyle(traces, members);
  double flow_score[2] = {0, 0}, weight[2] = {0, 0};
  for (std::size_t i : members) {
    const auto s = static_cast<std::size_t>(split.side[i]);
    flow_score[s] += curves[i].length * FlowLineShape(curves[i]);
    weight[s] += curves[i].length;
  }
  const double mean0 = weight[0] > 0 ? flow_score[0] / weight[0] : 0, mean1 = weight[1] > 0 ? flow_score[1] / weight[1] : 0;
  const bool styles_tell = split.quality > 0.45 && weight[0] > 0 && weight[1] > 0 && std::abs(mean0 - mean1) > 0.05;
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
