#include "digitizer/assemble/checks.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include <fmt/core.h>

namespace islebook {
namespace {

constexpr double kTouch = 0.012;     // of the frame's height
constexpr double kWrongTurn = 0.22;  // rad: a curve that bends one way may bend the other way by this in all
constexpr double kIslandWrongTurn = 1.1;
constexpr double kKink = 0.62;       // rad within kKinkSpan
constexpr double kKinkSpan = 0.018;  // of the frame's height
constexpr double kEndOff = 0.055;    // of the frame's height
constexpr double kPartNear = 0.12;   // of the frame's height: two open ends this close may be one island's
constexpr double kRangeOff = 0.02;   // of the frame's width
constexpr double kShapeConfidence = 0.44;

void Doubt(JudgedCurve& c, std::string reason, double confidence = kShapeConfidence) {
  if (std::find(c.reasons.begin(), c.reasons.end(), reason) == c.reasons.end()) c.reasons.push_back(std::move(reason));
  c.confidence = std::min(c.confidence, confidence);
}

struct Turning {
  double left = 0.0, right = 0.0;  // rad in all, counterclockwise and clockwise
  double sharpest = 0.0;           // rad within kKinkSpan
};

Turning TurningOf(const PlotCurve& c) {
  Turning t;
  constexpr double kStep = 0.009;
  std::vector<PlotPoint> p;
  for (const PlotPoint& q : c.points)
    if (p.empty() || std::hypot(q.x - p.back().x, q.y - p.back().y) >= kStep) p.push_back(q);
  std::vector<double> turn;
  for (std::size_t i = 1; i + 1 < p.size(); ++i) {
    const double a = std::atan2(p[i].y - p[i - 1].y, p[i].x - p[i - 1].x), b = std::atan2(p[i + 1].y - p[i].y, p[i + 1].x - p[i].x);
    turn.push_back(std::remainder(b - a, 2 * M_PI));
  }
  // Jitter of single steps cancels over a few of them.
  constexpr int kWindow = 4;
  for (std::size_t i = 0; i + kWindow <= turn.size(); i += kWindow) {
    double sum = 0;
    for (std::size_t k = i; k < i + kWindow; ++k) sum += turn[k];
    (sum > 0 ? t.left : t.right) += std::abs(sum);
  }
  const int span = std::max(1, static_cast<int>(kKinkSpan / kStep));
  for (std::size_t i = 0; i + static_cast<std::size_t>(span) <= turn.size(); ++i) {
    double sum = 0;
    for (std::size_t k = i; k < i + static_cast<std::size_t>(span); ++k) sum += turn[k];
    t.sharpest = std::max(t.sharpest, std::abs(sum));
  }
  return t;
}

bool Touches(const PlotCurve& line, PlotPoint p) { return DistanceTo(line, p) < kTouch; }

// Curves of one family never cross; where two do, at least one is joined wrongly.
void CheckCrossings(const CheckedPanel& panel, CurveRole role, const char* words) {
  std::vector<JudgedCurve>& judged = *panel.judged;
  const std::vector<PlotCurve>& seen = *panel.seen;
  for (std::size_t i = 0; i < judged.size(); ++i)
    for (std::size_t j = i + 1; j < judged.size(); ++j) {
      if (judged[i].role != role || judged[j].role != role) continue;
      for (const Crossing& x : FindCrossings(seen[i], seen[j])) {
        // Ends that overshoot their junction a little do not count.
        constexpr double kSlack = 4;
        const auto near_end = [&](const PlotCurve& c, double at) {
          return !c.closed && (at < kSlack || at > static_cast<double>(c.points.size()) - 1 - kSlack);
        };
        if (near_end(seen[i], x.along_a) || near_end(seen[j], x.along_b)) continue;
        Doubt(judged[i], words, 0.35);
        Doubt(judged[j], words, 0.35);
        break;
      }
    }
}

// Speeds of one map lie within a small factor of each other: one far below the next has lost a digit.
void CheckSpeedRatios(const CheckedPanel& panel) {
  std::vector<std::pair<double, std::size_t>> values;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == CurveRole::kSpeedLine && (*panel.judged)[i].value) values.emplace_back(*(*panel.judged)[i].value, i);
  std::sort(values.begin(), values.end());
  for (std::size_t k = 0; k + 1 < values.size(); ++k)
    if (values[k + 1].first > 2.2 * values[k].first)
      for (std::size_t j = 0; j <= k; ++j)
        Doubt((*panel.judged)[values[j].second], fmt::format("{:g} is far from the other speeds; a digit may be lost", values[j].first));
}

// An end that its neighbors on either side would not lead one to expect.
void CheckRightEnds(const CheckedPanel& panel) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == CurveRole::kSpeedLine) order.push_back(i);
  if (order.size() < 4) return;
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return (*panel.seen)[a].max_y < (*panel.seen)[b].max_y; });
  for (std::size_t k = 1; k + 1 < order.size(); ++k) {
    const PlotPoint below = (*panel.seen)[order[k - 1]].Right(), here = (*panel.seen)[order[k]].Right(), above = (*panel.seen)[order[k + 1]].Right();
    // How far it lies from the straight way between them, and whether it lies between them at all.
    const double ex = above.x - below.x, ey = above.y - below.y, length = std::hypot(ex, ey);
    if (length < 1e-6) continue;
    const double across = std::abs(ex * (here.y - below.y) - ey * (here.x - below.x)) / length;
    const double along = (ex * (here.x - below.x) + ey * (here.y - below.y)) / (length * length);
    if (!(*panel.judged)[order[k]].trace.exact && (across > kEndOff + 0.12 * length || along < -0.1 || along > 1.1))
      Doubt((*panel.judged)[order[k]], "its right end is out of line with those beside it");
  }
}

}  // namespace

void CheckTraces(const CheckedPanel& panel) {
  for (std::size_t i = 0; i < panel.judged->size(); ++i) {
    JudgedCurve& c = (*panel.judged)[i];
    const Turning t = TurningOf((*panel.seen)[i]);
    if (c.role == CurveRole::kEfficiencyIsland) {
      if (std::min(t.left, t.right) > kIslandWrongTurn) Doubt(c, "it winds to and fro, as a wrongly joined line does");
    } else if (c.role == CurveRole::kSpeedLine || c.role == CurveRole::kFlowLine || c.role == CurveRole::kEfficiencyLine) {
      // An efficiency line may bend either way, but not both ways by much.
      if ((c.role == CurveRole::kEfficiencyLine ? std::min(t.left, t.right) : t.left) >
          (c.role == CurveRole::kEfficiencyLine ? 1.5 : 1.0) * kWrongTurn)
        Doubt(c, "it bends the wrong way in places, as a wrongly joined line does");
      if (t.sharpest > kKink && !c.trace.exact) Doubt(c, "it has a kink");
    }
    std::size_t unseen = 0;
    for (std::uint8_t b : c.trace.bridged) unseen += b;
    const double part = c.trace.bridged.empty() ? 0 : static_cast<double>(unseen) / static_cast<double>(c.trace.bridged.size());
    if (!c.trace.dashed && part > 0.35) Doubt(c, fmt::format("{:.0f} % of it is hidden under print", 100 * part));
    if (c.trace.confidence < 0.72) Doubt(c, "two of its pieces may not belong together");
  }
}

void CheckCompressor(const CheckedPanel& panel) {
  std::vector<JudgedCurve>& judged = *panel.judged;
  const std::vector<PlotCurve>& seen = *panel.seen;
  CheckCrossings(panel, CurveRole::kSpeedLine, "it crosses another speed line");
  CheckCrossings(panel, CurveRole::kEfficiencyIsland, "it crosses another efficiency island");
  std::optional<std::size_t> surge, top, bottom;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    if (judged[i].role == CurveRole::kSurgeLine) surge = i;
    if (judged[i].role != CurveRole::kSpeedLine) continue;
    if (!top || seen[i].max_y > seen[*top].max_y) top = i;
    if (!bottom || seen[i].max_y < seen[*bottom].max_y) bottom = i;
  }
  if (surge && top && !Touches(seen[*surge], seen[*top].Left())) Doubt(judged[*surge], "it does not reach the top speed line");
  if (surge && bottom && !Touches(seen[*surge], seen[*bottom].Left())) Doubt(judged[*surge], "it does not reach the lowest speed line");
  const auto loose_ends = [&](std::size_t i) {
    std::vector<PlotPoint> loose;
    for (PlotPoint end : {seen[i].Left(), seen[i].Right()}) {
      bool held = end.x < 0.01 || end.y < 0.01 || end.y > 0.99;
      // A map's edge stops an island; a speed line in the midst of the map does not.
      for (std::size_t j = 0; j < judged.size() && !held; ++j)
        if (j != i && (j == top || j == bottom || judged[j].role == CurveRole::kSurgeLine || judged[j].role == CurveRole::kChokeLine))
          held = Touches(seen[j], end);
      if (!held) loose.push_back(end);
    }
    return loose;
  };
  for (std::size_t i = 0; i < judged.size(); ++i) {
    JudgedCurve& c = judged[i];
    if (c.role == CurveRole::kSpeedLine && surge && !Touches(seen[*surge], seen[i].Left())) Doubt(c, "its left end does not reach the surge line");
    if (c.role != CurveRole::kEfficiencyIsland || c.trace.closed) continue;
    const std::vector<PlotPoint> loose = loose_ends(i);
    // A drawing's own path ends where it was drawn to end, unless its other part begins close by.
    const bool explained = c.trace.exact && std::ranges::none_of(loose, [&](PlotPoint end) {
                             for (std::size_t j = 0; j < judged.size(); ++j) {
                               if (j == i || judged[j].role != CurveRole::kEfficiencyIsland || judged[j].trace.closed) continue;
                               for (PlotPoint other : loose_ends(j))
                                 if (std::hypot(other.x - end.x, other.y - end.y) < kPartNear) return true;
                             }
                             return false;
                           });
    if (!loose.empty() && !explained)
      Doubt(c, loose.size() == 1 ? "one end of this island stops in the open" : "both ends of this island stop in the open");
  }
  CheckRightEnds(panel);
  CheckSpeedRatios(panel);
}

void CheckTurbine(const CheckedPanel& flow, const CheckedPanel& efficiency) {
  for (std::size_t i = 0; i < efficiency.judged->size(); ++i) {
    JudgedCurve& e = (*efficiency.judged)[i];
    if (e.role != CurveRole::kEfficiencyLine) continue;
    bool partner = false, any_flow = false;
    for (std::size_t j = 0; j < flow.judged->size(); ++j) {
      JudgedCurve& f = (*flow.judged)[j];
      if (f.role != CurveRole::kFlowLine) continue;
      any_flow = true;
      if (!e.value || !f.value || std::abs(*e.value - *f.value) > 1e-6 * std::abs(*e.value)) continue;
      partner = true;
      const PlotCurve &pe = (*efficiency.seen)[i], &pf = (*flow.seen)[j];
      // The two may stand in panels of different shape.
      const double from = pe.min_x / pe.aspect - pf.min_x / pf.aspect, to = pe.max_x / pe.aspect - pf.max_x / pf.aspect;
      if (std::abs(from) > kRangeOff || std::abs(to) > kRangeOff) {
        const bool shorter = to - from < 0;
        Doubt(shorter ? e : f, "it covers less of the expansion ratio than its partner of the same value");
        Doubt(shorter ? f : e, "its partner of the same value covers another range", 0.49);
      }
    }
    if (any_flow && e.value && !partner) Doubt(e, fmt::format("no flow line carries the same value, {:g}", *e.value));
  }
  for (JudgedCurve& f : *flow.judged) {
    if (f.role != CurveRole::kFlowLine || !f.value) continue;
    bool partner = false, any = false;
    for (const JudgedCurve& e : *efficiency.judged) {
      if (e.role != CurveRole::kEfficiencyLine) continue;
      any = true;
      partner |= e.value && std::abs(*e.value - *f.value) <= 1e-6 * std::abs(*f.value);
    }
    if (any && !partner) Doubt(f, fmt::format("no efficiency line carries the same value, {:g}", *f.value));
  }
}

std::string CheckSteps(const CheckedPanel& panel, CurveRole role) {
  std::vector<std::pair<double, std::size_t>> values;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == role && (*panel.judged)[i].value) values.emplace_back(*(*panel.judged)[i].value, i);
  if (values.size() < 4) return {};
  std::sort(values.begin(), values.end());
  // The step and start that most values fit; the largest step wins among equals.
  double best_step = 0, best_start = 0;
  std::size_t best = 0;
  for (std::size_t i = 0; i < values.size(); ++i)
    for (std::size_t j = i + 1; j < values.size(); ++j) {
      const double step = values[j].first - values[i].first;
      if (step <= 1e-9 * std::abs(values[j].first)) continue;
      std::size_t fit = 0;
      for (const auto& v : values) {
        const double k = (v.first - values[i].first) / step;
        fit += std::abs(k - std::round(k)) < 0.02;
      }
      if (fit > best || (fit == best && step > best_step)) {
        best = fit;
        best_step = step;
        best_start = values[i].first;
      }
    }
  if (best < 3 || 3 * (values.size() - best) > values.size()) return {};
  std::vector<double> steps;
  for (const auto& [v, i] : values) {
    const double k = (v - best_start) / best_step;
    if (std::abs(k - std::round(k)) < 0.02) {
      if (steps.empty() || std::round(k) != steps.back()) steps.push_back(std::round(k));
    } else {
      Doubt((*panel.judged)[i], fmt::format("{:g} breaks the even steps of {:g} that the others keep", v, best_step));
    }
  }
  for (std::size_t k = 1; k < steps.size(); ++k)
    if (steps[k] - steps[k - 1] > 1.5) return fmt::format("{:g}", best_start + best_step * (steps[k - 1] + 1));
  return {};
}

bool AnyShapeDoubted(const std::vector<JudgedCurve>& judged) {
  return std::any_of(judged.begin(), judged.end(), [](const JudgedCurve& c) { return !c.reasons.empty() && c.confidence <= kShapeConfidence; });
}

}  // namespace islebook
