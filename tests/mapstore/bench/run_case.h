#pragma once
// A case from its text, and its result, for tests; what fails is a failure of the test.

#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/case_file.h"

namespace islebook::bench_test {

inline BenchCase Case(const std::string& text) {
  auto parsed = ParseCase(text, "case.toml");
  EXPECT_TRUE(parsed.has_value()) << (parsed ? "" : parsed.error().place + ": " + parsed.error().message);
  return parsed ? *parsed : BenchCase{};
}

inline BenchResult RunCase(const BenchCase& asked, const std::vector<const CompressorReader*>& maps) {
  auto result = RunBench(asked, maps);
  EXPECT_TRUE(result.has_value());
  return result ? *result : BenchResult{};
}

}  // namespace islebook::bench_test
