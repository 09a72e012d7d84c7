#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "digitizer/axes/frame_fit.h"
#include "digitizer/recipe/corrections.h"

namespace islebook {
namespace {

constexpr double kSideReach = 0.012;   // a drawn side is looked for within this part of the side's length
constexpr double kSideCovered = 0.35;  // a side is followed if at least this part of it is drawn

constexpr double kEndsApart = 0.03;  // of the axis: ends set by hand that differ more from clearly printed numbers are a slip of one of them

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

ImagePoint ToImage(Point2 p) { return {p.x, p.y}; }

// The drawn points along one side: of chains that run with it, within reach.
std::vector<ImagePoint> PointsAlong(const RidgesFound& ridges, ImagePoint from, ImagePoint to) {
  const double length = Distance(from, to), reach = std::max(4.0, kSideReach * length);
  const double ex = (to.x - from.x) / length, ey = (to.y - from.y) / length;
  std::vector<ImagePoint> found;
  for (const RidgeChain& chain : ridges.chains) {
    if (chain.points.size() < 12) continue;
    for (std::size_t i = 5; i + 5 < chain.points.size(); ++i) {
      const ImagePoint p = chain.points[i], ahead = chain.points[i + 5], behind = chain.points[i - 5];
      const double across = (p.x - from.x) * -ey + (p.y - from.y) * ex, along = (p.x - from.x) * ex + (p.y - from.y) * ey;
      if (std::abs(across) > reach || along < 0.01 * length || along > 0.99 * length) continue;
      const double dx = ahead.x - behind.x, dy = ahead.y - behind.y;
      if (std::abs(dx * ex + dy * ey) > 0.995 * std::hypot(dx, dy)) found.push_back(p);
    }
  }
  return static_cast<double>(found.size()) >= kSideCovered * length ? found : std::vector<ImagePoint>{};
}

// Through the corners as given, then along the drawn sides near them.
FrameMapping FrameNear(const std::array<Point2, 4>& corners, const Page& page, const RidgesFound& ridges) {
  std::array<ImagePoint, 4> at{};
  std::transform(corners.begin(), corners.end(), at.begin(), ToImage);
  std::vector<FrameLine> lines;
  for (std::size_t side = 0; side < 4; ++side) {  // top, right, bottom, left
    FrameLine line;
    line.horizontal = side % 2 == 0;
    line.at = side == 0 || side == 1 ? 1.0 : 0.0;
    line.points = PointsAlong(ridges, at[side], at[(side + 1) % 4]);
    if (!line.points.empty()) lines.push_back(std::move(line));
  }
  if (lines.size() == 4) {
    FrameFitOptions options;
    options.picture_width = page.ink.cols;
    options.picture_height = page.ink.rows;
    const auto fit = FrameFitter::Fit(at, lines, {}, options);
    bool near = fit.has_value();
    for (std::size_t i = 0; near && i < 4; ++i)
      near = Distance(fit->mapping.Corners()[i], at[i]) < std::max(6.0, kSideReach * fit->mapping.WidthPx());
    if (near) return fit->mapping;
  }
  return FrameMapping::FromCorners(at);
}

bool Holds(const FrameMapping& frame, ImagePoint p, double margin) {
  const FramePoint at = frame.FrameFromImage(p);
  return at.u > -margin && at.u < 1.0 + margin && at.v > -margin && at.v < 1.0 + margin;
}

// The same values, along another frame.
void Carry(AxisFit& fit, const FrameMapping& from, const FrameMapping& to, bool horizontal) {
  auto old_t = [&](double t) {
    const FramePoint at = from.FrameFromImage(to.ImageFromFrame(horizontal ? FramePoint{t, 0.5} : FramePoint{0.5, t}));
    return horizontal ? at.u : at.v;
  };
  const double t0 = old_t(0.0), t1 = old_t(1.0);
  fit.offset += fit.slope * t0;
  fit.slope *= t1 - t0;
  fit.axis.min = fit.ValueAt(0.0);
  fit.axis.max = fit.ValueAt(1.0);
}

std::size_t PanelFor(const AxesFound& axes, ImagePoint p) {
  for (std::size_t i = 0; i < axes.panels.size(); ++i)
    if (Holds(axes.panels[i].frame, p, 0.0)) return i;
  return axes.panels.size();
}

void ApplyFrame(const SetFrame& step, const Page& page, const RidgesFound& ridges, AxesFound& axes) {
  Panel panel;
  std::array<ImagePoint, 4> at{};
  std::transform(step.corners.begin(), step.corners.end(), at.begin(), ToImage);
  panel.frame = step.exact ? FrameMapping::FromCorners(at) : FrameNear(step.corners, page, ridges);
  panel.confidence = 1.0;
  const std::size_t index = PanelFor(axes, panel.frame.ImageFromFrame({0.5, 0.5}));
  if (index == axes.panels.size()) {
    axes.panels.push_back(std::move(panel));
  } else {
    Panel& old = axes.panels[index];
    panel.x = old.x, panel.y = old.y, panel.right = old.right;
    if (panel.x) Carry(*panel.x, old.frame, panel.frame, true);
    if (panel.y) Carry(*panel.y, old.frame, panel.frame, false);
    if (panel.right) Carry(*panel.right, old.frame, panel.frame, false);
    old = std::move(panel);
  }
  // What runs along the new sides is frame, not curve.
  const FrameMapping& frame = axes.panels[index].frame;
  axes.chain_is_furniture.resize(ridges.chains.size(), false);
  const double reach_u = 3.0 / std::max(1.0, frame.WidthPx()), reach_v = 3.0 / std::max(1.0, frame.HeightPx());
  for (std::size_t i = 0; i < ridges.chains.size(); ++i) {
    std::size_t on_side = 0;
    for (const ImagePoint& p : ridges.chains[i].points) {
      const FramePoint f = frame.FrameFromImage(p);
      on_side += std::abs(f.u) < reach_u || std::abs(f.u - 1.0) < reach_u || std::abs(f.v) < reach_v || std::abs(f.v - 1.0) < reach_v ? 1 : 0;
    }
    if (2 * on_side > ridges.chains[i].points.size()) axes.chain_is_furniture[i] = true;
  }
}

// Doubts that a person's word on the unit or quantity settles.
void SettleMeaning(std::vector<std::string>& doubts) {
  std::erase_if(doubts, [](const std::string& doubt) {
    return doubt.find("unit") != std::string::npos || doubt.find("quantity") != std::string::npos || doubt.find("title") != std::string::npos;
  });
}

// Empty: done. Otherwise the reason why not.
std::string ApplyAxis(const SetAxis& step, AxesFound& axes) {
  if (axes.panels.empty()) return "there is no plot frame; set its corners first";
  std::size_t index = 0;
  if (step.panel) index = PanelFor(axes, ToImage(*step.panel));
  if (index == axes.panels.size()) return "there is no plot at the place given";
  Panel& panel = axes.panels[index];
  std::optional<AxisFit>& slot = step.axis == AxisSide::kX ? panel.x : step.axis == AxisSide::kY ? panel.y : panel.right;
  if (!slot && !(step.min && step.quantity && step.unit)) return "no such axis was found, so quantity, unit, min and max are all needed";
  AxisFit fit = slot.value_or(AxisFit{});
  if (step.quantity) fit.axis.quantity = *step.quantity, fit.quantity_read = true;
  if (step.unit) fit.axis.unit = *step.unit, fit.unit_read = true;
  if (step.quantity || step.unit) SettleMeaning(fit.doubts);
  const AxisScale scale = step.scale.value_or(fit.axis.scale);
  const double min = step.min.value_or(fit.axis.min), max = step.max.value_or(fit.axis.max);
  if (scale == AxisScale::kLog && !(min > 0.0 && max > 0.0)) return "a log axis needs ends above 0";
  std::string contradicted;
  if (step.min && slot && slot->doubts.empty() && !step.scale && (!step.unit || *step.unit == slot->axis.unit) &&
      std::max(std::abs(min - slot->axis.min), std::abs(max - slot->axis.max)) > kEndsApart * std::abs(slot->axis.max - slot->axis.min))
    contradicted =
        fmt::format("its ends were set by hand to {} and {}, but by the numbers printed along it they are {:.4g} and {:.4g}; one of the two is wrong",
                    min, max, slot->axis.min, slot->axis.max);
  if (step.min || scale != fit.axis.scale) {
    const double first = scale == AxisScale::kLog ? std::log10(min) : min, last = scale == AxisScale::kLog ? std::log10(max) : max;
    fit.offset = first;
    fit.slope = last - first;
    // A person's ends are exact; where the sides of the frame lie is known to a fraction of a pixel.
    const double side = step.axis == AxisSide::kX ? panel.frame.WidthPx() : panel.frame.HeightPx();
    fit.sigma_offset = std::abs(fit.slope) * 0.3 / std::max(1.0, side);
    fit.sigma_slope = fit.sigma_offset * std::sqrt(2.0);
    fit.covariance = -fit.sigma_offset * fit.sigma_offset;
    fit.axis.min = min;
    fit.axis.max = max;
    fit.axis.scale = scale;
    fit.doubts.clear();
    if (!contradicted.empty()) fit.doubts.push_back(contradicted);
  }
  fit.confidence = fit.doubts.empty() ? 1.0 : fit.confidence;
  slot = fit;
  return {};
}

}  // namespace

std::string LostCorrection(std::size_t index, const Correction& correction, const std::string& reason) {
  return fmt::format("correction {} ({}) does not apply: {}", index + 1, DescribeStep(correction.step), reason);
}

std::vector<FailedCorrection> ApplyAxesCorrections(const Recipe& recipe, const Page& page, const RidgesFound& ridges, AxesFound& axes) {
  std::vector<FailedCorrection> failed;
  // Frames first: the axes stand on them.
  for (const Correction& correction : recipe.corrections)
    if (const auto* frame = std::get_if<SetFrame>(&correction.step)) ApplyFrame(*frame, page, ridges, axes);
  for (std::size_t i = 0; i < recipe.corrections.size(); ++i) {
    const auto* axis = std::get_if<SetAxis>(&recipe.corrections[i].step);
    if (axis == nullptr) continue;
    if (std::string reason = ApplyAxis(*axis, axes); !reason.empty()) failed.push_back({i, std::move(reason)});
  }
  return failed;
}

}  // namespace islebook
