#include "digitizer/proof/proof.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>
#include <opencv2/imgproc.hpp>

#include "digitizer/axes/plot_frame.h"
#include "digitizer/proof/pen.h"
#include "digitizer/proof/png_writer.h"
#include "mapstore/map/curve_words.h"

namespace islebook {
namespace {

std::string RoleWords(CurveRole role) {
  std::string words = CurveRoleName(role);
  std::replace(words.begin(), words.end(), '_', ' ');
  return role == CurveRole::kOther ? "other curve" : words;
}

std::vector<ImagePoint> PathOf(const Curve& curve) {
  std::vector<ImagePoint> path;
  for (const Point2& p : curve.points_px) path.push_back({p.x, p.y});
  return path;
}

// Short strokes on the left of a curve that runs upward: the forbidden side.
void Hatch(Pen& pen, const std::vector<ImagePoint>& path, const cv::Scalar& color) {
  const double spacing = 11.0 * pen.unit_px(), length = 9.0 * pen.unit_px();
  double since = spacing;
  const bool upward = path.back().y < path.front().y;
  for (std::size_t i = 1; i < path.size(); ++i) {
    const double dx = path[i].x - path[i - 1].x, dy = path[i].y - path[i - 1].y, step = std::hypot(dx, dy);
    since += step;
    if (since < spacing || step <= 0.0) continue;
    since = 0.0;
    const double side = upward ? 1.0 : -1.0, tx = dx / step * side, ty = dy / step * side;  // upward along the curve
    // Left of the way up, and a little back: 45 degrees to the curve.
    const double hx = (ty - tx) * 0.7071, hy = (-tx - ty) * 0.7071;
    pen.Line({path[i], {path[i].x + hx * length, path[i].y + hy * length}}, color, 1.0);
  }
}

void DrawCurve(Pen& pen, const Curve& curve) {
  const std::vector<ImagePoint> path = PathOf(curve);
  if (path.size() < 2) return;
  switch (curve.role) {
    case CurveRole::kSpeedLine:
    case CurveRole::kFlowLine: pen.Line(path, look::kInk, 2.0, Stroke::kSolid, curve.closed); break;
    case CurveRole::kSurgeLine:
      Hatch(pen, path, look::kOxide);
      pen.Line(path, look::kOxide, 3.4, Stroke::kSolid, curve.closed);
      break;
    case CurveRole::kChokeLine: pen.Line(path, look::kInk, 2.4, Stroke::kDotted, curve.closed); break;
    case CurveRole::kEfficiencyIsland:
    case CurveRole::kEfficiencyLine: pen.Line(path, look::kSea, 2.0, Stroke::kSolid, curve.closed); break;
    case CurveRole::kOther: pen.Line(path, look::kFaint, 2.0, Stroke::kDashDot, curve.closed); break;
  }
}

std::string ValueText(const Curve& curve) {
  if (!curve.value) return {};
  const std::string number = NumberInWords(*curve.value);
  return curve.unit == "1" || curve.unit.empty() ? number : number + " " + curve.unit;
}

// How much ink of the sheet itself stands in a box of the canvas, 0..1: counted before anything is drawn over it.
class SheetInk {
 public:
  explicit SheetInk(const cv::Mat3b& canvas) {
    cv::Mat1b gray, paper;
    cv::cvtColor(canvas, gray, cv::COLOR_BGR2GRAY);
    cv::resize(gray, paper, {std::max(1, gray.cols / 16), std::max(1, gray.rows / 16)}, 0, 0, cv::INTER_AREA);
    cv::medianBlur(paper, paper, 5);
    cv::resize(paper, paper, gray.size(), 0, 0, cv::INTER_LINEAR);
    cv::Mat1b ink = (paper - gray) > 14;
    cv::integral(ink, sum_, CV_64F);
  }
  double In(const cv::Rect& box) const {
    const cv::Rect seen = box & cv::Rect(0, 0, sum_.cols - 1, sum_.rows - 1);
    if (seen.empty() || seen.area() < box.area()) return 1.0;  // beyond the sheet
    const double sum = sum_(seen.br().y, seen.br().x) - sum_(seen.y, seen.br().x) - sum_(seen.br().y, seen.x) + sum_(seen.y, seen.x);
    return sum / (255.0 * seen.area());
  }

 private:
  cv::Mat1d sum_;
};

// Writes the value where it hides nothing written before and as little as may be of the print: speed lines at their ends, islands along the way.
void WriteValue(Pen& pen, const SheetInk& ink, const Curve& curve, const std::vector<ImagePoint>& path, std::vector<cv::Rect>& taken) {
  const std::string text = ValueText(curve);
  if (text.empty()) return;
  const bool island = curve.role == CurveRole::kEfficiencyIsland || curve.role == CurveRole::kEfficiencyLine;
  const std::size_t n = path.size();
  std::vector<std::size_t> places;
  if (island) {
    for (const double part : {0.5, 0.62, 0.38, 0.74, 0.26, 0.86, 0.14, 0.0})
      places.push_back(static_cast<std::size_t>(part * static_cast<double>(n - 1)));
  } else {
    for (const double part : {1.0, 0.9, 0.8, 0.0, 0.5, 0.65}) places.push_back(static_cast<std::size_t>(part * static_cast<double>(n - 1)));
  }
  const cv::Scalar color = island ? look::kSea : look::kInk;
  const cv::Rect size = pen.TextBox(path[0], text, 0.8);
  const double half_width = 0.5 * size.width * pen.px_per_canvas_px() + 4.0 * pen.unit_px(),
               half_height = 0.5 * size.height * pen.px_per_canvas_px() + 4.0 * pen.unit_px();
  std::optional<ImagePoint> best;
  double least = 1e9, order = 0.0;
  const auto consider = [&](ImagePoint at) {
    const cv::Rect box = pen.TextBox(at, text, 0.8);
    order += 0.012;  // the usual places first
    if (std::ranges::any_of(taken, [&](const cv::Rect& other) { return !(other & box).empty(); })) return;
    if (const double cost = ink.In(box) + order; cost < least) {
      least = cost;
      best = at;
    }
  };
  for (const std::size_t place : places) {
    const ImagePoint at = path[place];
    if (!island && place == n - 1) {
      consider({at.x, at.y + half_height});
      consider({at.x + half_width, at.y});
      consider({at.x + half_width, at.y + half_height});
      consider({at.x - half_width, at.y + half_height});
    } else if (!island && place == 0) {
      consider({at.x - half_width, at.y});
      consider({at.x, at.y - half_height});
    } else {
      consider(at);
    }
  }
  if (best) taken.push_back(pen.Text(*best, text, color, 0.8));
}

// The frame's four sides as the mapping bends them, through its corners.
std::vector<ImagePoint> FrameAsMapped(const Calibration& calibration) {
  std::vector<ImagePoint> frame;
  if (calibration.parameters.size() != static_cast<std::size_t>(frame_parameter::kCount)) {
    for (const Point2& p : calibration.frame_px) frame.push_back({p.x, p.y});
    return frame;
  }
  const FrameMapping mapping = FrameMapping::FromParameters(calibration.parameters);
  constexpr int kSteps = 40;  // a side
  const FramePoint corners[] = {{0, 1}, {1, 1}, {1, 0}, {0, 0}};
  for (int side = 0; side < 4; ++side)
    for (int k = 0; k < kSteps; ++k) {
      const FramePoint a = corners[side], b = corners[(side + 1) % 4];
      const double part = static_cast<double>(k) / kSteps;
      frame.push_back(mapping.ImageFromFrame({a.u + part * (b.u - a.u), a.v + part * (b.v - a.v)}));
    }
  return frame;
}

// A sheet's doubt that lists the curves of doubtful shape, each of which has a line of its own.
std::string WithoutCurves(const std::string& doubt) {
  return doubt.starts_with(kPiecesDoubt) ? fmt::format("{}; the lines of its curves say where", kPiecesDoubt) : doubt;
}

std::string AxisWords(const char* name, const Axis& axis) {
  std::string quantity = QuantityName(axis.quantity);
  std::replace(quantity.begin(), quantity.end(), '_', ' ');
  return fmt::format("{}: {}, {:g} to {:g}{}{}", name, quantity, axis.min, axis.max, axis.unit == "1" ? "" : " " + axis.unit,
                     axis.scale == AxisScale::kLog ? ", log" : "");
}

}  // namespace

std::string NameOfCurve(const Curve& curve) {
  const std::string value = ValueText(curve);
  return value.empty() ? RoleWords(curve.role) : RoleWords(curve.role) + " " + value;
}

std::vector<NumberedDoubt> ListDoubts(const PerformanceMap& map) {
  std::vector<NumberedDoubt> doubts;
  int number = 0;
  for (const std::string& text : map.needs_review) doubts.push_back({++number, std::nullopt, text});
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    if (!map.curves[i].needs_review) continue;
    doubts.push_back({++number, i, NameOfCurve(map.curves[i]) + ": " + JoinReasons(map.curves[i].reasons)});
  }
  return doubts;
}

std::vector<DoubtLine> DoubtLines(const PerformanceMap& map) {
  constexpr std::size_t kShared = 3;  // curves with the same reason, from which on it is said once for all
  const std::vector<NumberedDoubt> doubts = ListDoubts(map);
  std::vector<std::pair<std::string, std::vector<int>>> reasons;  // and the numbers of those that have it
  for (const NumberedDoubt& doubt : doubts) {
    if (!doubt.curve) continue;
    for (const std::string& reason : map.curves[*doubt.curve].reasons) {
      auto known = std::ranges::find(reasons, reason, &std::pair<std::string, std::vector<int>>::first);
      if (known == reasons.end()) known = reasons.insert(reasons.end(), {reason, {}});
      if (known->second.empty() || known->second.back() != doubt.number) known->second.push_back(doubt.number);
    }
  }
  std::erase_if(reasons, [kShared](const auto& reason) { return reason.second.size() < kShared; });
  std::vector<DoubtLine> lines;
  for (const NumberedDoubt& doubt : doubts) {
    if (!doubt.curve) {
      lines.push_back({std::to_string(doubt.number), WithoutCurves(doubt.text), {doubt.number}});
      continue;
    }
    std::vector<std::string> own;
    for (const std::string& reason : map.curves[*doubt.curve].reasons)
      if (std::ranges::find(reasons, reason, &std::pair<std::string, std::vector<int>>::first) == reasons.end()) own.push_back(reason);
    if (!own.empty() || map.curves[*doubt.curve].reasons.empty())
      lines.push_back(
          {std::to_string(doubt.number), NameOfCurve(map.curves[*doubt.curve]) + (own.empty() ? "" : ": " + JoinReasons(own)), {doubt.number}});
  }
  for (const auto& [reason, numbers] : reasons) {
    std::string list;  // "3, 5-8"
    for (std::size_t i = 0; i < numbers.size();) {
      std::size_t last = i;
      while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
      list += (list.empty() ? "" : ", ") + std::to_string(numbers[i]);
      if (last > i) list += (last > i + 1 ? "-" : ", ") + std::to_string(numbers[last]);
      i = last + 1;
    }
    lines.push_back({std::move(list), fmt::format("{} curves: {}", numbers.size(), JoinReasons({reason})), numbers});
  }
  return lines;
}

FirstDoubts FirstDoubtLines(const PerformanceMap& map, std::size_t most) {
  FirstDoubts first{DoubtLines(map), 0, 0};
  if (first.lines.size() <= most + 1) return first;  // a single line is said sooner than counted
  first.lines_left = first.lines.size() - most;
  first.lines.resize(most);
  std::set<int> named;
  for (const DoubtLine& line : first.lines) named.insert(line.of.begin(), line.of.end());
  first.doubts_left = ListDoubts(map).size() - named.size();
  return first;
}

std::string SummaryOf(const PerformanceMap& map) {
  std::string summary = map.kind ? MapKindName(*map.kind) : "no map of a known kind";
  std::string counts;
  for (const CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine, CurveRole::kEfficiencyLine, CurveRole::kEfficiencyIsland,
                               CurveRole::kSurgeLine, CurveRole::kChokeLine, CurveRole::kOther}) {
    const auto count = std::ranges::count_if(map.curves, [role](const Curve& curve) { return curve.role == role; });
    if (count == 0) continue;
    counts += counts.empty() ? "" : ", ";
    counts += count == 1 ? "1 " + RoleWords(role) : fmt::format("{} {}s", count, RoleWords(role));
  }
  return summary + ": " + (counts.empty() ? "no curves" : counts) + (LacksReference(map) ? "; it states no reference conditions" : "");
}

cv::Mat3b DrawProof(const Sheet& sheet, const PerformanceMap& map) {
  Pen pen(sheet.pixels, 0.38);
  const SheetInk ink(pen.canvas());
  pen.PixelScales();
  if (map.calibration) {
    pen.Line(FrameAsMapped(*map.calibration), look::kOchre, 1.2, Stroke::kDashed, true);
    for (const Point2& corner : map.calibration->frame_px) pen.Dot({corner.x, corner.y}, look::kOchre, 3.5, false);
  }
  const std::vector<NumberedDoubt> doubts = ListDoubts(map);
  for (const NumberedDoubt& doubt : doubts)
    if (doubt.curve) pen.Line(PathOf(map.curves[*doubt.curve]), {0xA5, 0xB5, 0xE2}, 9.0, Stroke::kDashed, map.curves[*doubt.curve].closed);
  for (const Curve& curve : map.curves) DrawCurve(pen, curve);
  std::vector<cv::Rect> taken;
  for (const Curve& curve : map.curves)
    if (const std::vector<ImagePoint> path = PathOf(curve); path.size() >= 2) WriteValue(pen, ink, curve, path, taken);
  for (const NumberedDoubt& doubt : doubts) {
    if (!doubt.curve) continue;
    const std::vector<ImagePoint> path = PathOf(map.curves[*doubt.curve]);
    if (!path.empty()) pen.Flag(path[path.size() / 3], doubt.number);
  }
  std::vector<std::pair<std::string, cv::Scalar>> caption;
  caption.push_back({(map.title.empty() ? "" : map.title + "  -  ") + SummaryOf(map), look::kInk});
  std::string axes;
  if (map.x) axes += AxisWords("x", *map.x);
  if (map.y) axes += "   " + AxisWords("y", *map.y);
  if (map.efficiency) axes += "   " + AxisWords("efficiency", *map.efficiency);
  if (!axes.empty()) caption.push_back({axes, look::kInk});
  if (map.reference_conditions)
    caption.push_back(
        {fmt::format("corrected to {:g} K and {:g} Pa ({})", map.reference_conditions->temperature_K, map.reference_conditions->pressure_Pa,
                     map.reference_conditions->basis == ReferenceConditions::Basis::kPrinted ? "as printed" : "assumed"),
         look::kInk});
  if (doubts.empty()) caption.push_back({"nothing asks for a look", look::kSea});
  for (const DoubtLine& line : DoubtLines(map)) caption.push_back({fmt::format("{}  {}", line.numbers, line.text), look::kOxide});
  pen.Caption(caption);
  return pen.canvas();
}

std::vector<std::uint8_t> DrawProofPng(const Sheet& sheet, const PerformanceMap& map) { return EncodePng(DrawProof(sheet, map)); }

}  // namespace islebook
