// Tracing of drawn lines inside a frame: crossings, gaps under labels, dashes, corners, lines followed through a person's points.

#include "digitizer/curves/curves.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr int kWidth = 900, kHeight = 700;

class Plot {
 public:
  Plot() : ink_(kHeight, kWidth, static_cast<unsigned char>(0)), color_(kHeight, kWidth, cv::Vec3b(255, 255, 255)) {}

  // A polyline through f(t), t in 0..1; dash and gap in px, 0 for a solid line.
  void Line(const std::function<ImagePoint(double)>& f, double width, double dash = 0, double gap = 0, cv::Scalar ink_color = {0, 0, 0},
            int darkness = 255) {
    std::vector<ImagePoint> p;
    double length = 0;
    for (int i = 0; i <= 2000; ++i) p.push_back(f(i / 2000.0));
    for (std::size_t i = 1; i < p.size(); ++i) {
      length += std::hypot(p[i].x - p[i - 1].x, p[i].y - p[i - 1].y);
      if (dash > 0 && std::fmod(length, dash + gap) > dash) continue;
      constexpr int kShift = 6;
      const auto fix = [](ImagePoint q) { return cv::Point(cvRound(q.x * (1 << kShift)), cvRound(q.y * (1 << kShift))); };
      cv::line(ink_, fix(p[i - 1]), fix(p[i]), darkness, cvRound(width), cv::LINE_AA, kShift);
      cv::line(color_, fix(p[i - 1]), fix(p[i]), ink_color, cvRound(width), cv::LINE_AA, kShift);
    }
  }
  // A marker: white inside, its line about 2 px wide.
  void Ring(ImagePoint center, int radius) {
    constexpr int kShift = 6;
    const cv::Point at(cvRound(center.x * (1 << kShift)), cvRound(center.y * (1 << kShift)));
    cv::circle(ink_, at, radius << kShift, 0, cv::FILLED, cv::LINE_AA, kShift);
    cv::circle(ink_, at, radius << kShift, 255, 2, cv::LINE_AA, kShift);
  }
  void Pad(cv::Rect box) {
    ink_(box).setTo(0);
    color_(box).setTo(cv::Scalar(255, 255, 255));
    pads_.push_back(box);
  }

  Page ToPage() const {
    Page page;
    page.ink = ink_;
    page.color = color_;
    page.extent = {0, 0, kWidth, kHeight};
    return page;
  }

  Result<TracedCurve> Follow(const std::vector<ImagePoint>& through, bool closed) const {
    PrintFound print;
    print.mask = cv::Mat1b(kHeight, kWidth, static_cast<unsigned char>(0));
    for (const cv::Rect& pad : pads_) print.mask(pad).setTo(255);
    return TraceThrough(ToPage(), print, {}, through, closed);
  }

  CurvesFound Trace() const {
    const Page page = ToPage();
    const auto ridges = TraceRidges(page);
    EXPECT_TRUE(ridges.has_value());
    PrintFound print;
    print.mask = cv::Mat1b(kHeight, kWidth, static_cast<unsigned char>(0));
    print.digit_height_px = 14;
    for (const cv::Rect& pad : pads_) print.mask(cv::Rect(pad.x + 6, pad.y + 6, pad.width - 12, pad.height - 12)).setTo(255);
    AxesFound axes;
    Panel panel;
    panel.frame = FrameMapping::FromCorners(
        {ImagePoint{20, 20}, ImagePoint{kWidth - 20, 20}, ImagePoint{kWidth - 20, kHeight - 20}, ImagePoint{20, kHeight - 20}});
    axes.panels.push_back(panel);
    axes.chain_is_furniture.assign(ridges->chains.size(), false);
    const auto curves = TraceCurves(page, *ridges, print, axes, 0);
    EXPECT_TRUE(curves.has_value());
    return *curves;
  }

 private:
  cv::Mat1b ink_;
  cv::Mat3b color_;
  std::vector<cv::Rect> pads_;
};

// Part of f that some one curve covers within 1.5 px, and part of that curve that lies on f.
struct Match {
  double covered = 0, pure = 0;
  bool closed = false;
};
Match BestMatch(const CurvesFound& found, const std::function<ImagePoint(double)>& f) {
  Match best;
  for (const TracedCurve& curve : found.curves) {
    const auto near = [](ImagePoint p, const std::vector<ImagePoint>& line, bool closed) {
      double d = 1e9;
      for (std::size_t i = 0; i + (closed ? 0 : 1) < line.size(); ++i) {
        const ImagePoint a = line[i], b = line[(i + 1) % line.size()];
        const double ex = b.x - a.x, ey = b.y - a.y, ll = ex * ex + ey * ey;
        const double t = ll > 0 ? std::clamp(((p.x - a.x) * ex + (p.y - a.y) * ey) / ll, 0.0, 1.0) : 0;
        d = std::min(d, std::hypot(p.x - a.x - t * ex, p.y - a.y - t * ey));
      }
      return d < 1.5;
    };
    std::vector<ImagePoint> truth;
    for (int i = 0; i <= 400; ++i) truth.push_back(f(i / 400.0));
    Match m;
    for (const ImagePoint& p : truth) m.covered += near(p, curve.points, curve.closed) / 401.0;
    for (const ImagePoint& p : curve.points) m.pure += near(p, truth, false) / static_cast<double>(curve.points.size());
    m.closed = curve.closed;
    if (std::min(m.covered, m.pure) > std::min(best.covered, best.pure)) best = m;
  }
  return best;
}

const auto kRising = [](double t) { return ImagePoint{100 + 600 * t, 600 - 450 * t + 80 * t * t}; };
const auto kFalling = [](double t) { return ImagePoint{120 + 620 * t, 150 + 380 * t * t}; };
const auto kRing = [](double t) { return ImagePoint{420 + 210 * std::cos(2 * M_PI * t), 340 + 110 * std::sin(2 * M_PI * t)}; };

TEST(TraceCurves, CrossingLinesAreTwoCurves) {
  Plot plot;
  plot.Line(kRising, 2);
  plot.Line(kFalling, 3);
  plot.Line(kRing, 2);
  const CurvesFound found = plot.Trace();
  for (const auto& f :
       {std::function<ImagePoint(double)>(kRising), std::function<ImagePoint(double)>(kFalling), std::function<ImagePoint(double)>(kRing)}) {
    const Match m = BestMatch(found, f);
    EXPECT_GT(m.covered, 0.97);
    EXPECT_GT(m.pure, 0.97);
  }
  EXPECT_TRUE(BestMatch(found, kRing).closed);
  EXPECT_EQ(found.curves.size(), 3u);
}

TEST(TraceCurves, ALabelOnTheLineIsBridgedAndSaidToBe) {
  Plot plot;
  plot.Line(kFalling, 2);
  const ImagePoint middle = kFalling(0.55);
  plot.Pad(cv::Rect(cvRound(middle.x) - 26, cvRound(middle.y) - 12, 52, 24));
  const CurvesFound found = plot.Trace();
  const Match m = BestMatch(found, kFalling);
  EXPECT_GT(m.covered, 0.97);
  ASSERT_EQ(found.curves.size(), 1u);
  EXPECT_GT(std::count(found.curves[0].bridged.begin(), found.curves[0].bridged.end(), 1), 5);
  // Where no ink is seen the stated uncertainty is larger.
  float seen = 0, unseen = 0;
  for (std::size_t i = 0; i < found.curves[0].points.size(); ++i)
    (found.curves[0].bridged[i] ? unseen : seen) = std::max(found.curves[0].bridged[i] ? unseen : seen, found.curves[0].sigma_px[i]);
  EXPECT_GT(unseen, 0.2f);
}

TEST(TraceCurves, ABlankGapWithoutALabelIsNotBridged) {
  Plot plot;
  plot.Line([](double t) { return ImagePoint{100 + 250 * t, 300 - 40 * t}; }, 2);
  plot.Line([](double t) { return ImagePoint{450 + 250 * t, 244 - 40 * t}; }, 2);
  EXPECT_EQ(plot.Trace().curves.size(), 2u);
}

TEST(TraceCurves, DashedLinesAreWholeAndCalledDashed) {
  Plot plot;
  plot.Line(kRing, 2, 12, 6);
  plot.Line(kFalling, 3);
  const CurvesFound found = plot.Trace();
  const Match ring = BestMatch(found, kRing);
  EXPECT_GT(ring.covered, 0.95);
  EXPECT_GT(ring.pure, 0.97);
  EXPECT_GT(BestMatch(found, kFalling).covered, 0.97);
  EXPECT_TRUE(std::any_of(found.curves.begin(), found.curves.end(), [](const TracedCurve& c) { return c.dashed; }));
}

TEST(TraceCurves, DashedLinesRunOnUnderNeighboringLabels) {
  // Three dashed lines 26 px apart; labels stand so close together that single bars are left between their pads.
  Plot plot;
  std::vector<std::function<ImagePoint(double)>> lines;
  for (int k = 0; k < 3; ++k) lines.emplace_back([k](double t) { return ImagePoint{80 + 620 * t, 250 + 26.0 * k - 60 * t + 140 * t * t}; });
  for (const auto& f : lines) plot.Line(f, 2, 12, 6);
  for (const auto& [line, t] : {std::pair{0, 0.42}, {1, 0.50}, {2, 0.42}, {1, 0.36}, {0, 0.53}}) {
    const ImagePoint p = lines[static_cast<std::size_t>(line)](t);
    plot.Pad(cv::Rect(cvRound(p.x) - 21, cvRound(p.y) - 13, 42, 26));
  }
  const CurvesFound found = plot.Trace();
  for (const auto& f : lines) {
    const Match m = BestMatch(found, f);
    EXPECT_GT(m.covered, 0.95);
    EXPECT_GT(m.pure, 0.95);
  }
  EXPECT_EQ(found.curves.size(), 3u);
}

TEST(TraceCurves, ALineGoesThroughRingsThatNearlyTouch) {
  Plot plot;
  plot.Line(kFalling, 2);
  plot.Line([](double t) { return ImagePoint{120 + 620 * t, 80 + 200 * t * t}; }, 2);
  for (double t : {0.1, 0.25, 0.4, 0.55, 0.70, 0.727, 0.754, 0.781, 0.9}) plot.Ring(kFalling(t), 7);
  const CurvesFound found = plot.Trace();
  const Match m = BestMatch(found, kFalling);
  EXPECT_GT(m.covered, 0.97);
  EXPECT_GT(m.pure, 0.97);
  EXPECT_EQ(found.curves.size(), 2u);
}

TEST(TraceCurves, RingsWithoutALineAreACurve) {
  Plot plot;
  for (double t : {0.05, 0.14, 0.2, 0.3, 0.36, 0.47, 0.55, 0.62, 0.73, 0.8, 0.88}) plot.Ring(kFalling(t), 7);
  const CurvesFound found = plot.Trace();
  ASSERT_EQ(found.curves.size(), 1u);
  EXPECT_EQ(found.markers.size(), 11u);
  const Match m = BestMatch(found, [](double t) { return kFalling(0.05 + 0.83 * t); });
  EXPECT_GT(m.covered, 0.97);
  EXPECT_GT(m.pure, 0.97);
}

TEST(TraceCurves, RingsThatHideOneAnotherAreAllFound) {
  Plot plot;
  plot.Line(kFalling, 2);
  // The last five overlap: each hides nearly half of the one before.
  const std::vector<double> at{0.1, 0.25, 0.4, 0.55, 0.65, 0.75, 0.765, 0.78, 0.795, 0.81};
  for (double t : at) plot.Ring(kFalling(t), 8);
  const CurvesFound found = plot.Trace();
  for (double t : at) {
    double nearest = 1e9;
    for (const ImagePoint& c : found.markers) nearest = std::min(nearest, std::hypot(c.x - kFalling(t).x, c.y - kFalling(t).y));
    EXPECT_LT(nearest, 1.0) << "marker at " << t;
  }
  EXPECT_EQ(found.markers.size(), at.size());
  const Match m = BestMatch(found, kFalling);
  EXPECT_GT(m.covered, 0.97);
  EXPECT_GT(m.pure, 0.97);
}

TEST(TraceCurves, CrossingsAndDashesAreNoMarkers) {
  Plot plot;
  plot.Line(kFalling, 3);
  for (int k = 0; k < 6; ++k)
    plot.Line([k](double t) { return ImagePoint{150.0 + 90 * k + 60 * t, 60 + 560 * t}; }, 3, k % 2 == 0 ? 0 : 9, k % 2 == 0 ? 0 : 7);
  EXPECT_TRUE(plot.Trace().markers.empty());
}

TEST(TraceCurves, ACornerParts) {
  // A surge line and the top speed line that begins at its upper end.
  const auto surge = [](double t) { return ImagePoint{150 + 200 * t, 600 - 420 * t}; };
  const auto speed = [](double t) { return ImagePoint{350 + 350 * t, 180 + 300 * t * t}; };
  Plot plot;
  plot.Line(surge, 3);
  plot.Line(speed, 3);
  const CurvesFound found = plot.Trace();
  EXPECT_GT(BestMatch(found, surge).pure, 0.97);
  EXPECT_GT(BestMatch(found, speed).pure, 0.97);
  EXPECT_GT(BestMatch(found, surge).covered, 0.96);
  EXPECT_GT(BestMatch(found, speed).covered, 0.96);
}

// At 5 degrees two lines are one for 40 px; in two colors each is still followed through its own ink.
TEST(TraceCurves, LinesOfTwoColorsDoNotDragEachOther) {
  const auto blue = [](double t) { return ImagePoint{100 + 700 * t, 300 + 90 * t}; };
  const auto brown = [](double t) { return ImagePoint{100 + 700 * t, 360 - 30 * t + 20 * t * t}; };
  Plot plot;
  plot.Line(blue, 3, 0, 0, {160, 60, 20}, 190);
  plot.Line(brown, 2, 0, 0, {40, 110, 170}, 140);
  const CurvesFound found = plot.Trace();
  ASSERT_EQ(found.curves.size(), 2u);
  for (const auto& f : {std::function<ImagePoint(double)>(blue), std::function<ImagePoint(double)>(brown)}) {
    EXPECT_GT(BestMatch(found, f).covered, 0.97);
    EXPECT_GT(BestMatch(found, f).pure, 0.97);
  }
}

// Two curves that end on a third one face each other along it: its ink does not make them one.
TEST(TraceCurves, InkOfALineBesideBridgesNothing) {
  const auto base = [](double t) { return ImagePoint{100 + 700 * t, 500 - 2 * t}; };
  const auto left = [](double t) { return ImagePoint{200 + 200 * t, 380 + 118 * std::sin(0.5 * M_PI * t)}; };
  const auto right = [](double t) { return ImagePoint{480 + 200 * t, 498 - 118 * (1 - std::cos(0.5 * M_PI * t))}; };
  Plot plot;
  plot.Line(base, 3);
  plot.Line(left, 2);
  plot.Line(right, 2);
  const CurvesFound found = plot.Trace();
  EXPECT_GT(BestMatch(found, left).pure, 0.9);
  EXPECT_GT(BestMatch(found, right).pure, 0.9);
}

// A speed line that ends on a grid line, going its way: the lighter line is another, also where a tick makes its far end heavy.
TEST(TraceCurves, ALighterLineThatCarriesOnIsCutOff) {
  const auto speed = [](double t) { return ImagePoint{300 + 300 * std::sin(0.5 * M_PI * t), 450 - 250 * std::cos(0.5 * M_PI * t)}; };
  Plot plot;
  plot.Line(speed, 4);
  plot.Line([](double t) { return ImagePoint{600, 450 + 200 * t}; }, 1);
  plot.Line([](double t) { return ImagePoint{600, 640 + 12 * t}; }, 4);
  const CurvesFound found = plot.Trace();
  EXPECT_GT(BestMatch(found, speed).covered, 0.97);
  EXPECT_GT(BestMatch(found, speed).pure, 0.97);
}

// The sharp tip of an island is no corner: it stays one closed curve.
TEST(TraceCurves, AnIslandWithSharpTipsIsOneCurve) {
  const auto island = [](double t) {
    const double x = 260 * std::cos(2 * M_PI * t), y = 42 * std::sin(2 * M_PI * t);
    return ImagePoint{430 + 0.8 * x - 0.6 * y, 350 - 0.6 * x - 0.8 * y};
  };
  Plot plot;
  plot.Line(island, 2);
  const CurvesFound found = plot.Trace();
  ASSERT_EQ(found.curves.size(), 1u);
  EXPECT_TRUE(found.curves[0].closed);
  EXPECT_GT(BestMatch(found, island).covered, 0.97);
}

TEST(TraceThrough, LandsOnTheInkFromPointsOfAnUnsteadyHand) {
  Plot plot;
  plot.Line(kRising, 2);
  plot.Line(kFalling, 2);
  cv::RNG rng(11);
  std::vector<ImagePoint> through;
  for (double t : {0.02, 0.35, 0.7, 0.98}) {
    const ImagePoint p = kFalling(t);
    through.push_back({p.x + rng.uniform(-3.0, 3.0), p.y + rng.uniform(-3.0, 3.0)});
  }
  const auto curve = plot.Follow(through, false);
  ASSERT_TRUE(curve.has_value());
  std::vector<double> errors;
  for (const ImagePoint& p : curve->points) {
    double d = 1e9;
    for (int i = 0; i <= 4000; ++i) {
      const ImagePoint q = kFalling(i / 4000.0);
      d = std::min(d, std::hypot(p.x - q.x, p.y - q.y));
    }
    errors.push_back(d);
  }
  std::sort(errors.begin(), errors.end());
  EXPECT_LT(errors[errors.size() / 2], 0.2);
  EXPECT_LT(errors[errors.size() * 95 / 100], 1.5);
}

// Share of a traced curve's points within 1.5 px of f.
double OnLine(const TracedCurve& curve, const std::function<ImagePoint(double)>& f) {
  int near = 0;
  for (const ImagePoint& p : curve.points) {
    double d = 1e9;
    for (int i = 0; i <= 4000; ++i) {
      const ImagePoint q = f(i / 4000.0);
      d = std::min(d, std::hypot(p.x - q.x, p.y - q.y));
    }
    near += d < 1.5 ? 1 : 0;
  }
  return static_cast<double>(near) / static_cast<double>(curve.points.size());
}

TEST(TraceThrough, KeepsToADashedLineThatASolidOneCrosses) {
  Plot plot;
  plot.Line(kRising, 2);
  plot.Line(kFalling, 2, 9, 6);
  const auto curve = plot.Follow({kFalling(0.02), kFalling(0.45), kFalling(0.98)}, false);
  ASSERT_TRUE(curve.has_value());
  EXPECT_GT(OnLine(*curve, kFalling), 0.97);
}

TEST(TraceThrough, GoesOnUnderALabel) {
  Plot plot;
  plot.Line(kFalling, 2);
  const ImagePoint middle = kFalling(0.5);
  plot.Pad({cvRound(middle.x) - 40, cvRound(middle.y) - 14, 80, 28});
  const auto curve = plot.Follow({kFalling(0.02), kFalling(0.3), kFalling(0.98)}, false);
  ASSERT_TRUE(curve.has_value());
  EXPECT_GT(OnLine(*curve, kFalling), 0.94);  // under the label nothing tells where it bends
}

TEST(TraceThrough, KeepsToItsOwnInk) {
  // Two lines that touch at a shallow angle, one of them blue.
  const auto straight = [](double t) { return ImagePoint{100 + 600 * t, 350}; };
  const auto bowed = [](double t) { return ImagePoint{100 + 600 * t, 352 + 140 * (2 * t - 1) * (2 * t - 1)}; };
  Plot plot;
  plot.Line(straight, 2);
  plot.Line(bowed, 2, 0, 0, {200, 80, 20}, 190);
  const auto curve = plot.Follow({bowed(0.02), bowed(0.25), bowed(0.98)}, false);
  ASSERT_TRUE(curve.has_value());
  EXPECT_GT(OnLine(*curve, bowed), 0.90);  // where they touch they are one line
}

TEST(TraceThrough, RefusesWhatItCannotFollow) {
  const Plot plot;
  EXPECT_FALSE(plot.Follow({{100, 100}}, false).has_value());
  EXPECT_FALSE(plot.Follow({{100, 100}, {5000, 100}}, false).has_value());
  // Over blank paper it gives a curve that says that it saw no ink.
  const auto blank = plot.Follow({{100, 100}, {300, 200}}, false);
  ASSERT_TRUE(blank.has_value());
  EXPECT_FALSE(blank->doubts.empty());
  EXPECT_LT(blank->confidence, 0.5);
}

}  // namespace
}  // namespace islebook
