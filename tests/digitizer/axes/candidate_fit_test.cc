#include "digitizer/axes/candidate_fit.h"

#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/ridges/ridges.h"

namespace islebook {
namespace {

std::vector<Mark> MarksAt(const std::vector<double>& places) {
  std::vector<Mark> marks;
  for (const double t : places) {
    Mark m;
    m.t = t;
    m.sigma_t = 1e-4;
    marks.push_back(m);
  }
  return marks;
}

TEST(CandidateFitTest, EvenMarksInPerspective) {
  std::vector<double> places;
  for (int i = 0; i <= 10; ++i)
    if (i != 4) places.push_back(i * 0.1 * 1.2 / (1.0 + 0.2 * i * 0.1));
  places.push_back(0.527);  // a curve's end
  const auto even = FitEvenMarks(MarksAt(places), 1000.0);
  ASSERT_TRUE(even);
  EXPECT_EQ(even->count, 10);
  EXPECT_NEAR(even->IndexAt(1.0) - even->IndexAt(0.0), 10.0, 0.01);
  EXPECT_NEAR(even->IndexAt(0.5 * 1.2 / 1.1) - even->IndexAt(0.0), 5.0, 0.01);
}

TEST(CandidateFitTest, LogarithmicMarksAreNotEven) {
  std::vector<double> places;
  for (int d = 0; d < 2; ++d)
    for (int k = 1; k < 10; ++k) places.push_back(0.5 * (d + std::log10(k)));
  EXPECT_FALSE(FitEvenMarks(MarksAt(places), 1000.0));
}

// A bare L with ticks, photographed from a slant: the fourth corner, which nothing marks, comes from the ticks' spacing.
TEST(CandidateFitTest, TicksTellHowABareLLeans) {
  const std::array<ImagePoint, 4> corners{{{300.0, 180.0}, {1460.0, 240.0}, {1520.0, 1010.0}, {260.0, 960.0}}};
  const FrameMapping truth = FrameMapping::FromCorners(corners);
  cv::Mat1b ink(1200, 1800, static_cast<unsigned char>(0));
  const auto draw = [&](FramePoint a, FramePoint b) {
    const ImagePoint p = truth.ImageFromFrame(a), q = truth.ImageFromFrame(b);
    const auto fixed = [](double v) { return static_cast<int>(std::lround(v * 16.0)); };
    cv::line(ink, {fixed(p.x), fixed(p.y)}, {fixed(q.x), fixed(q.y)}, 255, 2, cv::LINE_AA, 4);
  };
  draw({0.0, 0.0}, {1.0, 0.0});
  draw({0.0, 0.0}, {0.0, 1.0});
  for (int i = 0; i <= 10; ++i) draw({0.1 * i, 0.0}, {0.1 * i, -0.016}), draw({0.0, 0.1 * i}, {-0.012, 0.1 * i});
  Page page;
  page.ink = ink;
  page.color.create(ink.size());
  page.color.setTo(cv::Scalar::all(255));
  page.color.setTo(cv::Scalar::all(0), ink > 127);
  page.extent = {0, 0, ink.cols, ink.rows};
  const auto ridges = TraceRidges(page);
  ASSERT_TRUE(ridges);
  LongLineOptions options;
  options.longer_side_px = 1800.0;
  const LongLines lines = FindLongLines(*ridges, page, options);
  ASSERT_TRUE(lines.found);
  FrameCandidate candidate;
  for (std::size_t i = 0; i < lines.lines.size(); ++i) {
    if (lines.lines[i].Length() < 500.0) continue;
    candidate.lines[lines.lines[i].horizontal ? kBottom : kLeft] = static_cast<int>(i);
  }
  ASSERT_GE(candidate.lines[kBottom], 0);
  ASSERT_GE(candidate.lines[kLeft], 0);
  candidate.corners = corners;
  candidate.corners[1] = {corners[0].x + corners[2].x - corners[3].x, corners[0].y + corners[2].y - corners[3].y};  // as nothing says
  const auto fit = FitCandidate(lines, candidate, page);
  ASSERT_TRUE(fit);
  EXPECT_FALSE(fit->perspective_open);
  const ImagePoint fourth = fit->fit.mapping.Corners()[1];
  EXPECT_LT(std::hypot(fourth.x - corners[1].x, fourth.y - corners[1].y), 4.0);
  EXPECT_GT(std::hypot(candidate.corners[1].x - corners[1].x, candidate.corners[1].y - corners[1].y), 40.0);
}

}  // namespace
}  // namespace islebook
