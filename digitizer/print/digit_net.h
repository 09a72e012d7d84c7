#pragma once
// The net behind digit_reader.h: 17 x 16 pixels of ink to the logarithm of the likelihood of each character. Weights were trained on drawn and worn
// numbers in some ninety fonts (tests/digitizer/print/train_digits.py writes digit_weights.cc).

#include <array>
#include <cstddef>
#include <span>

namespace islebook {

constexpr std::size_t kNetRows = 17, kNetColumns = 16, kNetInputs = kNetRows * kNetColumns;
constexpr char kNetCharacters[] = "0123456789.,%k";         // in the order of the net's answers; the last answer means none of these
constexpr std::size_t kNetAnswers = sizeof kNetCharacters;  // one more than there are characters

// `ink`: kNetInputs values, 0 (paper) to 1, row by row.
std::array<float, kNetAnswers> JudgeCharacter(std::span<const float> ink);

// The trained numbers: a layer's weights as one printable sign each, row by row of its inputs, and per output the step of a sign and the bias.
struct NetLayer {
  std::size_t inputs, outputs;
  const char* signs;
  const float* step;
  const float* bias;
};
std::span<const NetLayer> DigitLayers();

}  // namespace islebook
