#pragma once
// Glyphs: the blobs of ink that may be a letter, a digit, a part of one, or a few that run together.

#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

#include "digitizer/print/ink_tree.h"

namespace islebook {

enum class GlyphShape {
  kLetter,  // strokes that turn or branch: most digits and letters
  kStroke,  // one stroke: 1, l, I, a hyphen; or a dash, a tick, a bit of a curve
  kDot,     // small: a point, a comma, the dot of an i; or dust
};

struct Glyph {
  int step = 0, blob = -1;   // in the ink tree; blob -1: `runs` holds it
  std::vector<InkRun> runs;  // filled only for blob -1
  cv::Rect box;
  std::vector<cv::Point2f> hull;
  cv::Point2f center;
  cv::Point2f axis{1.0F, 0.0F};  // unit direction of the longest side of the tightest box
  float length = 0.0F;           // longest extent
  float breadth = 0.0F;          // shortest extent
  float stroke = 0.0F;           // mean stroke width
  float turns = 0.0F;            // outline length over twice the longest extent: 1 for a plain bar, above 1.4 for most letters
  int area = 0, peak = 0;
  bool cut = false;  // cut out of a line that touches it
  GlyphShape shape = GlyphShape::kLetter;
};

struct GlyphLimits {
  float min_height = 5.0F;  // px, of a digit
  float max_height = 80.0F;
};

// The glyph-sized blobs: of every blob that is too large, the smaller ones inside it at higher thresholds; of a small one, the parts at half its own darkness where it falls into several letters.
std::vector<Glyph> CollectGlyphs(const InkTree& tree, const GlyphLimits& limits, const cv::Mat1b& paper);

// Measures a glyph from its runs. Sets all but step, blob and runs.
Glyph MeasureGlyph(const std::vector<InkRun>& runs, const InkBlob& blob, const GlyphLimits& limits);

// Extent of a hull along a unit direction.
struct Extent {
  float low = 0.0F, high = 0.0F;
  float Size() const { return high - low; }
};
Extent ExtentAlong(const std::vector<cv::Point2f>& hull, cv::Point2f direction);

}  // namespace islebook
