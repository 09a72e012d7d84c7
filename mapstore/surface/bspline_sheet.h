#pragma once
// A smooth sheet over a square a little larger than the unit square: bicubic B-splines, least squares with a roughness penalty. Internal to mapstore/surface.

#include <vector>

#include "mapstore/surface/banded_spd.h"

namespace islebook {

class BsplineSheet {
 public:
  static constexpr double kLow = -0.1, kHigh = 1.1;  // of the square, both ways; straight values beyond are not given: places are held to it

  // `third`, `second`: usual size of the sheet's third and second derivatives; larger gives a more willing sheet.
  BsplineSheet(int intervals, double third, double second);

  void Add(double x, double y, double value, double weight);  // weight: 1 / variance
  // Solves for all data added so far. False: not possible; the sheet is then undefined.
  bool Solve();
  double Value(double x, double y) const;
  const std::vector<double>& coefficients() const { return coefficients_; }  // row by row in y, intervals + 3 a row
  // After Solve(): how much of a datum of that weight at that place the sheet follows (0..1), and its variance if weights are inverse variances.
  double Variance(double x, double y);

 private:
  struct Basis {
    int first = 0;
    double weights[4] = {};
  };
  Basis BasisAt(double x) const;

  int intervals_, size_;
  double step_;
  BandedSpd matrix_;
  std::vector<double> right_, coefficients_, inverse_;
};

// Adds strength * (stencil . c)^2 for the stencil at every place of a `size` by `size` sheet of coefficients where it fits.
void AddSheetPenalty(BandedSpd& matrix, int size, const std::vector<double>& along_x, const std::vector<double>& along_y, double strength);
// Third and second derivatives of all kinds, as above.
BandedSpd SheetPenalty(int size, double step, double third, double second);

}  // namespace islebook
