#pragma once
// What is printed along one side of a frame: the row of numbers and the title beyond it.

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axis_title.h"
#include "digitizer/axes/frame_words.h"
#include "digitizer/axes/number_series.h"
#include "digitizer/print/print.h"

namespace islebook {

struct SideNumbers {
  std::vector<int> words;  // words that belong to the numbers
  std::vector<SeriesNumber> numbers;
  double near_px = 0.0, far_px = 0.0;  // band in which they stand, outward from the side
};

struct SideTitle {
  std::vector<int> words;
  std::string text;
  TitleMeaning meaning;
};

// Reads words once and remembers what they say: several questions are asked of the same word.
class WordReadings {
 public:
  WordReadings(const Page& page, const std::vector<Word>& words, PrintReader& reader) : page_(page), words_(words), reader_(reader) {}
  // `words`: the pieces of one number, in order; `turns`: quarter turns clockwise in which it runs against the frame's rows.
  const Reading& Number(const std::vector<int>& words, double row_angle_deg, int turns = 0);
  Reading Exponent(const Word& number, const std::vector<cv::Rect>& raised, double row_angle_deg);
  Word Joined(const std::vector<int>& words) const;
  const Page& page() const { return page_; }
  Reading Text(const std::vector<int>& words, double angle_deg);
  // The same with all ink in the line's box, letters that were not seen as such included.
  Reading WholeText(const std::vector<int>& words, double angle_deg);
  int calls() const { return calls_; }
  const std::vector<Word>& words() const { return words_; }

 private:
  const Page& page_;
  const std::vector<Word>& words_;
  PrintReader& reader_;
  std::map<std::pair<std::vector<int>, int>, Reading> numbers_;  // by words and quarter turns against the row
  int calls_ = 0;
};

struct SideReadingOptions {
  double width_px = 0.0, height_px = 0.0;  // of the frame
  double digit_height_px = 12.0;
  int number_turns = 0;  // quarter turns clockwise in which the numbers run: 0 level, -1 up the page, 1 down it
};

// The nearest band of numbers outside the side; empty if there is none.
SideNumbers ReadSideNumbers(const std::vector<PlacedWord>& placed, Side side, WordReadings& readings, const SideReadingOptions& options);

// The title beyond `from_px`, in words not yet `used`.
SideTitle ReadSideTitle(const std::vector<PlacedWord>& placed, Side side, double from_px, const std::vector<bool>& used, WordReadings& readings,
                        const SideReadingOptions& options);

// What glyph boxes and ink say about a number: where its point stands, which glyphs are raised.
struct NumberLook {
  NumberText number;
  std::vector<cv::Rect> raised;  // boxes of an exponent behind a "10"
};
NumberLook InspectNumber(const Page& page, const Word& word, const Reading& reading, double angle_deg);

}  // namespace islebook
