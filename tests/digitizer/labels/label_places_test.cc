#include "digitizer/labels/label_places.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

CurveLabel LabelAt(double x, double y, double width = 30.0, double angle = 0.0) {
  CurveLabel label;
  label.center = {x, y};
  label.width_px = width;
  label.height_px = 10.0;
  label.angle_deg = angle;
  return label;
}

TracedCurve Straight(ImagePoint from, ImagePoint to, cv::Vec3f lab = {0, 0, 0}) {
  TracedCurve curve;
  const int n = std::max(2, static_cast<int>(std::hypot(to.x - from.x, to.y - from.y) / 3.0));
  for (int i = 0; i <= n; ++i) curve.points.push_back({from.x + (to.x - from.x) * i / n, from.y + (to.y - from.y) * i / n});
  curve.bridged.assign(curve.points.size(), 0);
  curve.lab = lab;
  return curve;
}

TEST(LabelPlaces, OnTheLine) {
  TracedCurve curve = Straight({0, 80}, {200, 120});
  for (std::size_t i = 0; i < curve.points.size(); ++i) curve.bridged[i] = std::abs(curve.points[i].x - 100) < 17;
  const auto placed = PlaceLabel(LabelAt(100, 100), curve, 3, {});
  ASSERT_TRUE(placed);
  EXPECT_EQ(placed->candidate.place, LabelPlace::kOnLine);
  EXPECT_EQ(placed->candidate.curve, 3U);
  EXPECT_NEAR(placed->candidate.distance_px, 0.0, 1e-9);
}

TEST(LabelPlaces, TheLineThroughTheMiddleBeatsOneThroughACorner) {
  const CurveLabel label = LabelAt(100, 100);
  const auto middle = PlaceLabel(label, Straight({40, 60}, {160, 140}), 0, {}), corner = PlaceLabel(label, Straight({60, 40}, {150, 130}), 1, {});
  ASSERT_TRUE(middle && corner);
  EXPECT_LT(middle->cost, corner->cost);
  EXPECT_GT(corner->candidate.distance_px, 0.0);
}

TEST(LabelPlaces, AtAnEnd) {
  // The label stands to the right of and below the end, as speed labels do.
  const auto placed = PlaceLabel(LabelAt(124, 104), Straight({40, 40}, {103, 97}), 0, {});
  ASSERT_TRUE(placed);
  EXPECT_EQ(placed->candidate.place, LabelPlace::kAtEnd);
  EXPECT_NEAR(placed->candidate.distance_px, std::hypot(6.0, 2.0), 0.5);
}

TEST(LabelPlaces, BesideAndOutOfReach) {
  const TracedCurve curve = Straight({0, 80}, {200, 80});
  const auto beside = PlaceLabel(LabelAt(100, 100), curve, 0, {});
  ASSERT_TRUE(beside);
  EXPECT_EQ(beside->candidate.place, LabelPlace::kBeside);
  EXPECT_NEAR(beside->candidate.distance_px, 15.0, 0.01);
  EXPECT_FALSE(PlaceLabel(LabelAt(100, 140), curve, 0, {}));
}

TEST(LabelPlaces, ATiltedLabelFollowsItsCurve) {
  const CurveLabel label = LabelAt(100, 100, 40.0, 35.0);
  const auto along = PlaceLabel(label, Straight({20, 44}, {180, 156}), 0, {}), across = PlaceLabel(label, Straight({40, 160}, {160, 40}), 1, {});
  ASSERT_TRUE(along && across);
  EXPECT_LT(along->cost, across->cost);
}

TEST(LabelPlaces, LikeColorSettlesTies) {
  CurveLabel label = LabelAt(100, 100);
  label.lab = {40, 40, -40};
  const auto like = PlaceLabel(label, Straight({0, 82}, {200, 82}, {42, 38, -36}), 0, {}),
             unlike = PlaceLabel(label, Straight({0, 118}, {200, 118}, {40, -20, 10}), 1, {});
  ASSERT_TRUE(like && unlike);
  EXPECT_LT(like->cost, unlike->cost);
}

TEST(LabelPlaces, AClosedCurveHasNoEnd) {
  TracedCurve ring;
  ring.closed = true;
  for (int i = 0; i < 60; ++i) ring.points.push_back({100 + 50 * std::cos(i * 0.10472), 100 + 50 * std::sin(i * 0.10472)});
  const auto placed = PlaceLabel(LabelAt(150, 100, 24.0), ring, 0, {});
  ASSERT_TRUE(placed);
  EXPECT_EQ(placed->candidate.place, LabelPlace::kOnLine);
}

}  // namespace
}  // namespace islebook
