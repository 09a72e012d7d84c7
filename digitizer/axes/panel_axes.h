#pragma once
// One frame's axes: numbers, titles and marks of its sides become calibrated axes with a quantity and a unit.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/axes/axis_title.h"
#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/side_reading.h"
#include "digitizer/axes/ticks.h"

namespace islebook {

// How likely an axis of this matter and unit runs from low to high: 0 likely .. -1 absurd.
double RangeLikelihood(AxisMatter matter, const std::string& unit, double low, double high);

// A calibrated axis before the chart's machine is known.
struct SideAxis {
  AxisFit fit;  // quantity not yet set
  SideTitle title;
  SideNumbers numbers;
  NumberSeries series;
  bool mirrored = false;  // repeats the opposite side
};

struct PanelReading {
  FrameMapping frame;
  FrameCandidate candidate;
  MarksFound marks;
  std::optional<SideAxis> x, y, right;
  SideTitle x_title, y_title, right_title;
};

// All marks that speak for one axis, merged: ticks of the side, grid lines, drawn sides.
std::vector<Mark> AxisMarks(const MarksFound& marks, Side side, const FrameCandidate& candidate, double length_px);

// Numbers and marks to an axis; nullopt where the numbers form no series.
std::optional<SideAxis> CalibrateSide(const SideNumbers& numbers, const SideTitle& title, const std::vector<Mark>& marks, double length_px);

// Quantities and units of all panels together: a turbine's panels share their x axis, a flow against a pressure ratio is a compressor's map.
// Fills `fit.axis.quantity`, `unit`, `quantity_read`, `unit_read`, doubts. Returns doubts about the chart as a whole (a chart of another kind).
std::vector<std::string> SettleQuantities(std::vector<PanelReading>* panels);

}  // namespace islebook
