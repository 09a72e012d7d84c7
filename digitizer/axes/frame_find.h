#pragma once
// Which rectangles of long lines are plot frames. Nested rectangles (sheet border, page edge, grid cells, legend box) are told apart by how far
// their sides are drawn, how they support each other, and by the rows of numbers beside them.

#include <array>
#include <vector>

#include "digitizer/axes/long_lines.h"
#include "digitizer/axes/plot_frame.h"
#include "digitizer/print/print.h"

namespace islebook {

// Sides in this order everywhere.
enum Side { kTop = 0, kRight = 1, kBottom = 2, kLeft = 3 };

struct FrameCandidate {
  std::array<ImagePoint, 4> corners{};       // top left, top right, bottom right, bottom left
  std::array<int, 4> lines{-1, -1, -1, -1};  // per side, index into LongLines::lines; -1: not drawn
  std::array<double, 4> coverage{};          // part of each side that is drawn
  std::array<int, 4> numbers{};              // words that stand in a row along each side, outside
  bool split = false;                        // two plots with their sides in one line, and the space between them
  bool part = false;                         // one of those plots
  double area = 0.0;                         // px^2
  double score = 0.0;
};

struct FrameFindOptions {
  double min_side_px = 100.0;
  double digit_height_px = 12.0;
};

struct FramesFound {
  std::vector<FrameCandidate> frames;  // plots, best first; none overlaps another
  std::vector<FrameCandidate> boxes;   // closed rectangles inside a frame: legends, cartouches
};

FramesFound FindFrames(const LongLines& lines, const std::vector<Word>& words, const FrameFindOptions& options);

double QuadArea(const std::array<ImagePoint, 4>& corners);
bool InsideQuad(const std::array<ImagePoint, 4>& corners, ImagePoint p, double margin_px = 0.0);

}  // namespace islebook
