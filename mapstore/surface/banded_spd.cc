#include "mapstore/surface/banded_spd.h"

#include <algorithm>
#include <cmath>

namespace islebook {

BandedSpd::BandedSpd(int size, int half_band)
    : size_(size), half_band_(std::min(half_band, size - 1)), lower_(static_cast<std::size_t>(size) * (half_band_ + 1), 0.0) {}

bool BandedSpd::Factor() {
  for (int row = 0; row < size_; ++row) {
    const int first = std::max(0, row - half_band_);
    double* const own = &lower_[Index(row, first)] - first;  // own[column]
    for (int column = first; column <= row; ++column) {
      const int start = std::max(first, column - half_band_);
      const double* const other = &lower_[Index(column, start)] - start;
      double sum = own[column];
      for (int k = start; k < column; ++k) sum -= own[k] * other[k];
      if (column == row) {
        if (!(sum > 0.0)) return false;
        own[row] = std::sqrt(sum);
      } else {
        own[column] = sum / other[column];
      }
    }
  }
  return true;
}

void BandedSpd::Solve(std::vector<double>& right_side) const {
  for (int row = 0; row < size_; ++row) {
    const int first = std::max(0, row - half_band_);
    double sum = right_side[row];
    for (int k = first; k < row; ++k) sum -= Lower(row, k) * right_side[k];
    right_side[row] = sum / Lower(row, row);
  }
  for (int row = size_ - 1; row >= 0; --row) {
    const double value = right_side[row] / Lower(row, row);
    right_side[row] = value;
    for (int k = std::max(0, row - half_band_); k < row; ++k) right_side[k] -= Lower(row, k) * value;
  }
}

std::vector<double> BandedSpd::InverseBand() const {
  const int width = 2 * half_band_ + 1;
  std::vector<double> inverse(static_cast<std::size_t>(size_) * width, 0.0);
  const auto at = [&](int row, int column) -> double& { return inverse[static_cast<std::size_t>(row) * width + (column - row + half_band_)]; };
  std::vector<double> below(half_band_ + 1);
  for (int j = size_ - 1; j >= 0; --j) {
    const int last = std::min(size_ - 1, j + half_band_);
    const double diagonal = Lower(j, j);
    for (int k = j + 1; k <= last; ++k) below[k - j] = Lower(k, j) / diagonal;
    for (int i = last; i > j; --i) {
      const double* const row = &at(i, j + 1) - (j + 1);
      double sum = 0.0;
      for (int k = j + 1; k <= last; ++k) sum -= row[k] * below[k - j];
      at(i, j) = sum;
      at(j, i) = sum;
    }
    double sum = 1.0 / (diagonal * diagonal);
    for (int k = j + 1; k <= last; ++k) sum -= at(k, j) * below[k - j];
    at(j, j) = sum;
  }
  return inverse;
}

}  // namespace islebook
