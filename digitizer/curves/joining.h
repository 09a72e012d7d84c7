#pragma once
// Joining: strokes become paths. Which end continues in which is one assignment over all ends of the plot, not a choice stroke by stroke. Internal to curves.

#include <vector>

#include "digitizer/curves/strokes.h"

namespace islebook {

struct PathPoint {
  ImagePoint at;
  bool bridged = false;  // no ink was seen here
};

struct Path {
  std::vector<PathPoint> points;
  std::vector<ImagePoint> head, tail;  // trimmed ends, as in Stroke
  bool closed = false;
  double inked_px = 0.0;  // length with ink
  double dash_px = 0.0;   // of it in dashes
  double longest_dash = 0.0;
  double ink_mass = 0.0;  // means weighted by length
  double level = 0.0;
  cv::Vec3f lab{};
  double worst_join = 0.0;  // cost of the dearest join in it
  bool Dashed() const { return dash_px > 0.5 * inked_px; }
};

struct JoinField {
  const Page* page = nullptr;
  cv::Mat1b cover;              // 255 where a line may run unseen: print and its pad, markers
  double frame_width_px = 0.0;  // sets the reach
};

std::vector<Path> JoinStrokes(const std::vector<Stroke>& strokes, const JoinField& field);

inline constexpr double kNoJoin = 1e9;
struct PathEnd {
  ImagePoint at;
  double out = 0.0;        // outward direction, rad
  double curvature = 0.0;  // rad per px, positive turns clockwise on the picture, walking outward
  double sigma_out = 0.05;
  double sigma_curvature = 0.01;
  double lag = 0.0;  // px behind the end where a short stroke's direction was really measured
};
// From at most `longest_px` of the path: from as much of it as tells the direction best.
PathEnd EndOfPath(const Path& path, bool front, double longest_px = 64.0);
// Squared misfit, in standard deviations, of the two ends as parts of one smooth curve; kNoJoin where they face away from each other.
double BendCost(const PathEnd& a, const PathEnd& b);
// A cubic from end to end, leaving and arriving in their directions; the larger `bulge`, the longer it keeps them.
std::vector<ImagePoint> Bridge(const PathEnd& a, const PathEnd& b, double bulge = 1.0);

}  // namespace islebook
