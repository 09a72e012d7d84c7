#include "digitizer/print/number_ink.h"

#include <algorithm>
#include <cmath>

#include "digitizer/print/word_crop.h"

namespace islebook {

namespace {

constexpr double kBeyond = 1.3;  // digit heights looked at on either side of the word: digits that a line touches may have been left out of it

}  // namespace

NumberInk NumberInk::Look(const Page& page, const Word& word, std::span<const double> angles_deg) {
  NumberInk ink;
  CropOptions options;
  options.digit_height = kDigitReaderHeight;
  Word all = word;
  all.glyphs.clear();
  all.own.release();
  all.width_px += 2.0 * kBeyond * word.height_px;
  const auto look = [&](const WordCrop& crop) {
    ink.looks_.emplace_back(crop);
    const DigitReading reading = ink.looks_.back().Read();
    if (!reading.text.empty()) ink.least_ = std::min(ink.least_, reading.cost);
  };
  for (const double angle : angles_deg) {
    if (!word.glyphs.empty() || !word.own.empty()) look(CropWord(page, word, angle, options));
    WordCrop wide = CropWord(page, all, angle, options);
    const int beyond = static_cast<int>(kBeyond * kDigitReaderHeight);
    wide.left += beyond;
    wide.right -= beyond;
    if (wide.right > wide.left) look(wide);
  }
  return ink;
}

std::vector<float> NumberInk::CostsOf(std::span<const std::string> texts) const {
  std::vector<float> least(texts.size(), 1e9F);
  for (const DigitReader& look : looks_) {
    const std::vector<float> costs = look.CostsOf(texts);
    for (std::size_t i = 0; i < texts.size(); ++i) least[i] = std::min(least[i], costs[i]);
  }
  return least;
}

}  // namespace islebook
