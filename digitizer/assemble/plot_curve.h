#pragma once
// A traced curve seen in its frame: what its shape says about what it is. Internal to assemble.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/curves.h"

namespace islebook {

struct PlotPoint {
  double x = 0.0;  // to the right, in units of the frame's height, so that angles are those on paper
  double y = 0.0;  // upward, 0..1
};

struct PlotCurve {
  std::vector<PlotPoint> points;  // open curves run left to right (by their ends)
  bool closed = false;
  double aspect = 1.0;  // of the frame: x / aspect runs from 0 to 1
  bool turned = false;  // points run against the trace
  double length = 0.0;
  double min_x = 0, max_x = 0, min_y = 0, max_y = 0;
  double back_x = 0.0;              // how much of it runs to the left while it should run right
  double up_y = 0.0, down_y = 0.0;  // total rise and fall, left to right
  double turn = 0.0;                // total signed turn in rad, positive counterclockwise
  double straight = 0.0;            // largest distance from the chord over the chord's length

  PlotPoint Left() const { return points.front(); }
  PlotPoint Right() const { return points.back(); }
};

PlotCurve SeeInFrame(const TracedCurve& curve, const FrameMapping& frame);

// Smallest distance from p to the curve; `at` gets the index of the nearest point.
double DistanceTo(const PlotCurve& curve, PlotPoint p, std::size_t* at = nullptr);

// Where two curves cross: fractional indices along a and b, in order along a.
struct Crossing {
  double along_a = 0.0, along_b = 0.0;
};
std::vector<Crossing> FindCrossings(const PlotCurve& a, const PlotCurve& b);

}  // namespace islebook
