#pragma once
// Glyphs into words: runs of glyphs of like height that stand on one base line, whatever its tilt.

#include <vector>

#include "digitizer/print/glyphs.h"

namespace islebook {

// Glyphs on one base line. All lengths are along (a) and across (b, positive below the line) the direction of `angle_deg`, measured from the picture's origin.
struct GlyphLine {
  std::vector<int> glyphs;  // letters and strokes along the line
  std::vector<int> small;   // dots, commas, accents, raised figures attached to them
  double angle_deg = 0.0;
  double start = 0.0, end = 0.0;
  double top = 0.0, base = 0.0;  // of digits and capitals
  double height() const { return base - top; }
};

struct WordLinesFound {
  std::vector<GlyphLine> lines;
  double print_angle_deg = 0.0;  // the commonest direction of print, in (-45, 45] about `upright_deg`
  double digit_height = 0.0;     // the commonest height
};

// `upright_deg`: the direction in which most print is expected to run (0 for an upright sheet).
// `before`: what an earlier pass over fewer glyphs found, whose height and direction are then known from the start.
WordLinesFound GroupGlyphs(const std::vector<Glyph>& glyphs, double upright_deg, const WordLinesFound* before = nullptr);

// The same direction of a line, 180 degrees apart, brought into (upright - 105, upright + 75]: print that runs up the sheet is commoner than print that runs down.
double ReadingAngle(double angle_deg, double upright_deg);

}  // namespace islebook
