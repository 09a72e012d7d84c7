#pragma once
// What speaks a little against a curve. Internal to assemble.

#include <string>

namespace islebook {

struct Hint {
  std::string reason;
  double weight = 0.0;  // the chance that a curve of which only this is known is wrong
};

}  // namespace islebook
