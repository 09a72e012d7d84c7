#pragma once
// A symmetric positive definite matrix with a narrow band: what least squares with B-splines and a roughness penalty come down to. Internal to mapstore/surface.

#include <cstddef>
#include <vector>

namespace islebook {

class BandedSpd {
 public:
  // `half_band`: entries farther than this from the diagonal are zero.
  BandedSpd(int size, int half_band);

  int size() const { return size_; }
  // Entry (row, column) of the lower triangle, row - half_band <= column <= row. Meaningful before Factor().
  double& Lower(int row, int column) { return lower_[Index(row, column)]; }
  double Lower(int row, int column) const { return lower_[Index(row, column)]; }

  // Cholesky in place. False: not positive definite; the contents are then undefined.
  bool Factor();
  // After Factor(): solves in place.
  void Solve(std::vector<double>& right_side) const;
  // After Factor(): the inverse within the band (Takahashi, Fagan and Chen 1973), both triangles: element (row, column) at row * (2 half_band + 1) + column - row + half_band.
  std::vector<double> InverseBand() const;

 private:
  std::size_t Index(int row, int column) const { return static_cast<std::size_t>(row) * (half_band_ + 1) + (column - row + half_band_); }
  int size_;
  int half_band_;
  std::vector<double> lower_;
};

}  // namespace islebook
