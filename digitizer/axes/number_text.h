#pragma once
// What a printed number may mean once a reader of print has slipped: lost points, thousands separators, look-alike glyphs.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace islebook {

// One number as it was read beside an axis.
struct NumberText {
  std::string text;                        // UTF-8, as read
  double confidence = 1.0;                 // of the reading, 0..1
  std::optional<int> digits_before_point;  // from where the point's blob stands among the digits; nullopt: no blob seen
  bool point_looked_for = false;           // the blobs were looked at, so "no point" means something
  bool guessed = false;                    // a leading zero was put where a character could not be read
  int raised_digits = 0;                   // trailing digits that stand raised and small: an exponent, "10" and a raised "3"
};

struct NumberCandidate {
  double value = 0.0;
  double weight = 1.0;  // 1: literally what stands there; less for each slip it supposes
};

// Digits, point, comma, minus, space and exponent marks of `text` with look-alikes replaced ("O" by "0", "l" by "1", "−" by "-").
// Empty if it is mostly not a number.
std::string NormalizeNumber(std::string_view text);

// Likeliest first, at most about 12.
std::vector<NumberCandidate> NumberCandidates(const NumberText& number);

// How well `number` agrees with having been printed as `expected` ("0.05", "1000"): 1 literally, about 0.75 with one slip, negative if not at all.
double TextAgreement(const NumberText& number, const std::string& expected);

// `value` with `decimals` places, no thousands separators.
std::string FormatNumber(double value, int decimals);

}  // namespace islebook
