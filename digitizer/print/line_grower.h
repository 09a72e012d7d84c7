#pragma once
// Grows a base line from two glyphs, letter by letter to either side, as long as the next one fits.

#include <vector>

#include "digitizer/print/line_geometry.h"

namespace islebook {

struct GrownLine {
  std::vector<int> members;  // in order along the line
  double angle = 0.0;
  double score = 0.0;
};

class LineGrower {
 public:
  explicit LineGrower(const std::vector<Glyph>& glyphs);
  // Grows a line from two glyphs in direction `angle`. No members if the two do not fit.
  GrownLine Grow(int i, int j, double angle) const;

 protected:
  const Glyph& At(int i) const { return glyphs_[static_cast<std::size_t>(i)]; }
  bool Free(int i) const { return taken_[static_cast<std::size_t>(i)] == 0; }
  static bool AlikeInk(const Glyph& p, const Glyph& q);

  const std::vector<Glyph>& glyphs_;
  std::vector<char> taken_;  // 1 where the glyph belongs to a word already
  Nearby near_;

 private:
  bool DotBetween(int near_glyph, cv::Point2f d, double from, double to, double base, double h) const;
  bool PairFits(int i, int j, cv::Point2f d, const Placed& p, const Placed& q, double taller) const;
  void Extend(GrownLine& line) const;
};

}  // namespace islebook
