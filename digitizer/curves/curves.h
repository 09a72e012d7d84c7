#pragma once
// Curves: the drawn lines inside a plot frame, each from end to end, joined across crossings, dashes, labels and markers.

#include <cstdint>
#include <vector>

#include "digitizer/axes/axes.h"

namespace islebook {

struct CurveOptions {
  double point_spacing_px = 3.0;
  double hand_px = 3.0;  // how unsteadily a person points, one standard deviation
  Result<void> Check() const;
};

struct TracedCurve {
  std::vector<ImagePoint> points;       // in order; not repeated at the end when closed
  std::vector<float> sigma_px;          // standard uncertainty across the line at each point
  std::vector<std::uint8_t> bridged;    // 1 where no ink was seen (under a label, between dashes, at a crossing)
  double end_sigma_px[2] = {0.0, 0.0};  // standard uncertainty of where it ends, along it: at the front, at the back
  bool closed = false;
  double ink_mass = 0.0;  // as RidgeChain
  cv::Vec3f lab{};
  bool dashed = false;
  bool exact = false;  // a drawing's own path: whole, and ending where it was drawn to end
  double confidence = 1.0;
  std::vector<std::string> doubts;
};

struct CurvesFound {
  std::vector<TracedCurve> curves;
  std::vector<ImagePoint> markers;  // centers of ring or disc markers printed on curves
  StageReport report;
};

Result<CurvesFound> TraceCurves(const Page& page, const RidgesFound& ridges, const PrintFound& print, const AxesFound& axes, std::size_t panel,
                                const CurveOptions& options = {});

// A person's curve: follows the ink through two or more given points (each within about three times `hand_px` of the line), past print and grid lines.
Result<TracedCurve> TraceThrough(const Page& page, const PrintFound& print, const AxesFound& axes, const std::vector<ImagePoint>& through,
                                 bool closed, const CurveOptions& options = {});

}  // namespace islebook
