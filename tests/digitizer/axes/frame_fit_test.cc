#include "digitizer/axes/frame_fit.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace islebook {
namespace {

namespace fp = frame_parameter;

// A page seen by a camera: a lens about the picture's center, then perspective, then a page bent along a half wave.
// Written apart from the library's model: sines, not polynomials.
struct Camera {
  double width = 4032, height = 3024;
  double k1 = 0.0, curl = 0.0, phase = 0.3;
  std::array<ImagePoint, 4> corners{{{858, 749}, {2914, 648}, {2920, 2102}, {990, 2305}}};

  // Sheet pixel to frame.
  FramePoint Frame(ImagePoint p) const {
    const FrameMapping flat = FrameMapping::FromCorners(corners);
    const double half = std::hypot(width, height) / 2, cx = (width - 1) / 2, cy = (height - 1) / 2;
    const double dx = (p.x - cx) / half, dy = (p.y - cy) / half, lens = 1 + k1 * (dx * dx + dy * dy);
    FramePoint f = flat.FrameFromImage({cx + dx * lens * half, cy + dy * lens * half});
    const auto wave = [this](double u) { return curl * std::sin(3.14159265358979 * (0.15 + 0.7 * u) + phase); };
    f.v += wave(f.u) - wave(0.0) * (1 - f.u) - wave(1.0) * f.u;
    return f;
  }
  ImagePoint Image(FramePoint target) const {
    ImagePoint p{(corners[0].x + corners[2].x) / 2, (corners[0].y + corners[2].y) / 2};
    for (int i = 0; i < 60; ++i) {
      const double h = 0.5;
      const FramePoint f = Frame(p), fx = Frame({p.x + h, p.y}), fy = Frame({p.x, p.y + h});
      const double a = (fx.u - f.u) / h, b = (fy.u - f.u) / h, c = (fx.v - f.v) / h, d = (fy.v - f.v) / h, det = a * d - b * c;
      const double eu = f.u - target.u, ev = f.v - target.v;
      p.x -= (eu * d - ev * b) / det;
      p.y -= (ev * a - eu * c) / det;
    }
    return p;
  }
};

std::vector<FrameLine> Sides(const Camera& camera, double noise, unsigned seed, double hidden_from = 2.0, double hidden_to = 2.0) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0.0, noise);
  std::vector<FrameLine> lines(4);
  for (int side = 0; side < 4; ++side) {
    lines[side].horizontal = side < 2;
    lines[side].at = side % 2 == 0 ? 0.0 : 1.0;
    for (int i = 0; i <= 300; ++i) {
      const double t = i / 300.0;
      if (t > hidden_from && t < hidden_to) continue;
      ImagePoint p = camera.Image(side < 2 ? FramePoint{t, *lines[side].at} : FramePoint{*lines[side].at, t});
      p.x += noise > 0 ? normal(random) : 0.0;
      p.y += noise > 0 ? normal(random) : 0.0;
      lines[side].points.push_back(p);
    }
  }
  return lines;
}

std::array<ImagePoint, 4> CameraCorners(const Camera& camera) {
  return {camera.Image({0, 1}), camera.Image({1, 1}), camera.Image({1, 0}), camera.Image({0, 0})};
}

double WorstError(const Camera& camera, const FrameMapping& mapping) {
  double worst = 0.0;
  for (int i = 0; i <= 20; ++i) {
    for (int j = 0; j <= 20; ++j) {
      const FramePoint truth{i / 20.0, j / 20.0};
      const ImagePoint p = camera.Image(truth), q = mapping.ImageFromFrame(truth);
      worst = std::max(worst, std::hypot(p.x - q.x, p.y - q.y));
    }
  }
  return worst;
}

FrameFitOptions OptionsFor(const Camera& camera) {
  FrameFitOptions options;
  options.picture_width = camera.width;
  options.picture_height = camera.height;
  return options;
}

TEST(FrameMapping, CornersGoToTheUnitSquare) {
  const std::array<ImagePoint, 4> corners{{{100, 90}, {1200, 130}, {1180, 900}, {140, 870}}};
  const FrameMapping m = FrameMapping::FromCorners(corners);
  const std::array<FramePoint, 4> square{{{0, 1}, {1, 1}, {1, 0}, {0, 0}}};
  for (int i = 0; i < 4; ++i) {
    const FramePoint f = m.FrameFromImage(corners[i]);
    EXPECT_NEAR(f.u, square[i].u, 1e-12);
    EXPECT_NEAR(f.v, square[i].v, 1e-12);
  }
  EXPECT_STREQ(m.model(), "homography");
  EXPECT_NEAR(m.WidthPx(), 0.5 * (std::hypot(1100, 40) + std::hypot(1040, 30)), 1e-6);
}

TEST(FrameMapping, TheWayBackIsExact) {
  std::vector<double> p = FrameMapping::FromCorners({{{858, 749}, {2914, 648}, {2920, 2102}, {990, 2305}}}).parameters();
  p[fp::kLens] = -0.05;
  p[fp::kBowV] = 0.03;
  p[fp::kBowV + 1] = -0.01;
  p[fp::kBowU + 2] = 0.004;
  p[fp::kSpacingU] = 0.003;
  p[fp::kSpreadV] = 0.002;
  const FrameMapping m = FrameMapping::FromParameters(p);
  for (double u = -0.2; u <= 1.2; u += 0.1) {
    for (double v = -0.2; v <= 1.2; v += 0.1) {
      const FramePoint back = m.FrameFromImage(m.ImageFromFrame({u, v}));
      EXPECT_NEAR(back.u, u, 1e-11);
      EXPECT_NEAR(back.v, v, 1e-11);
    }
  }
}

TEST(FrameMapping, JacobianAgreesWithFiniteDifferences) {
  std::vector<double> p = FrameMapping::FromCorners({{{858, 749}, {2914, 648}, {2920, 2102}, {990, 2305}}}).parameters();
  p[fp::kLens] = 0.04;
  p[fp::kBowV] = 0.02;
  const FrameMapping m = FrameMapping::FromParameters(p);
  const ImagePoint at{1700, 1300};
  const std::array<double, 4> j = m.Jacobian(at);
  const double h = 0.01;
  const FramePoint x1 = m.FrameFromImage({at.x + h, at.y}), x0 = m.FrameFromImage({at.x - h, at.y}), y1 = m.FrameFromImage({at.x, at.y + h}),
                   y0 = m.FrameFromImage({at.x, at.y - h});
  EXPECT_NEAR(j[0], (x1.u - x0.u) / (2 * h), 1e-9);
  EXPECT_NEAR(j[1], (y1.u - y0.u) / (2 * h), 1e-9);
  EXPECT_NEAR(j[2], (x1.v - x0.v) / (2 * h), 1e-9);
  EXPECT_NEAR(j[3], (y1.v - y0.v) / (2 * h), 1e-9);
}

TEST(FrameFit, AFlatPageIsAHomographyExactly) {
  Camera camera;
  const auto fit = FrameFitter::Fit(CameraCorners(camera), Sides(camera, 0.0, 1), {}, OptionsFor(camera));
  ASSERT_TRUE(fit) << fit.error().message;
  EXPECT_LT(WorstError(camera, fit->mapping), 1e-4);
  EXPECT_STREQ(fit->mapping.model(), "homography");
}

TEST(FrameFit, LensAndCurlAreRecoveredFromTheFourSides) {
  for (const double k1 : {-0.08, -0.04, 0.05}) {
    for (const double curl : {0.0, 0.008, 0.02}) {
      Camera camera;
      camera.k1 = k1;
      camera.curl = curl;
      const auto fit = FrameFitter::Fit(CameraCorners(camera), Sides(camera, 0.0, 1), {}, OptionsFor(camera));
      ASSERT_TRUE(fit) << fit.error().message;
      EXPECT_LT(WorstError(camera, fit->mapping), 0.12) << "k1 " << k1 << " curl " << curl << " " << fit->mapping.model();
      EXPECT_LT(fit->residual_px, 0.05);
    }
  }
}

TEST(FrameFit, NoiseOnTheSidesHardlyMovesTheFrame) {
  Camera camera;
  camera.k1 = -0.05;
  camera.curl = 0.01;
  for (unsigned seed = 1; seed <= 5; ++seed) {
    const auto fit = FrameFitter::Fit(CameraCorners(camera), Sides(camera, 0.1, seed), {}, OptionsFor(camera));
    ASSERT_TRUE(fit);
    EXPECT_LT(WorstError(camera, fit->mapping), 0.4);
  }
}

TEST(FrameFit, StrayPointsAndHiddenPartsAreBorne) {
  Camera camera;
  camera.k1 = 0.03;
  std::vector<FrameLine> sides = Sides(camera, 0.05, 3, 0.3, 0.5);
  for (std::size_t i = 0; i < sides[1].points.size(); i += 9) sides[1].points[i].y += 6.0;  // a curve that runs along the top side
  const auto fit = FrameFitter::Fit(CameraCorners(camera), sides, {}, OptionsFor(camera));
  ASSERT_TRUE(fit);
  EXPECT_LT(WorstError(camera, fit->mapping), 0.6);
}

TEST(FrameFit, GridLinesOfUnknownPlaceStandInForHiddenSides) {
  Camera camera;
  camera.k1 = -0.05;
  std::vector<FrameLine> lines = Sides(camera, 0.0, 1);
  lines.erase(lines.begin() + 3);  // no right side
  lines.erase(lines.begin() + 1);  // no top
  for (int i = 1; i < 8; ++i) {
    for (const bool horizontal : {true, false}) {
      FrameLine grid;
      grid.horizontal = horizontal;
      for (int k = 0; k <= 100; ++k)
        grid.points.push_back(camera.Image(horizontal ? FramePoint{k / 100.0, i / 8.0} : FramePoint{i / 8.0, k / 100.0}));
      lines.push_back(grid);
    }
  }
  const std::array<ImagePoint, 4> corners = CameraCorners(camera);
  std::vector<FramePlace> places{{corners[1], 1.0, 1.0, 0.1}};
  const auto fit = FrameFitter::Fit(corners, lines, places, OptionsFor(camera));
  ASSERT_TRUE(fit);
  EXPECT_LT(WorstError(camera, fit->mapping), 1.0);
}

TEST(FrameFit, RefusesCornersInNoOrder) {
  const std::array<ImagePoint, 4> crossed{{{0, 0}, {100, 100}, {100, 0}, {0, 100}}};
  EXPECT_FALSE(FrameFitter::Fit(crossed, {}, {}, {}));
  Camera camera;
  EXPECT_FALSE(FrameFitter::Fit(CameraCorners(camera), {}, {}, {}));
}

}  // namespace
}  // namespace islebook
