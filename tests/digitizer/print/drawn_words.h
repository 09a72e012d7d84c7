#pragma once
// Words drawn at known places and tilts, as a page for the print stage.

#include <string>
#include <vector>

#include <QImage>

#include "digitizer/print/print.h"

namespace islebook {

struct DrawnWord {
  std::string text;
  ImagePoint center;
  double angle_deg = 0.0;
  double digit_height_px = 0.0;
};

class WordSheet {
 public:
  WordSheet(int width, int height);

  // The word's digits are `digit_height` px high and centered at (x, y); `pad` clears the ground behind it first, as charts do.
  void Write(const std::string& text, double x, double y, double angle_deg, double digit_height, bool pad = false, const char* color = "#000000",
             const char* font = "DejaVu Sans");
  void Line(const std::vector<ImagePoint>& points, double width, const char* color = "#000000", bool dashed = false);
  void Ring(double x, double y, double radius, double width);

  const std::vector<DrawnWord>& words() const { return words_; }
  // With the blur of a lens (px), noise (gray levels) and what a page would say of itself.
  Page ToPage(double blur = 0.0, double noise = 0.0, unsigned seed = 1) const;

 private:
  QImage image_;
  std::vector<DrawnWord> words_;
};

// Of the found words the one nearest to the drawn word's center, within half its height; null if there is none.
const Word* Nearest(const PrintFound& found, const DrawnWord& drawn);

}  // namespace islebook
