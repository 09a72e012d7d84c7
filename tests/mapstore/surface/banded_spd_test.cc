#include "mapstore/surface/banded_spd.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "tests/support/random.h"

namespace islebook {
namespace {

// A random symmetric matrix with a dominant diagonal, as a full matrix too.
BandedSpd Example(int size, int half_band, std::uint64_t seed, std::vector<std::vector<double>>& full) {
  paint::Random random(seed);
  BandedSpd matrix(size, half_band);
  full.assign(size, std::vector<double>(size, 0.0));
  for (int i = 0; i < size; ++i) {
    for (int j = std::max(0, i - half_band); j <= i; ++j) {
      const double value = i == j ? 2.0 * half_band + random.Part() : random.Between(-1.0, 1.0);
      matrix.Lower(i, j) = value;
      full[i][j] = full[j][i] = value;
    }
  }
  return matrix;
}

TEST(BandedSpd, SolvesAndInvertsWithinTheBand) {
  constexpr int kSize = 40, kHalfBand = 5;
  std::vector<std::vector<double>> full;
  BandedSpd matrix = Example(kSize, kHalfBand, 3, full);
  ASSERT_TRUE(matrix.Factor());
  const std::vector<double> band = matrix.InverseBand();
  for (int column = 0; column < kSize; ++column) {
    std::vector<double> inverse(kSize, 0.0);
    inverse[column] = 1.0;
    matrix.Solve(inverse);
    for (int i = 0; i < kSize; ++i) {
      double product = 0.0;
      for (int k = 0; k < kSize; ++k) product += full[i][k] * inverse[k];
      EXPECT_NEAR(i == column ? 1.0 : 0.0, product, 1e-12);
    }
    for (int row = std::max(0, column - kHalfBand); row <= std::min(kSize - 1, column + kHalfBand); ++row)
      EXPECT_NEAR(inverse[row], band[row * (2 * kHalfBand + 1) + column - row + kHalfBand], 1e-12);
  }
}

TEST(BandedSpd, RefusesAnIndefiniteMatrix) {
  BandedSpd matrix(2, 1);
  matrix.Lower(0, 0) = 1.0;
  matrix.Lower(1, 0) = 2.0;
  matrix.Lower(1, 1) = 1.0;
  EXPECT_FALSE(matrix.Factor());
}

}  // namespace
}  // namespace islebook
