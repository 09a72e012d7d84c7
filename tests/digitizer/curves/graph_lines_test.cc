// Lines over expansion ratio: dashed and solid, crossing at shallow angles, crowding together at one end; and the filter that follows them.

#include "digitizer/curves/graph_lines.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/curves.h"
#include "digitizer/curves/graph_tails.h"
#include "digitizer/curves/line_follower.h"

namespace islebook {
namespace {

constexpr int kWidth = 1300, kHeight = 900;
using Height = std::function<double(double)>;  // px over px

class TurbinePlot {
 public:
  TurbinePlot() : ink_(kHeight, kWidth, static_cast<unsigned char>(0)) {}

  void Line(const Height& y, double from, double to, int width, double dash = 0, double gap = 0) {
    constexpr int kShift = 6;
    const auto fix = [](double x, double v) { return cv::Point(cvRound(x * (1 << kShift)), cvRound(v * (1 << kShift))); };
    double length = 0;
    for (double x = from; x < to; x += 0.2) {
      length += std::hypot(0.2, y(x + 0.2) - y(x));
      if (dash > 0 && std::fmod(length, dash + gap) > dash) continue;
      cv::line(ink_, fix(x, y(x)), fix(x + 0.2, y(x + 0.2)), 255, width, cv::LINE_AA, kShift);
    }
  }

  CurvesFound Trace() const {
    Page page;
    page.ink = ink_;
    page.extent = {0, 0, kWidth, kHeight};
    const auto ridges = TraceRidges(page);
    EXPECT_TRUE(ridges.has_value());
    PrintFound print;
    print.mask = cv::Mat1b(kHeight, kWidth, static_cast<unsigned char>(0));
    print.digit_height_px = 14;
    AxesFound axes;
    Panel panel;
    panel.frame = FrameMapping::FromCorners(
        {ImagePoint{20, 20}, ImagePoint{kWidth - 20, 20}, ImagePoint{kWidth - 20, kHeight - 20}, ImagePoint{20, kHeight - 20}});
    panel.x.emplace();
    panel.x->axis.quantity = Quantity::kExpansionRatioTotalToStatic;
    EXPECT_TRUE(HoldsGraphLines(panel));
    axes.panels.push_back(panel);
    axes.chain_is_furniture.assign(ridges->chains.size(), false);
    const auto curves = TraceCurves(page, *ridges, print, axes, 0);
    EXPECT_TRUE(curves.has_value());
    return *curves;
  }

 private:
  cv::Mat1b ink_;
};

// Smaller of: the part of the drawn line that some one curve covers within `within` px, and the part of that curve that lies on the line.
double Found(const CurvesFound& found, const Height& y, double from, double to, double within = 2.0) {
  std::vector<ImagePoint> drawn;
  for (double x = from; x <= to; x += 0.5) drawn.push_back({x, y(x)});
  // Steep stretches count by their length.
  std::vector<ImagePoint> even;
  double since = 2;
  for (std::size_t i = 1; i < drawn.size(); ++i) {
    const double step = std::hypot(drawn[i].x - drawn[i - 1].x, drawn[i].y - drawn[i - 1].y);
    for (double t = std::max(0.0, 2 - since); t <= step; t += 2) {
      even.push_back({drawn[i - 1].x + t / step * (drawn[i].x - drawn[i - 1].x), drawn[i - 1].y + t / step * (drawn[i].y - drawn[i - 1].y)});
      since = -t;
    }
    since += step;
  }
  const auto near = [&](ImagePoint p, const std::vector<ImagePoint>& line) {
    return std::any_of(line.begin(), line.end(), [&](ImagePoint q) { return std::hypot(p.x - q.x, p.y - q.y) < within + 1.5; });
  };
  double best = 0;
  for (const TracedCurve& curve : found.curves) {
    double covered = 0, pure = 0;
    for (const ImagePoint& p : even) covered += near(p, curve.points) / static_cast<double>(even.size());
    for (const ImagePoint& p : curve.points) pure += near(p, even) / static_cast<double>(curve.points.size());
    best = std::max(best, std::min(covered, pure));
  }
  return best;
}

// Flow that chokes, and efficiency that rises steeply and falls slowly: the shapes of turbine charts (common practice, no source).
Height Flow(double level) {
  return [=](double x) { return 850 - level * (1 - 0.45 * std::exp(-(x - 90) / 220.0)); };
}
Height Efficiency(double level) {
  return [=](double x) {
    const double s = (x - 60) / 120.0;
    return 850 - level * (1 - std::exp(-1.6 * s)) * (1 - 0.018 * s);
  };
}

// Two solid lines that cross so flatly that they are one blot up to where both end; one of them was lost where the blot begins.
class SharedEnd : public testing::Test {
 protected:
  static double Flat(double) { return 300.0; }
  static double Bent(double x) { return 295.8 + 0.068 * (1100 - x) + 0.0001 * (1100 - x) * (1100 - x); }

  LineTrack Seen(double (*y)(double), double from, double to) {
    LineTrack track;
    for (double x = from; x <= to; x += 1) track.nodes.push_back({{x, y(x)}, true, true});
    track.ink_mass = 3.0;
    track.level = 255;
    return track;
  }
  // Where the bent line ends when it was drawn up to x = `drawn` and followed up to 1,000.
  double EndOfBent(double drawn) {
    Page page;
    page.ink = cv::Mat1b(kHeight, kWidth, static_cast<unsigned char>(0));
    for (double x = 300; x < 1100; x += 0.25)
      for (const auto& [y, to] : {std::pair{Flat(x), 1100.0}, std::pair{Bent(x), drawn}})
        if (x < to) cv::line(page.ink, {cvRound(x * 64), cvRound((y - 1) * 64)}, {cvRound(x * 64), cvRound((y + 1) * 64)}, 255, 1, cv::LINE_AA, 6);
    JoinField field;
    field.page = &page;
    field.cover = cv::Mat1b(kHeight, kWidth, static_cast<unsigned char>(0));
    field.frame_width_px = 1200;
    const FrameMapping frame =
        FrameMapping::FromCorners({ImagePoint{50, 20}, ImagePoint{1250, 20}, ImagePoint{1250, kHeight - 20}, ImagePoint{50, kHeight - 20}});
    const std::vector<Stroke> strokes;
    const GraphField marks(strokes, field, frame, 14);
    std::vector<LineTrack> tracks{Seen(Flat, 300, 1100), Seen(Bent, 600, 1000)};
    ReachSharedEnds(tracks, marks);
    for (const LineNode& n : tracks[1].nodes) EXPECT_NEAR(n.at.y, Bent(n.at.x), 1.5) << n.at.x;
    EXPECT_EQ(tracks[0].nodes.size(), 801u);
    return tracks[1].nodes.back().at.x;
  }
};

TEST_F(SharedEnd, IsReachedWhereTheInkIsThatOfTwo) { EXPECT_NEAR(EndOfBent(1100), 1100, 3); }

TEST_F(SharedEnd, IsNotReachedWhereOnlyTheOtherGoesOn) { EXPECT_NEAR(EndOfBent(1002), 1000, 0.1); }

TEST(GraphLines, DashedLinesThatCrowdAreFoundWhole) {
  TurbinePlot plot;
  const std::vector<double> flows = {180, 320, 560}, efficiencies = {395, 520, 590, 650};
  for (double level : flows) plot.Line(Flow(level), 90, 1100, 3);
  for (double level : efficiencies) plot.Line(Efficiency(level), 75, 1100, 2, 10, 6);
  const CurvesFound found = plot.Trace();
  EXPECT_EQ(found.curves.size(), flows.size() + efficiencies.size());
  for (double level : flows) EXPECT_GT(Found(found, Flow(level), 90, 1100), 0.95) << "flow " << level;
  for (double level : efficiencies) EXPECT_GT(Found(found, Efficiency(level), 75, 1100, 3.0), 0.92) << "efficiency " << level;
  int dashed = 0;
  for (const TracedCurve& c : found.curves) dashed += c.dashed;
  EXPECT_EQ(dashed, static_cast<int>(efficiencies.size()));
}

TEST(GraphLines, LinesOfOneMakeKeepTheirWayThroughShallowCrossings) {
  const Height falling = [](double x) { return 300 + 0.05 * (x - 100) + 0.00002 * (x - 100) * (x - 100); };
  const Height rising = [](double x) { return 380 - 0.06 * (x - 100) + 0.00001 * (x - 100) * (x - 100); };
  for (double dash : {0.0, 10.0}) {
    TurbinePlot plot;
    plot.Line(falling, 100, 1200, 2, dash, 5);
    plot.Line(rising, 150, 1150, 2, dash, 5);
    const CurvesFound found = plot.Trace();
    EXPECT_EQ(found.curves.size(), 2u) << "dash " << dash;
    EXPECT_GT(Found(found, falling, 100, 1200), 0.95) << "dash " << dash;
    EXPECT_GT(Found(found, rising, 150, 1150), 0.95) << "dash " << dash;
  }
}

Path Arc(double radius, double from, double to) {
  Path path;
  const int n = static_cast<int>(radius * std::abs(to - from));
  for (int i = 0; i <= n; ++i) {
    const double a = from + (to - from) * i / n;
    path.points.push_back({{500 + radius * std::cos(a), 500 + radius * std::sin(a)}, false});
  }
  return path;
}

TEST(LineFollower, KnowsPlaceDirectionAndCurvature) {
  // With y down, the angle grows clockwise on the picture.
  const FollowState state = FollowAlong(Arc(300, 0.0, 0.6), false);
  EXPECT_NEAR(std::hypot(state.at.x - 500, state.at.y - 500), 300, 0.2);
  EXPECT_NEAR(std::remainder(state.heading - (0.6 + M_PI / 2), 2 * M_PI), 0.0, 0.01);
  EXPECT_NEAR(state.curvature, 1.0 / 300, 4e-4);
  FollowState onward = state;
  for (int i = 0; i < 60; ++i) Predict(onward, 1.0);
  EXPECT_NEAR(std::hypot(onward.at.x - 500, onward.at.y - 500), 300, 1.0);
  EXPECT_GT(onward.covariance(0, 0), state.covariance(0, 0));
}

TEST(LineFollower, PiecesOfOneLineFitAndOthersDoNot) {
  const FollowState left = FollowAlong(Arc(400, 0.0, 0.5), false);
  EXPECT_LT(Misfit(left, FollowAlong(Arc(400, 0.6, 1.1), true)), 4.0);
  EXPECT_GT(Misfit(left, FollowAlong(Arc(406, 0.6, 1.1), true)), 16.0);       // another line, 6 px beside
  EXPECT_EQ(Misfit(left, FollowAlong(Arc(400, -0.5, -0.1), true)), kNoJoin);  // behind it
}

}  // namespace
}  // namespace islebook
