#include "digitizer/working_sheet.h"

#include <algorithm>
#include <utility>
#include <variant>

#include <opencv2/imgproc.hpp>

#include "digitizer/axes/plot_frame.h"

namespace islebook {
namespace {

constexpr int kSmallPx = 1150;  // on the longer side; measured: above it nothing is gained
constexpr double kEnlarge = 2.0;

Point2 Enlarged(Point2 p, double scale) { return {(p.x + 0.5) * scale - 0.5, (p.y + 0.5) * scale - 0.5}; }
Point2 Reduced(Point2 p, double scale) { return Enlarged(p, 1.0 / scale); }

template <typename... F>
struct Overloaded : F... {
  using F::operator()...;
};

}  // namespace

WorkingSheet PrepareWorkingSheet(std::shared_ptr<const Sheet> sheet) {
  if (sheet->pixels.empty() || std::max(sheet->pixels.rows, sheet->pixels.cols) > kSmallPx) return {std::move(sheet), 1.0};
  auto larger = std::make_shared<Sheet>(*sheet);
  larger->pixels = cv::Mat3b();
  cv::resize(sheet->pixels, larger->pixels, {}, kEnlarge, kEnlarge, cv::INTER_CUBIC);
  larger->dpi *= kEnlarge;
  if (larger->source) larger->source->px_per_point *= kEnlarge;
  return {std::move(larger), kEnlarge};
}

Recipe ToWorkingPixels(Recipe recipe, double scale) {
  if (scale == 1.0) return recipe;
  const auto move = [scale](Point2& p) { p = Enlarged(p, scale); };
  for (Correction& correction : recipe.corrections) {
    std::visit(
        Overloaded{[&](SetFrame& s) { std::ranges::for_each(s.corners, move); },
                   [&](SetAxis& s) {
                     if (s.panel) move(*s.panel);
                   },
                   [&](AddCurve& s) { std::ranges::for_each(s.points, move); }, [&](TraceCurve& s) { std::ranges::for_each(s.through, move); },
                   [&](JoinCurves& s) { move(s.curve.near), move(s.with.near); }, [&](CutCurve& s) { move(s.curve.near); },
                   [&](DeleteCurve& s) { move(s.curve.near); }, [&](RelabelCurve& s) { move(s.curve.near); }, [&](SetRole& s) { move(s.curve.near); },
                   [&](AcceptCurve& s) { move(s.curve.near); }, [](SetReference&) {}, [](SetTitle&) {}},
        correction.step);
  }
  return recipe;
}

void ToSheetPixels(PerformanceMap& map, double scale) {
  if (scale == 1.0) return;
  for (Curve& curve : map.curves)
    for (Point2& p : curve.points_px) p = Reduced(p, scale);
  if (!map.calibration) return;
  Calibration& calibration = *map.calibration;
  for (Point2& p : calibration.frame_px) p = Reduced(p, scale);
  calibration.residual_px /= scale;
  std::vector<double>& parameters = calibration.parameters;
  if (parameters.size() != static_cast<std::size_t>(frame_parameter::kCount)) return;
  const Point2 center = Reduced({parameters[frame_parameter::kCenterX], parameters[frame_parameter::kCenterY]}, scale);
  parameters[frame_parameter::kCenterX] = center.x;
  parameters[frame_parameter::kCenterY] = center.y;
  parameters[frame_parameter::kHalfDiagonal] /= scale;
}

}  // namespace islebook
