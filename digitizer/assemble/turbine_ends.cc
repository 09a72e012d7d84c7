#include "digitizer/assemble/turbine_ends.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr double kMissing = 0.045;   // of a line's length
constexpr double kSlopeSpan = 0.02;  // of the frame's height: the stretch at an end that tells its slope
constexpr double kExact = 0.0015;    // of the frame's width: ends are known no better
constexpr double kConfidence = 0.44;

// Length of line per unit of x at an end.
double Steepness(const PlotCurve& c, bool left) {
  const PlotPoint end = left ? c.Left() : c.Right();
  for (std::size_t k = 1; k < c.points.size(); ++k) {
    const PlotPoint p = left ? c.points[k] : c.points[c.points.size() - 1 - k];
    const double length = std::hypot(p.x - end.x, p.y - end.y);
    if (length > kSlopeSpan) return length / std::max(1e-3, std::abs(p.x - end.x));
  }
  return 1.0;
}

}  // namespace

void CheckTurbineEnds(const CheckedPanel& flow, const CheckedPanel& efficiency) {
  for (std::size_t i = 0; i < efficiency.judged->size(); ++i) {
    JudgedCurve& e = (*efficiency.judged)[i];
    if (e.role != CurveRole::kEfficiencyLine || !e.value) continue;
    for (std::size_t j = 0; j < flow.judged->size(); ++j) {
      const JudgedCurve& f = (*flow.judged)[j];
      if (f.role != CurveRole::kFlowLine || !f.value || std::abs(*e.value - *f.value) > 1e-6 * std::abs(*e.value)) continue;
      const PlotCurve &pe = (*efficiency.seen)[i], &pf = (*flow.seen)[j];
      for (bool left : {true, false}) {
        const double own = (left ? pe.min_x : pe.max_x) / pe.aspect, partner = (left ? pf.min_x : pf.max_x) / pf.aspect;
        const double off = std::max(0.0, std::abs(own - partner) - kExact) * pe.aspect * Steepness(pe, left);
        if (off <= kMissing * pe.length) continue;
        const std::string reason =
            (left == (own > partner)) ? "a piece of it may be missing at its steep end" : "it runs on beyond its partner of the same value";
        if (std::find(e.reasons.begin(), e.reasons.end(), reason) == e.reasons.end()) e.reasons.push_back(reason);
        e.confidence = std::min(e.confidence, kConfidence);
      }
    }
  }
}

}  // namespace islebook
