#include "digitizer/labels/label_places.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

// A point in the label's own frame: along its base line and across it, from its middle.
struct Local {
  double along = 0.0, across = 0.0;
};

double BoxDistance(const Local& p, double half_width, double half_height) {
  return std::hypot(std::max(std::abs(p.along) - half_width, 0.0), std::max(std::abs(p.across) - half_height, 0.0));
}

}  // namespace

std::optional<PlacedCandidate> PlaceLabel(const CurveLabel& label, const TracedCurve& curve, std::size_t index, const PlaceRules& rules) {
  const std::size_t n = curve.points.size();
  if (n < 2) return std::nullopt;
  const double h = std::max(4.0, label.height_px), half_w = label.width_px / 2.0, half_h = h / 2.0;
  const double c = std::cos(label.angle_deg * kDegree), s = std::sin(label.angle_deg * kDegree);
  const auto local = [&](const ImagePoint& p) {
    const double dx = p.x - label.center.x, dy = p.y - label.center.y;
    return Local{c * dx + s * dy, -s * dx + c * dy};
  };
  // Quick look first: nothing within reach of the label's middle.
  const double far = rules.reach * h + half_w + h;
  double box = 1e18, middle = 1e18;  // nearest to the box, nearest to the middle
  double at = 0.0, at_middle = 0.0;  // where along the curve, in points
  ImagePoint way{1.0, 0.0};          // direction there
  bool through_gap = false;
  const std::size_t segments = curve.closed ? n : n - 1;
  for (std::size_t i = 0; i < segments; ++i) {
    const ImagePoint& p = curve.points[i];
    const ImagePoint& q = curve.points[(i + 1) % n];
    const double step = std::hypot(q.x - p.x, q.y - p.y);
    if (std::hypot(p.x - label.center.x, p.y - label.center.y) > far + step) continue;
    const int pieces = std::max(1, static_cast<int>(std::ceil(step)));
    for (int k = 0; k <= pieces; ++k) {
      const double t = static_cast<double>(k) / pieces;
      const Local l = local({p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)});
      const double to_box = BoxDistance(l, half_w, half_h), to_middle = std::hypot(l.along, l.across);
      if (to_box < box) {
        box = to_box;
        at = static_cast<double>(i) + t;
      }
      if (to_middle < middle) {
        middle = to_middle;
        at_middle = static_cast<double>(i) + t;
        way = {(q.x - p.x) / std::max(step, 1e-9), (q.y - p.y) / std::max(step, 1e-9)};
      }
      if (to_box <= 0.15 * h && !curve.bridged.empty() && (curve.bridged[i] || curve.bridged[(i + 1) % n])) through_gap = true;
    }
  }
  if (box > rules.reach * h) return std::nullopt;
  if (box <= 0.0) at = at_middle;

  // Length of curve on either side of the nearest place.
  const auto length_to_end = [&](bool forward) {
    double length = 0.0;
    const auto start = static_cast<std::ptrdiff_t>(forward ? std::ceil(at) : std::floor(at));
    for (std::ptrdiff_t i = start; forward ? i + 1 < static_cast<std::ptrdiff_t>(n) : i > 0; forward ? ++i : --i) {
      const ImagePoint& p = curve.points[static_cast<std::size_t>(i)];
      const ImagePoint& q = curve.points[static_cast<std::size_t>(forward ? i + 1 : i - 1)];
      length += std::hypot(q.x - p.x, q.y - p.y);
      if (length > 4.0 * h + 2.0 * half_w) break;
    }
    return length;
  };
  const double to_end = curve.closed ? 1e18 : std::min(length_to_end(true), length_to_end(false));

  PlacedCandidate out;
  out.candidate.curve = index;
  if (box <= 0.1 * h && to_end > 0.6 * h) {
    out.candidate.place = LabelPlace::kOnLine;
    // A label on its line is centered on it; a line that clips a corner belongs to somebody else.
    out.candidate.distance_px = std::max(0.0, middle - 0.3 * h);
    out.cost = out.candidate.distance_px + (through_gap ? 0.0 : 0.5 * h);
    // Of a drawing it is known whether the line was left out for the label or merely runs through it.
    if (curve.exact) out.candidate.distance_px = out.cost;
  } else if (!curve.closed && to_end <= 1.2 * h) {
    out.candidate.place = LabelPlace::kAtEnd;
    out.candidate.distance_px = box;
    out.cost = box + 0.2 * h;
  } else {
    out.candidate.place = LabelPlace::kBeside;
    out.candidate.distance_px = box;
    out.cost = box + 0.9 * h;
  }
  // Print that is tilted runs along its curve.
  const double off_level = std::abs(std::remainder(label.angle_deg - rules.print_angle_deg, 180.0));
  if (off_level > 8.0 && out.candidate.place != LabelPlace::kAtEnd) {
    const double off_curve = std::abs(std::remainder(label.angle_deg - std::atan2(way.y, way.x) / kDegree, 180.0));
    out.cost += h * std::min(2.0, std::max(0.0, off_curve - 6.0) / 12.0);
  }
  const double color = cv::norm(label.lab - curve.lab);
  out.cost += 0.8 * h * std::clamp((color - 15.0) / 25.0, 0.0, 1.0);
  return out;
}

}  // namespace islebook
