#pragma once
// The arithmetic of FrameMapping, written once for plain numbers and for automatic differentiation.

#include "digitizer/axes/plot_frame.h"

namespace islebook {

// p: frame_parameter::kFree values; the fixed ones are given apart.
template <typename T>
void EvaluateFrameModel(const T* p, double center_x, double center_y, double half_diagonal, const T& x, const T& y, T* u, T* v) {
  namespace fp = frame_parameter;
  const T dx = (x - center_x) / half_diagonal;
  const T dy = (y - center_y) / half_diagonal;
  const T lens = T(1.0) + p[fp::kLens] * (dx * dx + dy * dy);
  const T qx = dx * lens;
  const T qy = dy * lens;
  const T w = p[6] * qx + p[7] * qy + T(1.0);
  const T a = (p[0] * qx + p[1] * qy + p[2]) / w;
  const T b = (p[3] * qx + p[4] * qy + p[5]) / w;
  const T t = T(2.0) * a - T(1.0);
  const T s = T(2.0) * b - T(1.0);
  const T hump_a = a * (T(1.0) - a);
  const T hump_b = b * (T(1.0) - b);
  const T* c = p + fp::kBowV;
  const T* d = p + fp::kBowU;
  *u = a + hump_a * (p[fp::kSpacingU] + p[fp::kSpacingU + 1] * t) + hump_b * (d[0] + s * (d[1] + s * (d[2] + s * d[3]))) +
       hump_b * t * p[fp::kSpreadU];
  *v = b + hump_b * (p[fp::kSpacingV] + p[fp::kSpacingV + 1] * s) + hump_a * (c[0] + t * (c[1] + t * (c[2] + t * c[3]))) +
       hump_a * s * p[fp::kSpreadV];
}

}  // namespace islebook
