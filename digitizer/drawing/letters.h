#pragma once
// Letters whose meaning the drawing itself tells, and the reader that answers with them before it looks at pixels.

#include <memory>
#include <string>
#include <vector>

#include <opencv2/core/types.hpp>

#include "digitizer/print/print.h"

namespace islebook {

struct DrawnLetter {
  cv::Rect box;      // as it stands in its Word's glyphs
  std::string text;  // UTF-8; empty: not told
  int word = 0;      // letters of different words are read with a space between
  int order = 0;     // along the line of print
};

// Answers from the letters where all of a word's glyphs are told, and asks `reader` for the rest, showing it `print_page` alone.
// Before it trusts the letters it has `reader` read a few numbers: a page whose text says something else than its glyphs show is read from the picture.
std::unique_ptr<PrintReader> MakeExactReader(std::vector<DrawnLetter> letters, std::vector<Word> words, Page print_page, PrintReader& reader);

}  // namespace islebook
