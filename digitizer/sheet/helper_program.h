#pragma once
// A separate program fed through pipes, under limits: what a hostile PDF may do to it, it does not do to us.

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

struct HelperLimits {
  double wall_s = 60.0;
  int cpu_s = 30;
  std::int64_t memory_bytes = 2LL << 30;
  std::int64_t output_bytes = 1LL << 30;
};

struct HelperOutput {
  int exit_code = 0;
  bool timed_out = false;
  bool too_much = false;  // more output than allowed
  std::vector<std::uint8_t> output;
  std::string errors;  // the start of its standard error
};

// Errors: kNotFound where the program is not installed, kInternal where it cannot be started.
Result<HelperOutput> RunHelper(const std::vector<std::string>& command, std::span<const std::uint8_t> input, const HelperLimits& limits = {});

}  // namespace islebook
