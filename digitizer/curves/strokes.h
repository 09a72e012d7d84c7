#pragma once
// Strokes: pieces of drawn lines inside one frame, free of print, markers, corners and other lines, ready to be joined. Internal to curves.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/markers.h"

namespace islebook {

struct Stroke {
  std::vector<ImagePoint> points;  // about 1 px apart
  std::vector<ImagePoint> head;    // points taken off before points.front(), in order toward it; given back where the end stays free
  std::vector<ImagePoint> tail;    // points taken off after points.back()
  bool closed = false;
  bool is_dash = false;
  double length_px = 0.0;
  double ink_mass = 0.0;
  double level = 0.0;  // ink on the center line, 0..255
  cv::Vec3f lab{};
};

// `print`: 255 on glyphs: short chains are cut there; a chain that reaches farther than a glyph is a line that print has run into. `not_lines`: 255 on markers and filled areas, which cut every chain.
std::vector<Stroke> CutStrokes(const Page& page, const RidgesFound& ridges, const std::vector<bool>& chain_is_furniture, const Panel& panel,
                               const cv::Mat1b& print, double digit_height_px, const cv::Mat1b& not_lines);

// Of the strokes of one color: where hardly any leave the direction of an axis, the color is that of grid and boxes, and those that do not are dropped.
void DropGridInk(const FrameMapping& frame, std::vector<Stroke>& strokes);

double PathLength(const std::vector<ImagePoint>& points);

}  // namespace islebook
