#pragma once
// Print: where words and numbers stand on the page, at any tilt, and what they say.

#include <memory>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

#include "digitizer/page/page.h"
#include "digitizer/sheet/points.h"
#include "digitizer/sheet/stage_report.h"

namespace islebook {

struct PrintOptions {
  double min_glyph_px = 5.0;     // smallest height of a digit looked for
  double max_glyph_part = 0.06;  // largest glyph height as a part of the picture's shorter side
  Result<void> Check() const;
};

// A run of glyphs on one base line.
struct Word {
  ImagePoint center;
  double angle_deg =
      0.0;  // of the base line, 0 = left to right, positive turns clockwise on the picture (y down); 180 degrees is left open unless known
  double width_px = 0.0;         // along the base line
  double height_px = 0.0;        // across it; of digits and capitals
  std::vector<cv::Rect> glyphs;  // boxes in the picture, in reading order, dots included
  cv::Vec3f lab{};               // median color, CIE Lab (L 0..100)
  cv::Mat1b own;                 // only where lines touch or cross the word: 255 on its own ink and the pale rim around it
  cv::Point own_at;              // of the top left pixel of `own` in the picture
};

struct PrintFound {
  std::vector<Word> words;
  cv::Mat1b mask;                // 255 on and closely around glyphs: the curve tracer leaves them out
  double digit_height_px = 0.0;  // the commonest height
  StageReport report;
};

// `not_print`: ink that is known to be something else (dashes), may be empty.
Result<PrintFound> FindPrint(const Page& page, const cv::Mat1b& not_print, const PrintOptions& options = {});

// kNumbers: digits, point, comma, minus, per cent, k. kLabels: the same, and the numbers are those of curves: speeds, efficiencies, openings.
enum class Alphabet { kNumbers, kLabels, kText };

class NumberInk;  // number_ink.h

struct Reading {
  std::string text;         // UTF-8, spaces kept, trimmed
  double confidence = 0.0;  // 0..1
};

// The reader holds one Tesseract engine; one object per thread.
class PrintReader {
 public:
  // Errors: kNoReader where the language data are missing.
  static Result<std::unique_ptr<PrintReader>> Open();
  virtual ~PrintReader() = default;
  // Reads the print inside the word's box, turned upright by `angle_deg` (default the word's own).
  virtual Reading Read(const Page& page, const Word& word, Alphabet alphabet) = 0;
  virtual Reading Read(const Page& page, const Word& word, Alphabet alphabet, double angle_deg) = 0;
  // The word's ink, to be asked about numbers, looked at along its own base line and `level_deg`; null where the reader knows the letters themselves.
  virtual std::shared_ptr<const NumberInk> Look(const Page& page, const Word& word, double level_deg);
};

// Words of one base line as one (a title of several words).
Word JoinWords(const std::vector<Word>& words);

// Words (by index) that stand on one base line with gaps of at most `gap` digit heights, in reading order; every word is in one line, if only by itself.
std::vector<std::vector<std::size_t>> GroupIntoLines(const std::vector<Word>& words, double gap);

}  // namespace islebook
