#pragma once
// Glyphs that touch or are crossed by a drawn line: cut out of the line.

#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/print/glyphs.h"
#include "digitizer/print/ink_tree.h"

namespace islebook {

struct CutOptions {
  double digit_height = 12.0;  // px, of the print on this sheet
  double stroke = 2.0;         // px, of its strokes
  int step = 0;                // of the tree: where print shows its half-darkness outline
  GlyphLimits limits;
};

// Looks at the blobs of `options.step` that are too large for a glyph. `taken`: per blob of that step, 1 where it is print already.
// A pixel belongs to a line where the ink runs straight on for longer than any stroke of a letter and is thin across; where a letter's stroke
// crosses the line the ink is not thin, so the letter keeps its pixels. What is left in pieces of a letter's size is returned, with its runs; ring markers
// strung along lines are no letters.
std::vector<Glyph> CutGlyphs(const cv::Mat1b& ink, const InkTree& tree, const std::vector<char>& taken, cv::Rect extent, const cv::Mat1b& paper,
                             const CutOptions& options);

}  // namespace islebook
