#pragma once
// What is printed along one side of a frame: the row of numbers and the title beyond it.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axis_title.h"
#include "digitizer/axes/frame_words.h"
#include "digitizer/axes/number_series.h"
#include "digitizer/print/print.h"

namespace islebook {

struct SideNumbers {
  std::vector<int> words;                // words read as numbers, one per entry of `numbers`
  std::vector<SeriesNumber> numbers;
  double near_px = 0.0, far_px = 0.0;    // band in which they stand, outward from the side
};

struct SideTitle {
  std::vector<int> words;
  std::string text;
  TitleMeaning meaning;
};

// Reads words once and remembers what they say: several questions are asked of the same word.
class WordReadings {
 public:
  WordReadings(const Page& page, const std::vector<Word>& words, PrintReader& reader) : page_(page), words_(words), reader_(reader), numbers_(words.size()) {}
  const Reading& Number(int word, double row_angle_deg, bool level);
  Reading Text(const std::vector<int>& words, double angle_deg);
  int calls() const { return calls_; }
  const std::vector<Word>& words() const { return words_; }

 private:
  const Page& page_;
  const std::vector<Word>& words_;
  PrintReader& reader_;
  std::vector<std::optional<Reading>> numbers_;
  int calls_ = 0;
};

struct SideReadingOptions {
  double width_px = 0.0, height_px = 0.0;  // of the frame
  double digit_height_px = 12.0;
};

// The nearest band of numbers outside the side; empty if there is none.
SideNumbers ReadSideNumbers(const std::vector<PlacedWord>& placed, Side side, WordReadings& readings, const SideReadingOptions& options);

// The title beyond `from_px`, in words not yet `used`.
SideTitle ReadSideTitle(const std::vector<PlacedWord>& placed, Side side, double from_px, const std::vector<bool>& used, WordReadings& readings, const SideReadingOptions& options);

// What the glyph boxes say about a number: where its point stands, which digits are raised.
NumberText InspectNumber(const Word& word, const Reading& reading, double angle_deg);

}  // namespace islebook
