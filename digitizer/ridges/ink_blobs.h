#pragma once
// Ink blobs: pieces of connected ink, told apart by their shape: a bar of a dashed line, a glyph, or part of the drawing's lines. Internal to ridges.

#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/sheet/points.h"

namespace islebook {

enum class BlobShape { kNone, kBar, kGlyph, kLine };  // kGlyph: small and not thin; kLine: longer than glyphs are

class InkBlobs {
 public:
  // Ink above `level` inside `where`; bars are about `bar_length_px` long and `bar_width_px` wide.
  InkBlobs(const cv::Mat1b& ink, cv::Rect where, double level, double bar_length_px, double bar_width_px);
  // The shape of the blob that holds most of the points.
  BlobShape ShapeAt(const std::vector<ImagePoint>& points) const;
  // Whether a glyph stands within `reach_px` of a blob that most of the points lie on.
  bool StandsByGlyph(const std::vector<ImagePoint>& points, double reach_px) const;

 private:
  int BlobAt(const std::vector<ImagePoint>& points) const;
  cv::Rect where_;
  cv::Mat1i labels_;
  std::vector<BlobShape> shapes_;
  std::vector<cv::Rect> boxes_;
};

}  // namespace islebook
