#include "digitizer/assemble/checks.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include <fmt/core.h>

#include "mapstore/map/curve_words.h"

namespace islebook {
namespace {

constexpr double kTouch = 0.012;     // of the frame's height
constexpr double kWrongTurn = 0.22;  // rad: a curve that bends one way may bend the other way by this in all
constexpr double kIslandWrongTurn = 0.3;
constexpr double kEndPart = 0.03;     // of a curve's length: an end this short is no great loss
constexpr double kPadReach = 0.06;    // of the frame's height: what a label's pad hides
constexpr double kPadPart = 0.05;     // of a curve's length: a label's pad explains no more than this
constexpr double kMostlySeen = 0.5;   // a line farther from the surge line than this part of its length is a piece of one
constexpr double kSurgeEnd = 0.03;    // of the frame's height
constexpr double kKink = 0.62;        // rad within kKinkSpan
constexpr double kKinkSpan = 0.018;   // of the frame's height
constexpr double kEndOff = 0.012;     // of the frame's height: how far a right end may lie from the line through its neighbors'
constexpr double kEndBow = 0.03;      // and of the distance between those, since that line may be bent
constexpr double kPartNear = 0.12;    // of the frame's height: two open ends this close may be one island's
constexpr double kRangeOff = 0.02;    // of the frame's width
constexpr double kRangePart = 0.045;  // and of what the longer one covers
constexpr double kUnseenEnd = 0.045;  // of a curve's length
constexpr double kChokeOff = 0.02;    // of the frame's height
constexpr double kShapeConfidence = 0.44;
constexpr double kEnough = 0.52;  // a curve less likely right than this is doubted
constexpr double kEnoughUnlabeled = 0.78;

void Doubt(JudgedCurve& c, std::string reason, double confidence = kShapeConfidence) {
  if (std::find(c.reasons.begin(), c.reasons.end(), reason) == c.reasons.end()) c.reasons.push_back(std::move(reason));
  c.confidence = std::min(c.confidence, confidence);
}

struct Turning {
  double left = 0.0, right = 0.0;  // rad in all, counterclockwise and clockwise
  double unruly = 0.0;             // the least that speaks against a line that bends first one way and then the other
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
  std::vector<double> windows;
  for (std::size_t i = 0; i + kWindow <= turn.size(); i += kWindow) {
    double sum = 0;
    for (std::size_t k = i; k < i + kWindow; ++k) sum += turn[k];
    (sum > 0 ? t.left : t.right) += std::abs(sum);
    windows.push_back(sum);
  }
  // With the change at the end, a line that bends one way only.
  t.unruly = std::min(t.left, t.right);
  double left = 0, right = 0;
  for (const double w : windows) {
    (w > 0 ? left : right) += std::abs(w);
    t.unruly = std::min({t.unruly, left + (t.right - right), right + (t.left - left)});
  }
  const int span = std::max(1, static_cast<int>(kKinkSpan / kStep));
  for (std::size_t i = 0; i + static_cast<std::size_t>(span) <= turn.size(); ++i) {
    double sum = 0;
    for (std::size_t k = i; k < i + static_cast<std::size_t>(span); ++k) sum += turn[k];
    t.sharpest = std::max(t.sharpest, std::abs(sum));
  }
  return t;
}

// The longer of the two end stretches of which no ink is seen, as a part of the whole.
double UnseenEnd(const TracedCurve& curve) {
  const std::size_t n = curve.bridged.size();
  std::size_t front = 0, back = 0;
  while (front < n && curve.bridged[front] != 0) ++front;
  while (back < n && curve.bridged[n - 1 - back] != 0) ++back;
  return n > 0 ? static_cast<double>(std::max(front, back)) / static_cast<double>(n) : 0.0;
}

void Suspect(const CheckedPanel& panel, std::size_t i, std::string reason, double weight) {
  (*panel.hints)[i].push_back({std::move(reason), weight});
}

// Speeds of one map lie within a small factor of each other: the few that stand far from the rest have lost or gained a digit.
void CheckSpeedRatios(const CheckedPanel& panel) {
  std::vector<std::pair<double, std::size_t>> values;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == CurveRole::kSpeedLine && (*panel.judged)[i].value) values.emplace_back(*(*panel.judged)[i].value, i);
  std::sort(values.begin(), values.end());
  for (std::size_t k = 0; k + 1 < values.size(); ++k) {
    if (values[k + 1].first <= 2.2 * values[k].first) continue;
    const std::size_t below = k + 1, above = values.size() - below;
    for (std::size_t j = 0; j < values.size(); ++j)
      if (j < below ? below <= above : above <= below)
        Doubt((*panel.judged)[values[j].second], NumberInWords(values[j].first) + " is far from the other speeds; a digit may be lost");
  }
}

// How far the right end of a speed line lies from the line through those of its neighbors.
struct RightEnd {
  double across = 0.0, along = 0.5, length = 0.0;
};
RightEnd SeeRightEnd(PlotPoint below, PlotPoint here, PlotPoint above) {
  const double ex = above.x - below.x, ey = above.y - below.y, length = std::hypot(ex, ey);
  if (length < 1e-6) return {};
  return {std::abs(ex * (here.y - below.y) - ey * (here.x - below.x)) / length,
          (ex * (here.x - below.x) + ey * (here.y - below.y)) / (length * length), length};
}

// Right ends lie on a smooth line. The end farthest from the line through its neighbors is doubted first, and then no longer counts as a neighbor.
void CheckRightEnds(const CheckedPanel& panel) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == CurveRole::kSpeedLine) order.push_back(i);
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return (*panel.seen)[a].max_y < (*panel.seen)[b].max_y; });
  const auto end_of = [&](std::size_t k) { return (*panel.seen)[order[k]].Right(); };
  while (order.size() >= 4) {
    std::size_t worst = 0;
    double most = 1.0;  // in parts of what is allowed
    for (std::size_t k = 0; k < order.size(); ++k) {
      if ((*panel.judged)[order[k]].trace.exact) continue;
      const bool inner = k > 0 && k + 1 < order.size();
      // The outermost are compared with the way that the next two point.
      const RightEnd end = inner    ? SeeRightEnd(end_of(k - 1), end_of(k), end_of(k + 1))
                           : k == 0 ? SeeRightEnd(end_of(1), end_of(0), end_of(2))
                                    : SeeRightEnd(end_of(k - 1), end_of(k), end_of(k - 2));
      double off = inner ? end.across / (kEndOff + kEndBow * end.length) : end.across / (3.0 * (kEndOff + kEndBow * end.length));
      if (inner && (end.along < -0.1 || end.along > 1.1)) off = std::max(off, 1.5);
      if (off > most) {
        most = off;
        worst = k;
      }
    }
    if (most <= 1.0) return;
    Suspect(panel, order[worst], "its right end is out of line with those beside it", most > 1.5 ? 0.55 : 0.45);
    order.erase(order.begin() + static_cast<std::ptrdiff_t>(worst));
  }
}

// A speed line that lacks its first stretch. Whether ink goes on there makes the difference between cut and drawn short.
void DoubtShortStart(const CheckedPanel& panel, std::size_t i, const std::string& reason) {
  const double beyond = (*panel.ink)[i].beyond_front;
  Doubt((*panel.judged)[i], beyond > 0.5 ? reason + ", and the ink goes on there: it is surely cut" : reason);
}

// Without a surge line the left ends stand for it: a line that begins well inside the way between its neighbors' ends is doubted.
void CheckLeftEnds(const CheckedPanel& panel) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < panel.judged->size(); ++i)
    if ((*panel.judged)[i].role == CurveRole::kSpeedLine) order.push_back(i);
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return (*panel.seen)[a].max_y < (*panel.seen)[b].max_y; });
  for (std::size_t k = 1; k + 1 < order.size(); ++k) {
    const PlotCurve& line = (*panel.seen)[order[k]];
    const PlotPoint below = (*panel.seen)[order[k - 1]].Left(), above = (*panel.seen)[order[k + 1]].Left();
    const RightEnd end = SeeRightEnd(below, line.Left(), above);
    // Right of the way from below to above: inside the map.
    const bool inside = (above.x - below.x) * (line.Left().y - below.y) - (above.y - below.y) * (line.Left().x - below.x) < 0;
    if (!inside || end.length < 1e-6 || end.across < std::max(kTouch, kPadPart * line.length) + kEndBow * end.length) continue;
    DoubtShortStart(panel, order[k], fmt::format("it begins {:.0f} % of its length later than the lines beside it", 100 * end.across / line.length));
  }
}

// The region that a compressor's islands are drawn in: they stop at its edge.
class IslandBounds {
 public:
  IslandBounds(const CheckedPanel& panel, std::vector<std::size_t> drawn) : seen_(*panel.seen), drawn_(std::move(drawn)) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < panel.judged->size(); ++i)
      if ((*panel.judged)[i].role == CurveRole::kSpeedLine) order.push_back(i);
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return seen_[a].max_y < seen_[b].max_y; });
    for (std::size_t i : order) {
      lefts_.points.push_back(seen_[i].Left());
      rights_.points.push_back(seen_[i].Right());
    }
  }
  // Whether a line may end here; `slack` in parts of the frame's height.
  bool Holds(PlotPoint end, double aspect, double slack) const {
    if (end.x < 0.01 || end.y < 0.01 || end.y > 0.99 || end.x > aspect - 0.01) return true;
    for (std::size_t i : drawn_)
      if (DistanceTo(seen_[i], end) < slack) return true;
    constexpr double kUndrawn = 0.03;  // the edge runs somewhere between the ends of the speed lines
    return DistanceTo(rights_, end) < std::max(slack, kUndrawn) || DistanceTo(lefts_, end) < std::max(slack, kUndrawn);
  }

 private:
  const std::vector<PlotCurve>& seen_;
  std::vector<std::size_t> drawn_;
  PlotCurve lefts_, rights_;
};

}  // namespace

void CheckTraces(const CheckedPanel& panel) {
  for (std::size_t i = 0; i < panel.judged->size(); ++i) {
    JudgedCurve& c = (*panel.judged)[i];
    const PlotCurve& seen = (*panel.seen)[i];
    const InkEvidence& ink = (*panel.ink)[i];
    const Turning t = TurningOf(seen);
    const double to_and_fro = std::min(t.left, t.right);
    if (c.role == CurveRole::kEfficiencyIsland) {
      if (to_and_fro > kIslandWrongTurn)
        Doubt(c, "it winds to and fro, as a wrongly joined line does");
      else if (!c.trace.closed && to_and_fro > 0.5 * kIslandWrongTurn)
        Suspect(panel, i, "it winds a little to and fro", 0.35);
    } else if (c.role == CurveRole::kSpeedLine || c.role == CurveRole::kFlowLine || c.role == CurveRole::kEfficiencyLine) {
      // An efficiency line may bend either way, and change once.
      if ((c.role == CurveRole::kEfficiencyLine ? t.unruly : t.left) > (c.role == CurveRole::kEfficiencyLine ? 1.5 : 1.0) * kWrongTurn)
        Doubt(c, "it bends the wrong way in places, as a wrongly joined line does");
      if (t.sharpest > kKink && !c.trace.exact) Suspect(panel, i, "it has a kink", 0.4);
    }
    std::size_t unseen = 0;
    for (std::uint8_t b : c.trace.bridged) unseen += b;
    const double part = c.trace.bridged.empty() ? 0 : static_cast<double>(unseen) / static_cast<double>(c.trace.bridged.size());
    if (!c.trace.dashed && part > 0.35) Doubt(c, fmt::format("{:.0f} % of it is not drawn: print hides it, or it has gaps", 100 * part));
    // A ring that closes is seldom joined wrongly.
    if (c.trace.confidence < 0.72) Suspect(panel, i, "two of its pieces may not belong together", c.trace.closed ? 0.05 : 0.2);
    if (c.trace.exact) continue;  // a drawing's own path; the picture knows it less well
    if (ink.bare_gap > 0.02) Suspect(panel, i, "a part of it crosses bare paper where nothing is drawn", ink.bare_gap > 0.04 ? 0.5 : 0.3);
    if (!c.trace.closed && UnseenEnd(c.trace) > kUnseenEnd)
      Suspect(panel, i, "its last stretch is not seen; the way it takes there is a guess", 0.45);
    if (ink.bulge > 1.0) Suspect(panel, i, "the way it takes under print does not follow from the line on both sides", ink.bulge > 2.0 ? 0.6 : 0.5);
    if (ink.goes_on > 0.02) Suspect(panel, i, "the line may go on beyond one of its ends", 0.3);
    if ((c.role == CurveRole::kSpeedLine || c.role == CurveRole::kEfficiencyIsland) && ink.beyond_back > 0.5)
      Suspect(panel, i, "ink goes on beyond its right end", c.role == CurveRole::kEfficiencyIsland ? 0.25 : ink.beyond_back > 0.8 ? 0.55 : 0.35);
    if (c.role == CurveRole::kSpeedLine && ink.into_print_back) Suspect(panel, i, "its right end runs into print, which may hide more of it", 0.35);
    if (c.role == CurveRole::kEfficiencyLine && ink.shared > 0)
      Doubt(c, "it runs together with another line for a stretch; one of them may have left its own");
  }
}

void CheckCompressor(const CheckedPanel& panel) {
  std::vector<JudgedCurve>& judged = *panel.judged;
  const std::vector<PlotCurve>& seen = *panel.seen;
  std::optional<std::size_t> surge, top, bottom;
  std::vector<std::size_t> edges;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    if (judged[i].role == CurveRole::kSurgeLine) surge = i;
    if (judged[i].role == CurveRole::kSurgeLine || judged[i].role == CurveRole::kChokeLine) edges.push_back(i);
    if (judged[i].role != CurveRole::kSpeedLine) continue;
    if (!top || seen[i].max_y > seen[*top].max_y) top = i;
    if (!bottom || seen[i].max_y < seen[*bottom].max_y) bottom = i;
  }
  if (surge && top && DistanceTo(seen[*surge], seen[*top].Left()) > kSurgeEnd) Suspect(panel, *surge, "it does not reach the top speed line", 0.4);
  if (surge && bottom && DistanceTo(seen[*surge], seen[*bottom].Left()) > kSurgeEnd)
    Suspect(panel, *surge, "it does not reach the lowest speed line", 0.4);
  for (const std::size_t line : edges) {
    if (judged[line].role != CurveRole::kChokeLine) continue;
    for (std::size_t i = 0; i < judged.size(); ++i)
      if (judged[i].role == CurveRole::kSpeedLine && DistanceTo(seen[line], seen[i].Right()) > kChokeOff) {
        Suspect(panel, line, "it does not pass through the right end of each speed line", 0.55);
        break;
      }
  }
  if (top) edges.push_back(*top);
  if (bottom && bottom != top) edges.push_back(*bottom);
  const IslandBounds edge(panel, edges);
  const auto loose_ends = [&](std::size_t i) {
    // A missing end counts by the part of the curve that it is.
    const double slack = std::max(kTouch, kEndPart * seen[i].length);
    std::vector<PlotPoint> loose;
    for (PlotPoint end : {seen[i].Left(), seen[i].Right()})
      if (!edge.Holds(end, seen[i].aspect, slack)) loose.push_back(end);
    return loose;
  };
  for (std::size_t i = 0; i < judged.size(); ++i) {
    JudgedCurve& c = judged[i];
    const double slack = std::max(kTouch, kEndPart * seen[i].length);
    if (c.role == CurveRole::kSpeedLine && surge) {
      const double away = DistanceTo(seen[*surge], seen[i].Left());
      const bool padded = (*panel.ink)[i].print_front;  // a label stands there, and its pad hides the line
      if (away > std::max(slack, kPadPart * seen[i].length)) {
        DoubtShortStart(panel, i,
                        away < kMostlySeen * seen[i].length
                            ? fmt::format("it stops {:.0f} % of its length short of the surge line", 100 * away / seen[i].length)
                            : "it is far from the surge line; most of it may be missing");
      } else if (away > std::max(slack, padded ? kPadReach : 0.0)) {
        Suspect(panel, i, "its left end does not reach the surge line", 0.5);
      }
    }
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
      Suspect(panel, i, loose.size() == 1 ? "one end of this island stops in the open" : "both ends of this island stop in the open", 0.55);
  }
  if (!surge) CheckLeftEnds(panel);
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
      const double off = std::max(kRangeOff, kRangePart * std::max((pe.max_x - pe.min_x) / pe.aspect, (pf.max_x - pf.min_x) / pf.aspect));
      if (std::abs(from) > off || std::abs(to) > off) {
        const bool shorter = to - from < 0;
        Doubt(shorter ? e : f, "it covers less of the expansion ratio than its partner of the same value");
        if (shorter)
          Suspect(flow, j, "its partner of the same value covers another range", 0.2);
        else
          Suspect(efficiency, i, "its partner of the same value covers another range", 0.2);
      }
    }
    if (any_flow && e.value && !partner) Suspect(efficiency, i, fmt::format("no flow line carries the same value, {:g}", *e.value), 0.4);
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
  // A value that stands alone on its side of a gap may be misread instead.
  const auto doubt_lone = [&](double step) {
    for (const auto& [v, i] : values)
      if (std::abs((v - best_start) / best_step - step) < 0.02)
        Doubt((*panel.judged)[i],
              fmt::format("{:g} is {:g} from the next value, the others are {:g} apart: a curve may be missing between, or a digit be misread", v,
                          best_step * std::abs(step - (step == steps.front() ? steps[1] : steps[steps.size() - 2])), best_step));
  };
  if (steps.size() >= 4) {
    if (steps[1] - steps[0] > 1.5) doubt_lone(steps.front());
    if (steps.back() - steps[steps.size() - 2] > 1.5) doubt_lone(steps.back());
  }
  for (std::size_t k = 1; k < steps.size(); ++k)
    if (steps[k] - steps[k - 1] > 1.5) return fmt::format("{:g}", best_start + best_step * (steps[k - 1] + 1));
  return {};
}

void Settle(const CheckedPanel& panel) {
  bool wrong_unlabeled = false;
  for (std::size_t i = 0; i < panel.judged->size(); ++i) {
    JudgedCurve& c = (*panel.judged)[i];
    double right = 1.0;
    for (const Hint& h : (*panel.hints)[i]) right *= 1.0 - h.weight;
    const bool unlabeled = c.role == CurveRole::kEfficiencyIsland && !c.value;  // no number speaks for it
    if (right > (unlabeled ? kEnoughUnlabeled : kEnough) && c.reasons.empty()) {
      c.confidence = std::min(c.confidence, std::max(right, kEnough));
      continue;
    }
    for (Hint& h : (*panel.hints)[i]) Doubt(c, std::move(h.reason), std::min(kShapeConfidence, right));
    (*panel.hints)[i].clear();
    wrong_unlabeled |= unlabeled;
  }
  // Where one of the islands without a number is no island, the others may be none either.
  for (JudgedCurve& c : *panel.judged)
    if (wrong_unlabeled && c.role == CurveRole::kEfficiencyIsland && !c.value) Doubt(c, "no label was read for it");
}

std::string CurvesOfDoubtfulShape(const std::vector<JudgedCurve>& judged) {
  std::vector<std::pair<std::string, int>> names;  // and how many bear each
  for (const JudgedCurve& c : judged) {
    if (c.reasons.empty() || c.confidence > kShapeConfidence) continue;
    Curve named;
    named.role = c.role;
    named.value = c.value;
    named.unit = c.unit;
    const std::string name = CurveInWords(named);
    const auto known = std::ranges::find(names, name, &std::pair<std::string, int>::first);
    if (known == names.end())
      names.emplace_back(name, 1);
    else
      ++known->second;
  }
  constexpr std::size_t kNamed = 5;
  std::string list;
  int more = 0;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i >= kNamed && names.size() > kNamed + 1) {
      more += names[i].second;
      continue;
    }
    list += list.empty() ? "" : i + 1 == names.size() ? " and " : ", ";
    list += names[i].second == 1 ? names[i].first : fmt::format("{} ({} of them)", names[i].first, names[i].second);
  }
  if (more > 0) list += fmt::format(" and {} more", more);
  return list;
}

}  // namespace islebook
