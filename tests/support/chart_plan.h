#pragma once
// One chart before it is drawn: the curves of an invented map in axis units, and its axes with their ticks.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tests/support/compressor_model.h"
#include "tests/support/sheet_style.h"
#include "tests/support/sheet_truth.h"
#include "tests/support/turbine_model.h"

namespace islebook::paint {

struct AxisPlan {
  Axis axis;
  std::vector<double> major, minor;
  int decimals = 0;
  std::string title;

  double Part(double value) const;  // 0 at min, 1 at max
};

struct ChartPlan {
  TrueMap truth;  // points_px, frame_px and printed labels are set by the painter
  AxisPlan x, y;
  std::optional<AxisPlan> efficiency;
  std::optional<AxisPlan> top;      // the flow in another unit
  std::vector<std::string> labels;  // as it would be printed, along truth.curves; empty: none
  // Filled bands: efficiency at (s, n) and its place in axis units.
  std::function<double(double, double)> efficiency_at;
  std::function<Point2(double, double)> place_at;
  double low_speed = 0.0, high_speed = 1.0;
  std::vector<double> levels;
  std::vector<std::vector<Point2>> marker_places;  // per speed line, axis units
};

ChartPlan PlanCompressor(const CompressorModel& model, const SheetStyle& style, Random& random);
ChartPlan PlanTurbine(const TurbineModel& model, const SheetStyle& style, Random& random);

}  // namespace islebook::paint
