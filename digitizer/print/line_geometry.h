#pragma once
// Glyphs against a base line of any direction: extents along and across it, its best tilt, and which glyphs are near each other.

#include <algorithm>
#include <cmath>
#include <unordered_map>
#include <vector>

#include "digitizer/print/glyphs.h"

namespace islebook {

constexpr float kLetterGap = 0.46F;  // widest gap between letters of a word, in digit heights
constexpr float kDotGap = 0.80F;     // the same across a point or comma
constexpr float kMisfit = 0.17F;     // tops or bottoms off the line, in heights

cv::Point2f Direction(double angle_deg);
cv::Point2f Below(cv::Point2f d);
double Wrap180(double a);  // into (-90, 90]
double Median(std::vector<double> v);

// Places on the sheet, to find what is near.
class Nearby {
 public:
  Nearby(const std::vector<Glyph>& glyphs, float cell) : cell_(std::max(cell, 4.0F)) {
    for (std::size_t i = 0; i < glyphs.size(); ++i) {
      const cv::Rect& b = glyphs[i].box;
      for (int cy = Cell(static_cast<float>(b.y)); cy <= Cell(static_cast<float>(b.y + b.height)); ++cy)
        for (int cx = Cell(static_cast<float>(b.x)); cx <= Cell(static_cast<float>(b.x + b.width)); ++cx)
          cells_[Key(cx, cy)].push_back(static_cast<int>(i));
    }
  }
  // Glyphs whose boxes come within `reach` of the box; in order, each once.
  std::vector<int> Around(const cv::Rect& b, float reach) const {
    std::vector<int> out;
    for (int cy = Cell(static_cast<float>(b.y) - reach); cy <= Cell(static_cast<float>(b.y + b.height) + reach); ++cy)
      for (int cx = Cell(static_cast<float>(b.x) - reach); cx <= Cell(static_cast<float>(b.x + b.width) + reach); ++cx) {
        const auto at = cells_.find(Key(cx, cy));
        if (at != cells_.end()) out.insert(out.end(), at->second.begin(), at->second.end());
      }
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
  }

 private:
  int Cell(float v) const { return static_cast<int>(std::floor(v / cell_)); }
  static long long Key(int x, int y) { return (static_cast<long long>(y) << 32) ^ static_cast<unsigned>(x); }
  float cell_;
  std::unordered_map<long long, std::vector<int>> cells_;
};
// Extents of a glyph along a line and across it.
struct Placed {
  Extent a, b;
};
Placed Place(const Glyph& g, cv::Point2f d);

// How well the glyphs' tops and bottoms lie on two lines of direction `angle`; small is good. Only tall glyphs count for the tops.
double Misfit(const std::vector<Glyph>& glyphs, const std::vector<int>& members, double angle);
double RefineAngle(const std::vector<Glyph>& glyphs, const std::vector<int>& members, double angle, double range);
// Direction of the line that touches both hulls from below (or above), starting from direction d.
double TangentAngle(const Glyph& i, const Glyph& j, cv::Point2f d, bool below);

}  // namespace islebook
