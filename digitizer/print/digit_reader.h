#pragma once
// Reads printed numbers character by character: a small trained net over cut-out pieces of a word, and the cheapest way to cut the word up. At home with
// digits of six to ten pixels, with digits that run together and with fonts whose 1 has serifs, where a reader of whole lines slips.

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "digitizer/print/digit_net.h"
#include "digitizer/print/word_crop.h"

namespace islebook {

constexpr double kDigitReaderHeight = 24.0;  // px, of the digits in the crop

struct DigitReading {
  std::string text;         // digits, point, comma; per cent sign or k at the end; empty where nothing looks like a number
  double confidence = 0.0;  // 0..1, of its least sure character
  double cost = 1e9;        // as CostOf
  double clear = 0.0;       // 0..1, part of the word's ink that the characters explain
};

// One word, cut wherever it may be cut, and what each piece may be.
class DigitReader {
 public:
  explicit DigitReader(const WordCrop& crop);
  DigitReading Read() const;
  // How badly the ink goes with the text: minus the logarithm of a likelihood. Points and commas count alike. Very large where it cannot be.
  double CostOf(std::string_view text) const;
  // The same for many texts at once, which share the work for what they end with. A point may have been lost from them, at a cost.
  std::vector<float> CostsOf(std::span<const std::string> texts) const;

 private:
  struct Piece {
    int from = 0;  // cut on the left
    std::array<float, kNetAnswers> likelihood{};
  };
  float Between(std::size_t i, std::size_t j) const;  // ink between two cuts
  float Outside(std::size_t i, std::size_t j) const;  // cost of leaving it out

  std::vector<int> cuts_;
  std::vector<float> sum_;                  // running sum of ink over the columns
  std::vector<std::vector<Piece>> pieces_;  // per cut, those that end there
  int left_ = 0, right_ = 0;                // the word's own columns
};

}  // namespace islebook
