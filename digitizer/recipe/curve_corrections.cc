#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "digitizer/recipe/corrections.h"
#include "digitizer/recipe/taken_ink.h"

namespace islebook {
namespace {

constexpr float kHandSigma = 1.5F;  // px; how well a person places a point
constexpr double kHandPx = 3.0;     // px of the sheet; how well one who is quick does, along and across
constexpr double kTieReach = 4.0;   // px; curves this much farther than the nearest still compete by role and value

template <typename... Ts>
struct Overloaded : Ts... {
  using Ts::operator()...;
};

ImagePoint ToImage(Point2 p) { return {p.x, p.y}; }

std::vector<ImagePoint> ToImage(const std::vector<Point2>& points) {
  std::vector<ImagePoint> result;
  for (const Point2& p : points) result.push_back({p.x, p.y});
  return result;
}

struct Nearest {
  double distance = std::numeric_limits<double>::max();
  std::size_t segment = 0;
  double part = 0.0;  // along the segment
};

Nearest NearestOn(const TracedCurve& curve, ImagePoint p) {
  Nearest best;
  const std::size_t n = curve.points.size();
  for (std::size_t i = 0; i + (curve.closed ? 0 : 1) < n; ++i) {
    const ImagePoint a = curve.points[i], b = curve.points[(i + 1) % n];
    const double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
    const double part = square > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / square, 0.0, 1.0) : 0.0;
    const double distance = std::hypot(a.x + part * dx - p.x, a.y + part * dy - p.y);
    if (distance < best.distance) best = {distance, i, part};
  }
  return best;
}

class Corrector {
 public:
  Corrector(const Page& page, const PrintFound& print, const AxesFound& axes, JudgedMap& judged, double scale)
      : page_(page),
        print_(print),
        axes_(axes),
        judged_(judged),
        scale_(scale),
        reach_(std::max(8.0, 0.008 * std::max(page.ink.cols, page.ink.rows))) {}

  // nullopt: not here (another map of the sheet may have it). Text: here, but it could not be done. Empty text: done.
  std::optional<std::string> Apply(const CorrectionStep& step) {
    return std::visit(Overloaded{
                          [&](const AddCurve& s) { return Add(s); },
                          [&](const TraceCurve& s) { return Trace(s); },
                          [&](const CutCurve& s) { return OnCurve(s.curve, [&](std::size_t i) { return Cut(i, ToImage(s.curve.near)); }); },
                          [&](const JoinCurves& s) { return Join(s); },
                          [&](const DeleteCurve& s) {
                            return OnCurve(s.curve, [&](std::size_t i) {
                              judged_.curves.erase(judged_.curves.begin() + static_cast<std::ptrdiff_t>(i));
                              return std::string();
                            });
                          },
                          [&](const RelabelCurve& s) {
                            return OnCurve(s.curve, [&](std::size_t i) {
                              if (s.role) Give(judged_.curves[i], *s.role);
                              judged_.curves[i].value = s.value;
                              judged_.curves[i].unit = s.value ? s.unit : std::string();
                              judged_.curves[i].word.role = judged_.curves[i].word.value = true;
                              Settle(judged_.curves[i]);
                              return std::string();
                            });
                          },
                          [&](const SetRole& s) {
                            return OnCurve(s.curve, [&](std::size_t i) {
                              Give(judged_.curves[i], s.role);
                              judged_.curves[i].word.role = true;
                              Settle(judged_.curves[i]);
                              return std::string();
                            });
                          },
                          [&](const AcceptCurve& s) {
                            return OnCurve(s.curve, [&](std::size_t i) {
                              Accept(judged_.curves[i], s.curve);
                              return std::string();
                            });
                          },
                          [](const auto&) -> std::optional<std::string> { return std::string(); },
                      },
                      step);
  }

 private:
  template <typename Do>
  std::optional<std::string> OnCurve(const CurveNear& curve, Do act) {
    const auto index = Find(curve);
    if (!index) return std::nullopt;
    return act(*index);
  }

  std::optional<std::size_t> Find(const CurveNear& wanted) const {
    std::vector<double> distances;
    double nearest = reach_;
    for (const JudgedCurve& curve : judged_.curves) {
      distances.push_back(NearestOn(curve.trace, ToImage(wanted.near)).distance);
      nearest = std::min(nearest, distances.back());
    }
    std::optional<std::size_t> best;
    double best_cost = std::numeric_limits<double>::max();
    for (std::size_t i = 0; i < distances.size(); ++i) {
      if (distances[i] > std::min(reach_, nearest + kTieReach)) continue;
      const JudgedCurve& curve = judged_.curves[i];
      double cost = distances[i];
      if (wanted.role && curve.role != *wanted.role) cost += kTieReach;
      if (wanted.value && curve.value != wanted.value) cost += kTieReach;
      if (cost < best_cost) best_cost = cost, best = i;
    }
    return best;
  }

  // The panel of this map that holds the point, with a margin for curves that leave the frame a little.
  std::optional<std::size_t> PanelAt(ImagePoint p) const {
    std::vector<std::size_t> panels{judged_.main_panel};
    if (judged_.efficiency_panel) panels.push_back(*judged_.efficiency_panel);
    for (const double margin : {0.0, 0.06}) {
      for (const std::size_t panel : panels) {
        if (panel >= axes_.panels.size()) continue;
        const FramePoint at = axes_.panels[panel].frame.FrameFromImage(p);
        if (at.u >= -margin && at.u <= 1.0 + margin && at.v >= -margin && at.v <= 1.0 + margin) return panel;
      }
    }
    return std::nullopt;
  }

  void Give(JudgedCurve& curve, CurveRole role) const {
    curve.role = role;
    const bool has_right = curve.panel < axes_.panels.size() && axes_.panels[curve.panel].right.has_value();
    curve.on_right_axis = role == CurveRole::kEfficiencyLine && (has_right || judged_.efficiency_panel == curve.panel);
    if (role == CurveRole::kSurgeLine || role == CurveRole::kChokeLine) curve.value.reset(), curve.unit.clear();
  }

  // What it was when the person looked is what they accepted, also where other corrections make it so.
  void Accept(JudgedCurve& curve, const CurveNear& seen) const {
    if (seen.value && seen.value != curve.value) {
      curve.value = seen.value;
      for (const JudgedCurve& other : judged_.curves)
        if (curve.unit.empty() && other.role == curve.role) curve.unit = other.unit;
    }
    curve.word.role = curve.word.value = curve.word.accepted = true;
    curve.trace.doubts.clear();
    curve.reasons.clear();
    curve.confidence = 1.0;
  }

  // A person's word on what a curve is leaves only the doubts about where it runs.
  static void Settle(JudgedCurve& curve) {
    curve.reasons = curve.trace.doubts;
    const bool wants_value = curve.role != CurveRole::kSurgeLine && curve.role != CurveRole::kChokeLine && curve.role != CurveRole::kOther;
    if (wants_value && !curve.value) curve.reasons.push_back("no value is known for it");
    if (curve.role == CurveRole::kOther) curve.reasons.push_back("it is none of the usual curves of a map");
    if (curve.is_rest && !curve.word.Any()) curve.reasons.push_back("another part of it was taken away; say what it is or delete it");
    curve.confidence = curve.reasons.empty() ? std::max(curve.confidence, 0.95) : std::min(curve.confidence, 0.6);
  }

  void Keep(TracedCurve trace, const CurveMeaning& meaning, std::size_t panel) {
    JudgedCurve curve;
    curve.trace = std::move(trace);
    curve.word.course = curve.word.role = true;
    curve.word.value = meaning.value.has_value();
    curve.panel = panel;
    curve.value = meaning.value;
    curve.unit = meaning.unit;
    Give(curve, meaning.role);
    curve.confidence = 1.0;
    Settle(curve);
    if (!judged_.kind) {
      switch (meaning.role) {
        case CurveRole::kSpeedLine:
        case CurveRole::kSurgeLine:
        case CurveRole::kChokeLine:
        case CurveRole::kEfficiencyIsland: judged_.kind = MapKind::kCompressor; break;
        case CurveRole::kFlowLine:
        case CurveRole::kEfficiencyLine: judged_.kind = MapKind::kTurbine; break;
        case CurveRole::kOther: break;
      }
    }
    judged_.curves.push_back(std::move(curve));
  }

  // Where a curve is no longer found there is nothing to take away, and what the person drew stands all the same.
  void Remove(const std::vector<CurveNear>& replaced) {
    for (const CurveNear& gone : replaced)
      if (const auto at = Find(gone)) judged_.curves.erase(judged_.curves.begin() + static_cast<std::ptrdiff_t>(*at));
  }

  // Ink that a person's curve runs along was found as pieces of others, which lose it.
  void TakeInk(const TracedCurve& drawn, std::size_t panel) {
    std::vector<JudgedCurve> left;
    for (JudgedCurve& curve : judged_.curves) {
      if (curve.word.course || curve.panel != panel) {
        left.push_back(std::move(curve));
        continue;
      }
      const std::size_t points = curve.trace.points.size();
      std::optional<TracedCurve> rest = LeftBeside(drawn, curve.trace);
      if (!rest) continue;
      curve.trace = std::move(*rest);
      if (curve.trace.points.size() < points) MakeRest(curve);
      left.push_back(std::move(curve));
    }
    judged_.curves = std::move(left);
  }

  // What is left of a curve when another part of it has gone.
  static void MakeRest(JudgedCurve& curve) {
    curve.is_rest = true;
    curve.word = {};
    curve.value.reset();
    curve.unit.clear();
    Settle(curve);
    curve.confidence = std::min(curve.confidence, 0.4);
  }

  std::optional<std::string> Add(const AddCurve& step) {
    const auto panel = PanelAt(ToImage(step.points[step.points.size() / 2]));
    if (!panel) return std::nullopt;
    TracedCurve trace;
    trace.points = ToImage(step.points);
    trace.sigma_px.assign(trace.points.size(), kHandSigma);
    trace.bridged.assign(trace.points.size(), 0);
    trace.closed = step.closed;
    Remove(step.instead_of);
    TakeInk(trace, *panel);
    Keep(std::move(trace), step.meaning, *panel);
    return std::string();
  }

  std::optional<std::string> Trace(const TraceCurve& step) {
    const auto panel = PanelAt(ToImage(step.through[step.through.size() / 2]));
    if (!panel) return std::nullopt;
    Remove(step.instead_of);
    CurveOptions options;
    options.hand_px = kHandPx * scale_;
    auto trace = TraceThrough(page_, print_, axes_, ToImage(step.through), step.closed, options);
    if (trace) {
      TakeInk(*trace, *panel);
      Keep(std::move(*trace), step.meaning, *panel);
      return std::string();
    }
    // The points that the person gave stay, as a curve that asks to be looked at.
    TracedCurve straight;
    straight.points = ToImage(step.through);
    straight.sigma_px.assign(straight.points.size(), 2.0F * kHandSigma);
    straight.bridged.assign(straight.points.size(), 1);
    straight.closed = step.closed;
    straight.doubts.push_back("no ink could be followed between the points given; it runs straight from one to the next");
    Keep(std::move(straight), step.meaning, *panel);
    return fmt::format("no ink could be followed through its points ({}); they are kept as a straight-sided curve", trace.error().message);
  }

  std::string Cut(std::size_t index, ImagePoint at) {
    const JudgedCurve whole = judged_.curves[index];
    const Nearest cut = NearestOn(whole.trace, at);
    const auto middle = static_cast<std::ptrdiff_t>(cut.segment + 1);
    const TracedCurve& t = whole.trace;
    auto part = [&](std::ptrdiff_t from, std::ptrdiff_t to) {
      JudgedCurve piece = whole;
      piece.trace.closed = false;
      piece.trace.points.assign(t.points.begin() + from, t.points.begin() + to);
      piece.trace.sigma_px.assign(t.sigma_px.begin() + from, t.sigma_px.begin() + to);
      piece.trace.bridged.assign(t.bridged.begin() + from, t.bridged.begin() + to);
      return piece;
    };
    const auto n = static_cast<std::ptrdiff_t>(t.points.size());
    if (t.closed) {
      JudgedCurve opened = part(middle, n);
      const JudgedCurve rest = part(0, middle);
      opened.trace.points.insert(opened.trace.points.end(), rest.trace.points.begin(), rest.trace.points.end());
      opened.trace.sigma_px.insert(opened.trace.sigma_px.end(), rest.trace.sigma_px.begin(), rest.trace.sigma_px.end());
      opened.trace.bridged.insert(opened.trace.bridged.end(), rest.trace.bridged.begin(), rest.trace.bridged.end());
      judged_.curves[index] = std::move(opened);
      return {};
    }
    if (middle < 2 || n - middle < 2) return "the place is at the end of the curve, so there is nothing to cut off";
    JudgedCurve first = part(0, middle), second = part(middle, n);
    JudgedCurve& shorter = middle < n - middle ? first : second;
    MakeRest(shorter);
    judged_.curves[index] = std::move(first);
    judged_.curves.insert(judged_.curves.begin() + static_cast<std::ptrdiff_t>(index) + 1, std::move(second));
    return {};
  }

  std::optional<std::string> Join(const JoinCurves& step) {
    const auto first = Find(step.curve), second = Find(step.with);
    if (!first && !second) return std::nullopt;
    if (!first || !second) return "only one of the two curves is there";
    if (*first == *second) return "both places lie on the same curve";
    TracedCurve a = judged_.curves[*first].trace, b = judged_.curves[*second].trace;
    if (a.closed || b.closed) return "a closed curve has no end to join";
    auto turn = [](TracedCurve& t) {
      std::reverse(t.points.begin(), t.points.end());
      std::reverse(t.sigma_px.begin(), t.sigma_px.end());
      std::reverse(t.bridged.begin(), t.bridged.end());
    };
    auto gap = [](ImagePoint p, ImagePoint q) { return std::hypot(p.x - q.x, p.y - q.y); };
    const double ends[4] = {gap(a.points.back(), b.points.front()), gap(a.points.back(), b.points.back()), gap(a.points.front(), b.points.front()),
                            gap(a.points.front(), b.points.back())};
    const auto closest = std::min_element(ends, ends + 4) - ends;
    if (closest >= 2) turn(a);
    if (closest == 1 || closest == 3) turn(b);
    const ImagePoint from = a.points.back(), to = b.points.front();
    const int steps = static_cast<int>(gap(from, to) / 3.0);
    for (int i = 1; i < steps; ++i) {
      const double part = static_cast<double>(i) / steps;
      a.points.push_back({from.x + part * (to.x - from.x), from.y + part * (to.y - from.y)});
      a.sigma_px.push_back(kHandSigma);
      a.bridged.push_back(1);
    }
    a.points.insert(a.points.end(), b.points.begin(), b.points.end());
    a.sigma_px.insert(a.sigma_px.end(), b.sigma_px.begin(), b.sigma_px.end());
    a.bridged.insert(a.bridged.end(), b.bridged.begin(), b.bridged.end());
    JudgedCurve& joined = judged_.curves[*first];
    joined.trace = std::move(a);
    const JudgedCurve& other = judged_.curves[*second];
    if ((!joined.value && other.value) || (other.word.value && !joined.word.value)) {
      joined.value = other.value;
      joined.unit = other.unit;
      joined.word.value = other.word.value;
    }
    Settle(joined);
    judged_.curves.erase(judged_.curves.begin() + static_cast<std::ptrdiff_t>(*second));
    return std::string();
  }

  const Page& page_;
  const PrintFound& print_;
  const AxesFound& axes_;
  JudgedMap& judged_;
  double scale_;
  double reach_;
};

}  // namespace

CurveCorrections ApplyCurveCorrections(const Recipe& recipe, const Page& page, const PrintFound& print, const AxesFound& axes, JudgedMap& judged,
                                       double scale) {
  CurveCorrections result;
  Corrector corrector(page, print, axes, judged, scale);
  for (std::size_t i = 0; i < recipe.corrections.size(); ++i) {
    const auto outcome = corrector.Apply(recipe.corrections[i].step);
    result.applied.push_back(outcome.has_value());
    result.changed |= outcome && IsAboutCurves(recipe.corrections[i].step);
    if (outcome && !outcome->empty()) result.failed.push_back({i, *outcome});
  }
  return result;
}

std::vector<bool> AcceptedCurves(const Recipe& recipe, const PerformanceMap& map) {
  std::vector<bool> accepted(map.curves.size(), false);
  for (const Correction& correction : recipe.corrections) {
    const auto* accept = std::get_if<AcceptCurve>(&correction.step);
    if (accept == nullptr) continue;
    double nearest = std::numeric_limits<double>::max();
    std::vector<double> distances;
    for (const Curve& curve : map.curves) {
      TracedCurve trace;
      trace.points = ToImage(curve.points_px);
      trace.closed = curve.closed;
      distances.push_back(NearestOn(trace, ToImage(accept->curve.near)).distance);
      nearest = std::min(nearest, distances.back());
    }
    for (std::size_t i = 0; i < distances.size(); ++i) {
      const bool same_role = !accept->curve.role || *accept->curve.role == map.curves[i].role;
      if (distances[i] <= nearest + 0.5 && same_role) accepted[i] = true;
    }
  }
  return accepted;
}

void ApplyMapCorrections(const Recipe& recipe, PerformanceMap& map) {
  if (!map.reference_conditions && recipe.settings.assumed_reference) map.reference_conditions = recipe.settings.assumed_reference;
  for (const Correction& correction : recipe.corrections) {
    if (const auto* reference = std::get_if<SetReference>(&correction.step)) {
      map.reference_conditions = reference->conditions;
      std::erase_if(map.needs_review, [](const std::string& doubt) { return doubt.find("reference condition") != std::string::npos; });
    }
    if (const auto* title = std::get_if<SetTitle>(&correction.step)) {
      map.title = title->title;
      std::erase_if(map.needs_review, [](const std::string& doubt) { return doubt.starts_with("title"); });
    }
  }
}

}  // namespace islebook
