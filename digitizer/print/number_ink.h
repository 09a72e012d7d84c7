#pragma once
// What the ink of one piece of print says about any number that it may be, for those who know more than the print shows: which numbers are possible there.

#include <span>
#include <string>
#include <vector>

#include "digitizer/print/digit_reader.h"
#include "digitizer/print/print.h"

namespace islebook {

class NumberInk {
 public:
  // Looks at the word with and without the ink around it, turned level by each of the angles.
  static NumberInk Look(const Page& page, const Word& word, std::span<const double> angles_deg);
  // Minus the logarithm of a likelihood, from the look that likes the text best. Points and commas count alike.
  std::vector<float> CostsOf(std::span<const std::string> texts) const;
  // The same for the best text of any kind: what the number's cost is compared with.
  double Least() const { return least_; }

 private:
  std::vector<DigitReader> looks_;
  double least_ = 1e9;
};

}  // namespace islebook
