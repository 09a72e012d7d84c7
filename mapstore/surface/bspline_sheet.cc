#include "mapstore/surface/bspline_sheet.h"

#include <algorithm>
#include <cmath>

#include "mapstore/surface/spline.h"

namespace islebook {

void AddSheetPenalty(BandedSpd& matrix, int size, const std::vector<double>& along_x, const std::vector<double>& along_y, double strength) {
  const int width = static_cast<int>(along_x.size()), height = static_cast<int>(along_y.size());
  for (int y = 0; y + height <= size; ++y) {
    for (int x = 0; x + width <= size; ++x) {
      for (int a = 0; a < height; ++a) {
        for (int b = 0; b < width; ++b) {
          const int row = (y + a) * size + x + b;
          const double left = along_y[a] * along_x[b] * strength;
          for (int c = 0; c <= a; ++c) {
            for (int d = 0; d < width; ++d) {
              const int column = (y + c) * size + x + d;
              if (column <= row) matrix.Lower(row, column) += left * along_y[c] * along_x[d];
            }
          }
        }
      }
    }
  }
}

BandedSpd SheetPenalty(int size, double step, double third, double second) {
  static const std::vector<double> kZeroth{1.0}, kFirst{-1.0, 1.0}, kSecond{1.0, -2.0, 1.0}, kThird{-1.0, 3.0, -3.0, 1.0};
  BandedSpd matrix(size * size, 3 * size + 3);
  const double of_third = 1.0 / (third * third * std::pow(step, 4));
  AddSheetPenalty(matrix, size, kThird, kZeroth, of_third);
  AddSheetPenalty(matrix, size, kSecond, kFirst, 3.0 * of_third);
  AddSheetPenalty(matrix, size, kFirst, kSecond, 3.0 * of_third);
  AddSheetPenalty(matrix, size, kZeroth, kThird, of_third);
  const double of_second = 1.0 / (second * second * std::pow(step, 2));
  AddSheetPenalty(matrix, size, kSecond, kZeroth, of_second);
  AddSheetPenalty(matrix, size, kFirst, kFirst, 2.0 * of_second);
  AddSheetPenalty(matrix, size, kZeroth, kSecond, of_second);
  for (int i = 0; i < size * size; ++i) matrix.Lower(i, i) += 1e-6;
  return matrix;
}

BsplineSheet::BsplineSheet(int intervals, double third, double second)
    : intervals_(intervals),
      size_(intervals + 3),
      step_((kHigh - kLow) / intervals),
      matrix_(SheetPenalty(size_, step_, third, second)),
      right_(static_cast<std::size_t>(size_) * size_, 0.0) {}

BsplineSheet::Basis BsplineSheet::BasisAt(double x) const {
  const double place = std::clamp((x - kLow) / step_, 0.0, static_cast<double>(intervals_));
  Basis basis;
  basis.first = std::min(static_cast<int>(place), intervals_ - 1);
  BsplineWeights(place - basis.first, basis.weights);
  return basis;
}

void BsplineSheet::Add(double x, double y, double value, double weight) {
  const Basis bx = BasisAt(x), by = BasisAt(y);
  for (int a = 0; a < 4; ++a) {
    for (int b = 0; b < 4; ++b) {
      const int row = (by.first + a) * size_ + bx.first + b;
      const double left = weight * by.weights[a] * bx.weights[b];
      right_[row] += left * value;
      for (int c = 0; c <= a; ++c) {
        const int last = c < a ? 3 : b;
        for (int d = 0; d <= last; ++d) matrix_.Lower(row, (by.first + c) * size_ + bx.first + d) += left * by.weights[c] * bx.weights[d];
      }
    }
  }
}

bool BsplineSheet::Solve() {
  if (!matrix_.Factor()) return false;
  coefficients_ = right_;
  matrix_.Solve(coefficients_);
  inverse_.clear();
  return true;
}

double BsplineSheet::Value(double x, double y) const {
  const Basis bx = BasisAt(x), by = BasisAt(y);
  double value = 0.0;
  for (int a = 0; a < 4; ++a)
    for (int b = 0; b < 4; ++b) value += by.weights[a] * bx.weights[b] * coefficients_[static_cast<std::size_t>(by.first + a) * size_ + bx.first + b];
  return value;
}

double BsplineSheet::Variance(double x, double y) {
  const int half_band = 3 * size_ + 3, width = 2 * half_band + 1;
  if (inverse_.empty()) inverse_ = matrix_.InverseBand();
  const Basis bx = BasisAt(x), by = BasisAt(y);
  double variance = 0.0;
  for (int a = 0; a < 16; ++a) {
    const int row = (by.first + a / 4) * size_ + bx.first + a % 4;
    const double left = by.weights[a / 4] * bx.weights[a % 4];
    for (int b = 0; b < 16; ++b) {
      const int column = (by.first + b / 4) * size_ + bx.first + b % 4;
      variance += left * by.weights[b / 4] * bx.weights[b % 4] * inverse_[static_cast<std::size_t>(row) * width + (column - row + half_band)];
    }
  }
  return std::max(variance, 0.0);
}

}  // namespace islebook
