#include "mapstore/surface/spline.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "tests/support/random.h"

namespace islebook {
namespace {

TEST(Spline, ReproducesCubics) {
  // Not-a-knot end conditions leave every cubic as it is (de Boor, A Practical Guide to Splines, ch. IV; from memory).
  const auto cubic = [](double x) { return 1.0 - 2.0 * x + 0.5 * x * x + 3.0 * x * x * x; };
  const std::vector<double> x{0.0, 0.3, 0.5, 1.1, 1.2, 2.0};
  std::vector<double> y;
  for (const double at : x) y.push_back(cubic(at));
  const HermiteCurve curve = HermiteCurve::Spline(x, y);
  for (double at = 0.0; at <= 2.0; at += 0.01) EXPECT_NEAR(cubic(at), curve.Value(at), 1e-12);
}

TEST(Spline, TwoAndThreePointsAreLineAndParabola) {
  EXPECT_NEAR(2.5, HermiteCurve::Spline({0.0, 1.0}, {2.0, 3.0}).Value(0.5), 1e-14);
  const HermiteCurve parabola = HermiteCurve::Spline({0.0, 1.0, 3.0}, {0.0, 1.0, 9.0});
  for (double x = 0.0; x <= 3.0; x += 0.1) EXPECT_NEAR(x * x, parabola.Value(x), 1e-12);
}

TEST(Spline, SlopeIsTheDerivative) {
  paint::Random random(4);
  std::vector<double> x{0.0}, y{0.0};
  for (int i = 0; i < 12; ++i) {
    x.push_back(x.back() + random.Between(0.1, 1.0));
    y.push_back(random.Between(-1.0, 1.0));
  }
  for (const HermiteCurve& curve : {HermiteCurve::Spline(x, y), HermiteCurve::Monotone(x, y)}) {
    for (double at = x.front() - 0.5; at < x.back() + 0.5; at += 0.0371) {
      const double h = 1e-6;
      EXPECT_NEAR((curve.Value(at + h) - curve.Value(at - h)) / (2.0 * h), curve.Slope(at), 2e-5 * (1.0 + std::abs(curve.Slope(at))));
    }
  }
}

TEST(Spline, MonotoneStaysMonotone) {
  paint::Random random(5);
  for (int round = 0; round < 200; ++round) {
    std::vector<double> x{0.0}, y{0.0};
    for (int i = 0; i < 9; ++i) {
      x.push_back(x.back() + random.Between(0.01, 1.0));
      y.push_back(y.back() + (random.Chance(0.3) ? 0.0 : random.Between(0.0, 3.0)));
    }
    const HermiteCurve curve = HermiteCurve::Monotone(x, y);
    double before = curve.Value(0.0);
    for (int i = 1; i <= 400; ++i) {
      const double after = curve.Value(x.back() * i / 400);
      EXPECT_GE(after, before - 1e-12);
      before = after;
    }
  }
}

TEST(Smooth, ExactDataAreMetAndNoiseIsNot) {
  std::vector<SmoothInput> exact, noisy;
  paint::Random random(6);
  const auto shape = [](double x) { return std::sin(3.0 * x) + 0.5 * x; };
  for (int i = 0; i <= 200; ++i) {
    const double x = i / 200.0;
    exact.push_back({x, shape(x), 1.0, false});
    noisy.push_back({x, shape(x) + 0.02 * random.Normal(), 1.0, false});
  }
  const SmoothResult through = Smooth(exact, 40), along = Smooth(noisy, 40);
  double squares = 0.0;
  for (int k = 0; k <= 40; ++k) {
    EXPECT_NEAR(shape(k / 40.0), through.values[k], 1e-6);
    squares += std::pow(along.values[k] - shape(k / 40.0), 2);
  }
  EXPECT_LT(std::sqrt(squares / 41), 0.008);  // well below the noise
  EXPECT_NEAR(0.02, along.residual, 0.004);
}

TEST(Smooth, PinnedEndsHold) {
  const std::vector<SmoothInput> data{{0.0, 1.0, 1.0, true}, {0.4, 0.2, 1.0, false}, {0.6, 0.1, 1.0, false}, {1.0, 3.0, 1.0, true}};
  const SmoothResult smooth = Smooth(data, 20);
  EXPECT_NEAR(1.0, smooth.values.front(), 1e-3);
  EXPECT_NEAR(3.0, smooth.values.back(), 1e-3);
  EXPECT_NEAR(0.2, smooth.values[8], 2e-3);
}

}  // namespace
}  // namespace islebook
