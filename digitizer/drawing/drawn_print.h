#pragma once
// Print of a drawn page: words from its glyphs, and what each glyph says from the page's own text. Internal to drawing.

#include <string>
#include <vector>

#include "digitizer/drawing/drawn_page.h"
#include "digitizer/drawing/letters.h"
#include "digitizer/page/page.h"
#include "digitizer/print/print.h"

namespace islebook {

struct DrawnPrint {
  PrintFound print;
  std::vector<DrawnLetter> letters;
  Page print_page;  // the page with nothing but its print
};

// `small`: filled shapes that may be letters; they are grouped into words as the print stage does, on a picture that holds nothing else.
Result<DrawnPrint> FindDrawnPrint(const DrawnPage& drawn, const std::vector<PageWord>& words, const std::vector<const DrawnShape*>& small,
                                  const Page& page, const PrintOptions& options);

// What each symbol says, by the words whose boxes hold as many of its glyphs as they have letters; "" where the words do not tell or contradict each other.
std::vector<std::string> NameSymbols(const DrawnPage& drawn, const std::vector<PageWord>& words);

}  // namespace islebook
