#include "digitizer/working_sheet.h"

#include <algorithm>
#include <utility>
#include <variant>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/axes/plot_frame.h"

namespace islebook {
namespace {

constexpr int kSmallPx = 1150;  // on the longer side; measured: above it nothing is gained
constexpr double kEnlarge = 2.0;

// A place of the sheet in working pixels, and back. A clockwise quarter turn brings (x, y) to (height - 1 - y, x).
Point2 WorkingFromSheet(Point2 p, const WorkingSheet& work) {
  double width = work.sheet_width, height = work.sheet_height;
  for (int turn = 0; turn < work.quarter_turns; ++turn) {
    p = {height - 1.0 - p.y, p.x};
    std::swap(width, height);
  }
  return {(p.x + 0.5) * work.scale - 0.5, (p.y + 0.5) * work.scale - 0.5};
}

template <typename... F>
struct Overloaded : F... {
  using F::operator()...;
};

}  // namespace

Point2 SheetFromWorking(Point2 p, const WorkingSheet& work) {
  p = {(p.x + 0.5) / work.scale - 0.5, (p.y + 0.5) / work.scale - 0.5};
  const bool odd = work.quarter_turns % 2 != 0;
  double width = odd ? work.sheet_height : work.sheet_width, height = odd ? work.sheet_width : work.sheet_height;
  for (int turn = 0; turn < work.quarter_turns; ++turn) {
    p = {p.y, width - 1.0 - p.x};
    std::swap(width, height);
  }
  return p;
}

WorkingSheet PrepareWorkingSheet(std::shared_ptr<const Sheet> sheet, int quarter_turns) {
  WorkingSheet work;
  work.quarter_turns = ((quarter_turns % 4) + 4) % 4;
  work.sheet_width = sheet->pixels.cols;
  work.sheet_height = sheet->pixels.rows;
  const cv::Mat3b pixels = sheet->scan ? sheet->scan->pixels : sheet->pixels;
  const bool small = !pixels.empty() && std::max(pixels.rows, pixels.cols) <= kSmallPx;
  if (pixels.empty() || (!sheet->scan && !small && work.quarter_turns == 0)) {
    work.sheet = std::move(sheet);
    return work;
  }
  auto own = std::make_shared<Sheet>(*sheet);
  own->pixels = pixels;
  own->scan.reset();
  if (sheet->scan) work.scale = sheet->scan->scale;
  if (small) {
    work.scale *= kEnlarge;
    own->pixels = cv::Mat3b();
    cv::resize(pixels, own->pixels, {}, kEnlarge, kEnlarge, cv::INTER_CUBIC);
  }
  own->dpi *= work.scale;
  if (own->source) own->source->px_per_point *= work.scale;
  if (work.quarter_turns != 0) {
    static constexpr cv::RotateFlags kTurns[] = {cv::ROTATE_90_CLOCKWISE, cv::ROTATE_180, cv::ROTATE_90_COUNTERCLOCKWISE};
    cv::Mat3b turned;
    cv::rotate(own->pixels, turned, kTurns[work.quarter_turns - 1]);
    own->pixels = turned;
    if (own->source) own->source->quarter_turns = work.quarter_turns;
  }
  work.sheet = std::move(own);
  return work;
}

namespace {

template <typename Move>
Recipe Moved(Recipe recipe, const Move& move_point) {
  const auto move = [&](Point2& p) { p = move_point(p); };
  for (Correction& correction : recipe.corrections) {
    std::visit(
        Overloaded{[&](SetFrame& s) { std::ranges::for_each(s.corners, move); },
                   [&](SetAxis& s) {
                     if (s.panel) move(*s.panel);
                   },
                   [&](AddCurve& s) {
                     std::ranges::for_each(s.points, move);
                     for (CurveNear& gone : s.instead_of) move(gone.near);
                   },
                   [&](TraceCurve& s) {
                     std::ranges::for_each(s.through, move);
                     for (CurveNear& gone : s.instead_of) move(gone.near);
                   },
                   [&](JoinCurves& s) { move(s.curve.near), move(s.with.near); }, [&](CutCurve& s) { move(s.curve.near); },
                   [&](DeleteCurve& s) { move(s.curve.near); }, [&](RelabelCurve& s) { move(s.curve.near); }, [&](SetRole& s) { move(s.curve.near); },
                   [&](AcceptCurve& s) { move(s.curve.near); }, [](SetReference&) {}, [](SetTitle&) {}},
        correction.step);
  }
  return recipe;
}

}  // namespace

Recipe ToWorkingPixels(Recipe recipe, const WorkingSheet& work) {
  if (work.scale == 1.0 && work.quarter_turns == 0) return recipe;
  return Moved(std::move(recipe), [&](Point2 p) { return WorkingFromSheet(p, work); });
}

Recipe ToSheetPixels(Recipe recipe, const WorkingSheet& work) {
  if (work.scale == 1.0 && work.quarter_turns == 0) return recipe;
  return Moved(std::move(recipe), [&](Point2 p) { return SheetFromWorking(p, work); });
}

void ToSheetPixels(PerformanceMap& map, const WorkingSheet& work) {
  if (work.scale == 1.0 && work.quarter_turns == 0) return;
  for (Curve& curve : map.curves)
    for (Point2& p : curve.points_px) p = SheetFromWorking(p, work);
  if (!map.calibration) return;
  Calibration& calibration = *map.calibration;
  for (Point2& p : calibration.frame_px) p = SheetFromWorking(p, work);
  calibration.residual_px /= work.scale;
  std::vector<double>& parameters = calibration.parameters;
  if (parameters.size() != static_cast<std::size_t>(frame_parameter::kCount)) return;
  const Point2 center = SheetFromWorking({parameters[frame_parameter::kCenterX], parameters[frame_parameter::kCenterY]}, work);
  parameters[frame_parameter::kCenterX] = center.x;
  parameters[frame_parameter::kCenterY] = center.y;
  parameters[frame_parameter::kHalfDiagonal] /= work.scale;
  // The lens does not mind a turn about the center; the homography takes it up: a turn brings (x, y) to (-y, x).
  double* const h = &parameters[frame_parameter::kHomography];
  for (int turn = 0; turn < work.quarter_turns; ++turn) {
    for (const int row : {0, 3, 6}) {
      const double first = h[row];
      h[row] = h[row + 1];
      h[row + 1] = -first;
    }
  }
}

}  // namespace islebook
