#pragma once
// Axes: the plot frames of a sheet, their grid and ticks, the numbers along them, and so the mapping from pixels to axis values with its uncertainty.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/plot_frame.h"
#include "digitizer/page/page.h"
#include "digitizer/print/print.h"
#include "digitizer/ridges/ridges.h"
#include "digitizer/sheet/stage_report.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct AxesOptions {
  double min_frame_part = 0.15;  // a frame side is at least this part of the picture's longer side
  Result<void> Check() const;
};

// One calibrated axis along a side of a frame. t is u for a horizontal and v for a vertical axis.
struct AxisFit {
  Axis axis;            // quantity, unit, scale, and the values at t = 0 and t = 1
  double offset = 0.0;  // value (log10 of it on a log axis) = offset + slope * t
  double slope = 1.0;
  double sigma_offset = 0.0;  // standard uncertainty of offset and slope and their covariance
  double sigma_slope = 0.0;
  double covariance = 0.0;
  int numbers_read = 0;  // numbers found along the axis, and how many of them agree with the fit
  int numbers_used = 0;
  int ticks_used = 0;          // ticks or grid lines that the fit was snapped to
  double residual = 0.0;       // rms of used numbers and ticks, as a fraction of the axis
  bool quantity_read = false;  // false: assumed
  bool unit_read = false;
  std::string title;  // as read
  double confidence = 0.0;
  std::vector<std::string> doubts;

  double ValueAt(double t) const;
  double SigmaAt(double t) const;  // in axis units, of the calibration alone
};

struct Panel {
  FrameMapping frame;
  std::optional<AxisFit> x, y;
  std::optional<AxisFit> right;        // a second vertical axis on the right (turbine efficiency)
  std::vector<double> grid_u, grid_v;  // places of grid lines: of constant u, of constant v
  double confidence = 0.0;
};

enum class PrintUse { kNone, kTickNumber, kAxisTitle, kSheetTitle, kNote, kLegend };

struct AxesFound {
  std::vector<Panel> panels;                                // largest first
  std::vector<bool> chain_is_furniture;                     // per ridge chain: frame, grid line, tick or page edge, not a curve
  std::vector<PrintUse> print_use;                          // per word
  std::optional<ReferenceConditions> reference_conditions;  // only if printed
  std::string title;
  StageReport report;
};

// Errors: kNoChart when no plot frame with readable numbers exists; the report's doubts say what was seen.
Result<AxesFound> FindAxes(const Page& page, const RidgesFound& ridges, const PrintFound& print, PrintReader& reader,
                           const AxesOptions& options = {});

}  // namespace islebook
