#pragma once
// Curves in the plot frame's own coordinates (0..1 each way, logarithmic axes made straight), where distances and crossings mean what the eye sees.

#include <optional>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook::frame_geometry {

// Axis values to frame coordinates: (0,0) lower left, (1,1) upper right.
class FrameScale {
 public:
  FrameScale(const Axis& x, const Axis& y) : x_(x), y_(y) {}
  Point2 ToFrame(const Point2& p) const { return {Part(x_, p.x), Part(y_, p.y)}; }
  Point2 FromFrame(const Point2& q) const { return {Value(x_, q.x), Value(y_, q.y)}; }
  std::vector<Point2> ToFrame(const std::vector<Point2>& points) const;

 private:
  static double Part(const Axis& axis, double value);
  static double Value(const Axis& axis, double part);
  Axis x_, y_;
};

// A place where two lines cross.
struct Crossing {
  Point2 at;
  double along_a = 0.0, along_b = 0.0;  // segment number plus part of it
};
// All crossings of two polylines, in the order along `a`. Lines that only touch at an end within `end_tolerance` of it do not count.
std::vector<Crossing> FindCrossings(const std::vector<Point2>& a, const std::vector<Point2>& b, double end_tolerance = 0.0);

double DistanceTo(const std::vector<Point2>& line, const Point2& point);  // to the polyline; infinite for an empty one
double LengthOf(const std::vector<Point2>& line);
bool IsInside(const std::vector<Point2>& ring, const Point2& point);  // ring not repeated at its end

// y of the line at x, where it first comes there; nullopt beyond its ends.
std::optional<double> HeightAt(const std::vector<Point2>& line, double x);

// The sharpest bend of a line, as the turn between the chords of `reach` before and after a place; 0 for a line shorter than five reaches or longer than
// ten thousand (one that left the chart long ago).
struct Bend {
  double degrees = 0.0;
  Point2 at;
};
Bend SharpestBend(const std::vector<Point2>& line, double reach);

// The ring with its first point again at the end.
std::vector<Point2> Closed(std::vector<Point2> ring);

}  // namespace islebook::frame_geometry
