#include "digitizer/recipe/corrections.h"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

// A plot of 800 x 600 px at (100, 100), x 0..80 lb/min, y 1..4, with three curves: an upper and a lower speed line and a closed island.
class Corrections : public ::testing::Test {
 protected:
  Corrections() {
    page_.ink = cv::Mat1b::zeros(800, 1000);
    page_.color = cv::Mat3b(800, 1000, cv::Vec3b(255, 255, 255));
    page_.extent = {0, 0, 1000, 800};
    Panel panel;
    panel.frame = FrameMapping::FromCorners({ImagePoint{100, 100}, {900, 100}, {900, 700}, {100, 700}});
    panel.x = Fit({Quantity::kCorrectedMassFlow, "lb/min", AxisScale::kLinear, 0.0, 80.0});
    panel.y = Fit({Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 4.0});
    axes_.panels.push_back(panel);
    judged_.kind = MapKind::kCompressor;
    judged_.curves = {Line(CurveRole::kSpeedLine, 90000, {200, 300}, {800, 340}), Line(CurveRole::kSpeedLine, 60000, {200, 500}, {800, 540}),
                      Island({500, 420}, 60)};
  }

  static AxisFit Fit(const Axis& axis) {
    AxisFit fit;
    fit.axis = axis;
    fit.offset = axis.min;
    fit.slope = axis.max - axis.min;
    return fit;
  }
  static JudgedCurve Line(CurveRole role, double value, ImagePoint from, ImagePoint to) {
    JudgedCurve curve;
    for (int i = 0; i <= 100; ++i) curve.trace.points.push_back({from.x + (to.x - from.x) * i / 100.0, from.y + (to.y - from.y) * i / 100.0});
    Finish(curve, role, value, "rpm");
    return curve;
  }
  static JudgedCurve Island(ImagePoint center, double radius) {
    JudgedCurve curve;
    for (int i = 0; i < 120; ++i)
      curve.trace.points.push_back({center.x + radius * std::cos(i * CV_PI / 60), center.y + radius * std::sin(i * CV_PI / 60)});
    curve.trace.closed = true;
    Finish(curve, CurveRole::kEfficiencyIsland, 0.74, "1");
    return curve;
  }
  static void Finish(JudgedCurve& curve, CurveRole role, double value, const char* unit) {
    curve.trace.sigma_px.assign(curve.trace.points.size(), 0.1F);
    curve.trace.bridged.assign(curve.trace.points.size(), 0);
    curve.role = role;
    curve.value = value;
    curve.unit = unit;
    curve.confidence = 0.9;
  }

  CurveCorrections Apply(const std::string& corrections) {
    const auto recipe = ParseRecipe(R"({"recipe": 1, "corrections": [)" + corrections + "]}");
    EXPECT_TRUE(recipe.has_value()) << (recipe ? "" : recipe.error().place + recipe.error().message);
    return ApplyCurveCorrections(*recipe, page_, {}, axes_, judged_);
  }
  std::vector<std::string> ApplyAxes(const std::string& corrections) {
    const auto recipe = ParseRecipe(R"({"recipe": 1, "corrections": [)" + corrections + "]}");
    EXPECT_TRUE(recipe.has_value()) << (recipe ? "" : recipe.error().place + recipe.error().message);
    std::vector<std::string> reasons;
    for (const FailedCorrection& failed : ApplyAxesCorrections(*recipe, page_, ridges_, axes_)) reasons.push_back(failed.reason);
    return reasons;
  }

  Page page_;
  RidgesFound ridges_;
  AxesFound axes_;
  JudgedMap judged_;
};

TEST_F(Corrections, TheNearestCurveIsMeant) {
  const auto result = Apply(R"({"do": "relabel_curve", "curve": {"near_px": [500, 317]}, "value": 95000, "unit": "rpm"})");
  EXPECT_THAT(result.applied, ElementsAre(true));
  EXPECT_THAT(result.failed, IsEmpty());
  EXPECT_EQ(judged_.curves[0].value, 95000.0);
  EXPECT_EQ(judged_.curves[1].value, 60000.0);
}

TEST_F(Corrections, RoleAndValueDecideBetweenCurvesThatAreBothClose) {
  // Two speed lines cross at (500, 420).
  judged_.curves[0] = Line(CurveRole::kSpeedLine, 90000, {200, 300}, {800, 540});
  judged_.curves[1] = Line(CurveRole::kSurgeLine, 60000, {200, 540}, {800, 300});
  judged_.curves.pop_back();
  Apply(R"({"do": "delete_curve", "curve": {"near_px": [500, 419], "role": "surge_line"}})");
  ASSERT_EQ(judged_.curves.size(), 1U);
  EXPECT_EQ(judged_.curves[0].role, CurveRole::kSpeedLine);
}

TEST_F(Corrections, APlaceWithoutACurveIsTold) {
  const auto result = Apply(R"({"do": "delete_curve", "curve": {"near_px": [150, 120]}}, {"do": "set_title", "title": "A"})");
  EXPECT_THAT(result.applied, ElementsAre(false, true));
  EXPECT_EQ(judged_.curves.size(), 3U);
  const auto recipe = ParseRecipe(R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": {"near_px": [150, 120]}}]})");
  EXPECT_EQ(LostCorrection(0, recipe->corrections[0], "there is no curve"),
            "correction 1 (delete the curve near (150, 120)) does not apply: there is no curve");
}

TEST_F(Corrections, APersonsWordSettlesWhatItIsAboutOnly) {
  judged_.curves[1].trace.doubts = {"a long part of it is bridged"};
  judged_.curves[1].reasons = {"no label was read for it", "a long part of it is bridged"};
  judged_.curves[1].confidence = 0.3;
  Apply(R"({"do": "relabel_curve", "curve": {"near_px": [500, 520]}, "value": 61000, "unit": "rpm"})");
  EXPECT_THAT(judged_.curves[1].reasons, ElementsAre("a long part of it is bridged"));
  Apply(R"({"do": "accept_curve", "curve": {"near_px": [500, 520]}})");
  EXPECT_THAT(judged_.curves[1].reasons, IsEmpty());
  EXPECT_EQ(judged_.curves[1].confidence, 1.0);
  // Taking the value away is a doubt of its own.
  Apply(R"({"do": "relabel_curve", "curve": {"near_px": [500, 520]}, "value": null})");
  EXPECT_FALSE(judged_.curves[1].value.has_value());
  EXPECT_FALSE(judged_.curves[1].reasons.empty());
}

TEST_F(Corrections, ATraceMayStandInsteadOfACurve) {
  const std::string trace =
      R"({"do": "trace_curve", "role": "speed_line", "value": 91000, "unit": "rpm", "through_px": [[301, 310], [502, 330], [696, 340]],)";
  Apply(trace + R"("instead_of": {"near_px": [500, 320]}})");
  ASSERT_EQ(judged_.curves.size(), 3U);
  EXPECT_EQ(judged_.curves[0].value, 60000.0);
  EXPECT_EQ(judged_.curves[2].value, 91000.0);
  // What was to go away is not there any more: the person's curve stands all the same.
  Apply(trace + R"("instead_of": {"near_px": [150, 120]}})");
  EXPECT_EQ(judged_.curves.size(), 4U);
}

TEST_F(Corrections, SeveralCurvesMayGoAwayForOne) {
  Apply(R"({"do": "add_curve", "role": "surge_line", "points_px": [[200, 600], [250, 400], [300, 200]],
            "instead_of": [{"near_px": [500, 320]}, {"near_px": [500, 480], "role": "efficiency_island"}, {"near_px": [150, 120]}]})");
  ASSERT_EQ(judged_.curves.size(), 2U);
  EXPECT_EQ(judged_.curves[0].value, 60000.0);
  EXPECT_EQ(judged_.curves[1].role, CurveRole::kSurgeLine);
}

// One line was found in three pieces, and a fourth was joined to it where they cross.
TEST_F(Corrections, ADrawnCurveTakesTheInkThatWasFoundAsPieces) {
  judged_.curves[0] = Line(CurveRole::kSpeedLine, 90000, {200, 300}, {420, 300});
  judged_.curves.push_back(Line(CurveRole::kEfficiencyIsland, 0.7, {700, 301}, {800, 301}));
  JudgedCurve wrong = Line(CurveRole::kEfficiencyIsland, 0.6, {460, 300}, {640, 300});
  const JudgedCurve tail = Line(CurveRole::kEfficiencyIsland, 0.6, {650, 302}, {890, 480});
  wrong.trace.points.insert(wrong.trace.points.end(), tail.trace.points.begin(), tail.trace.points.end());
  wrong.trace.sigma_px.resize(wrong.trace.points.size(), 0.1F);
  wrong.trace.bridged.resize(wrong.trace.points.size(), 0);
  judged_.curves.push_back(wrong);
  const JudgedCurve across = Line(CurveRole::kSurgeLine, 0, {300, 200}, {340, 600});
  judged_.curves.push_back(across);
  Apply(R"({"do": "add_curve", "role": "speed_line", "value": 90000, "unit": "rpm", "points_px": [[200, 300], [800, 300]]})");
  ASSERT_EQ(judged_.curves.size(), 5U) << "both pieces are gone";
  const JudgedCurve& left = judged_.curves[2];
  EXPECT_FALSE(left.value.has_value());
  EXPECT_FALSE(left.reasons.empty());
  EXPECT_NEAR(left.trace.points.front().x, 650.0, 12.0);
  EXPECT_NEAR(left.trace.points.back().x, 890.0, 1e-9);
  EXPECT_EQ(left.trace.points.size(), left.trace.sigma_px.size());
  EXPECT_EQ(left.trace.points.size(), left.trace.bridged.size());
  EXPECT_EQ(judged_.curves[3].trace.points.size(), across.trace.points.size()) << "what only crosses loses nothing";
  // What a person drew before stays.
  Apply(R"({"do": "add_curve", "role": "speed_line", "value": 91000, "unit": "rpm", "points_px": [[200, 300], [800, 300]]})");
  EXPECT_EQ(judged_.curves.size(), 6U);
}

TEST_F(Corrections, ARelabeledCurveMayGetItsRoleAtOnce) {
  Apply(R"({"do": "relabel_curve", "curve": {"near_px": [500, 480]}, "role": "speed_line", "value": 75000, "unit": "rpm"})");
  EXPECT_EQ(judged_.curves[2].role, CurveRole::kSpeedLine);
  EXPECT_EQ(judged_.curves[2].value, 75000.0);
  EXPECT_TRUE(judged_.curves[2].word.role && judged_.curves[2].word.value);
}

TEST_F(Corrections, WhatWasAcceptedIsWhatThePersonSaw) {
  judged_.curves[1].value.reset();
  judged_.curves[1].unit.clear();
  Apply(R"({"do": "accept_curve", "curve": {"near_px": [500, 520], "role": "speed_line", "value": 61000}})");
  EXPECT_EQ(judged_.curves[1].value, 61000.0);
  EXPECT_EQ(judged_.curves[1].unit, "rpm") << "as the others of its family";
}

TEST_F(Corrections, RolesThatCarryNoValueLoseIt) {
  Apply(R"({"do": "set_role", "curve": {"near_px": [500, 320]}, "role": "surge_line"})");
  EXPECT_EQ(judged_.curves[0].role, CurveRole::kSurgeLine);
  EXPECT_FALSE(judged_.curves[0].value.has_value());
}

TEST_F(Corrections, CuttingAnOpenCurveGivesTwoAndClosedOneEnd) {
  Apply(R"({"do": "cut_curve", "curve": {"near_px": [400, 313]}})");
  ASSERT_EQ(judged_.curves.size(), 4U);
  EXPECT_EQ(judged_.curves[0].trace.points.size() + judged_.curves[1].trace.points.size(), 101U);
  EXPECT_EQ(judged_.curves[1].value, 90000.0) << "the longer part keeps the value";
  EXPECT_FALSE(judged_.curves[0].value.has_value());
  EXPECT_FALSE(judged_.curves[0].reasons.empty()) << "the shorter part asks to be looked at";
  Apply(R"({"do": "cut_curve", "curve": {"near_px": [500, 480]}})");
  const JudgedCurve& island = judged_.curves[3];
  EXPECT_FALSE(island.trace.closed);
  EXPECT_EQ(island.trace.points.size(), 120U);
  EXPECT_NEAR(island.trace.points.front().y, 480.0, 3.0);
  EXPECT_NEAR(island.trace.points.back().y, 480.0, 3.0);
  const auto at_end = Apply(R"({"do": "cut_curve", "curve": {"near_px": [800, 540]}})");
  ASSERT_EQ(at_end.failed.size(), 1U);
  EXPECT_THAT(at_end.failed[0].reason, HasSubstr("nothing to cut off"));
}

TEST_F(Corrections, JoiningTurnsThePartsAsTheyFit) {
  // Two halves of one line; the right half runs against the left one.
  judged_.curves[0] = Line(CurveRole::kSpeedLine, 90000, {200, 300}, {490, 320});
  judged_.curves[1] = Line(CurveRole::kSpeedLine, 90000, {800, 340}, {520, 322});
  judged_.curves[1].value.reset();
  const auto result = Apply(R"({"do": "join_curves", "curve": {"near_px": [300, 307]}, "with": {"near_px": [700, 334]}})");
  EXPECT_THAT(result.failed, IsEmpty());
  ASSERT_EQ(judged_.curves.size(), 2U);
  const TracedCurve& joined = judged_.curves[0].trace;
  ASSERT_EQ(joined.points.size(), joined.sigma_px.size());
  ASSERT_EQ(joined.points.size(), joined.bridged.size());
  for (std::size_t i = 1; i < joined.points.size(); ++i) EXPECT_GT(joined.points[i].x, joined.points[i - 1].x);
  EXPECT_NEAR(joined.points.front().x, 200, 1e-9);
  EXPECT_NEAR(joined.points.back().x, 800, 1e-9);
  EXPECT_EQ(judged_.curves[0].value, 90000.0);
  const auto same = Apply(R"({"do": "join_curves", "curve": {"near_px": [300, 307]}, "with": {"near_px": [700, 334]}})");
  EXPECT_THAT(same.failed, ElementsAre(Field(&FailedCorrection::reason, HasSubstr("same curve"))));
  const auto closed = Apply(R"({"do": "join_curves", "curve": {"near_px": [300, 307]}, "with": {"near_px": [500, 480]}})");
  EXPECT_THAT(closed.failed, ElementsAre(Field(&FailedCorrection::reason, HasSubstr("closed curve"))));
}

TEST_F(Corrections, AddedCurvesKeepTheirPoints) {
  Apply(R"({"do": "add_curve", "role": "surge_line", "points_px": [[200, 600], [250, 400], [300, 200]]})");
  ASSERT_EQ(judged_.curves.size(), 4U);
  const JudgedCurve& added = judged_.curves.back();
  EXPECT_EQ(added.role, CurveRole::kSurgeLine);
  EXPECT_EQ(added.trace.points.size(), 3U);
  EXPECT_EQ(added.trace.points[1].x, 250.0);
  EXPECT_THAT(added.reasons, IsEmpty());
  EXPECT_GT(added.trace.sigma_px[0], 0.5F);
  EXPECT_THAT(Apply(R"({"do": "add_curve", "role": "other", "points_px": [[10, 790], [20, 790]]})").applied, ElementsAre(false))
      << "far from any plot";
}

TEST_F(Corrections, TracingFollowsTheInkToSubPixels) {
  // An arc of radius 300 about (500, 900): its line is where the ink is, whatever a person's hand does.
  for (int y = 0; y < page_.ink.rows; ++y)
    for (int x = 0; x < page_.ink.cols; ++x)
      page_.ink(y, x) = cv::saturate_cast<std::uint8_t>(255 * std::clamp(1.75 - std::abs(std::hypot(x - 500.0, y - 900.0) - 300.0), 0.0, 1.0));
  cv::GaussianBlur(page_.ink, page_.ink, {0, 0}, 0.7);
  const auto result =
      Apply(R"({"do": "trace_curve", "role": "speed_line", "value": 75000, "unit": "rpm", "through_px": [[301, 674], [502, 598], [696, 673]]})");
  EXPECT_THAT(result.failed, IsEmpty());
  ASSERT_EQ(judged_.curves.size(), 4U);
  const TracedCurve& trace = judged_.curves.back().trace;
  ASSERT_GT(trace.points.size(), 50U);
  std::vector<double> off;
  for (const ImagePoint& p : trace.points) off.push_back(std::abs(std::hypot(p.x - 500.0, p.y - 900.0) - 300.0));
  std::sort(off.begin(), off.end());
  EXPECT_LT(off[off.size() / 2], 0.1);
  EXPECT_LT(off.back(), 0.5);
  EXPECT_LT(trace.points.front().x, 310.0);
  EXPECT_GT(trace.points.back().x, 690.0);
}

TEST_F(Corrections, AnAxisIsSetAsFarAsItIsGiven) {
  axes_.panels[0].x->doubts = {"the unit was not read"};
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "x", "unit": "kg/s", "quantity": "corrected_mass_flow"})"), IsEmpty());
  EXPECT_EQ(axes_.panels[0].x->axis.unit, "kg/s");
  EXPECT_EQ(axes_.panels[0].x->axis.max, 80.0);
  EXPECT_THAT(axes_.panels[0].x->doubts, IsEmpty());
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "y", "scale": "log", "min": 1, "max": 4})"), IsEmpty());
  EXPECT_NEAR(axes_.panels[0].y->ValueAt(0.5), 2.0, 1e-12);
  EXPECT_NEAR(axes_.panels[0].y->ValueAt(1.0), 4.0, 1e-12);
}

// 0 to 80 is what is printed: 0 to 8 is a slip, 0 to 81 somebody's better reading of the frame's end.
TEST_F(Corrections, EndsThatThePrintedNumbersContradictAreDoubted) {
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "x", "min": 0, "max": 81})"), IsEmpty());
  EXPECT_THAT(axes_.panels[0].x->doubts, IsEmpty());
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "x", "min": 0, "max": 8})"), IsEmpty());
  EXPECT_EQ(axes_.panels[0].x->axis.max, 8.0);  // the person's word stands
  EXPECT_THAT(axes_.panels[0].x->doubts, ElementsAre(HasSubstr("set by hand to 0 and 8")));
  axes_.panels[0].x->doubts = {"the numbers could not be read well"};
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "x", "min": 0, "max": 80})"), IsEmpty());
  EXPECT_THAT(axes_.panels[0].x->doubts, IsEmpty());  // numbers that were in doubt contradict nobody
}

TEST_F(Corrections, AnAxisThatWasNotFoundNeedsEverything) {
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "efficiency", "unit": "%"})"), ElementsAre(HasSubstr("all needed")));
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "efficiency", "quantity": "efficiency_ts", "unit": "%", "min": 0, "max": 80})"), IsEmpty());
  ASSERT_TRUE(axes_.panels[0].right.has_value());
  EXPECT_EQ(axes_.panels[0].right->ValueAt(0.25), 20.0);
  EXPECT_THAT(ApplyAxes(R"({"do": "set_axis", "axis": "x", "unit": "kg/s", "panel_px": [5, 5]})"), ElementsAre(HasSubstr("no plot")));
}

TEST_F(Corrections, CornersMoveTheFrameAndTheValuesStayWhereTheyWere) {
  // The true frame ends at x = 860: what was read as 80 there was at 900.
  EXPECT_THAT(ApplyAxes(R"({"do": "set_frame", "corners_px": [[100, 100], [860, 100], [860, 700], [100, 700]], "exact": true})"), IsEmpty());
  const Panel& panel = axes_.panels[0];
  EXPECT_NEAR(panel.frame.Corners()[1].x, 860.0, 1e-6);
  EXPECT_NEAR(panel.x->ValueAt(1.0), 76.0, 1e-6);
  EXPECT_NEAR(panel.x->axis.max, 76.0, 1e-6);
  const FramePoint at = panel.frame.FrameFromImage({500, 400});
  EXPECT_NEAR(panel.x->ValueAt(at.u), 40.0, 1e-6);
  EXPECT_NEAR(panel.y->ValueAt(at.v), 2.5, 1e-6);
}

TEST_F(Corrections, CornersAndBothAxesMakeAPlotWhereNoneWasFound) {
  axes_ = {};
  EXPECT_THAT(ApplyAxes(R"({"do": "set_frame", "corners_px": [[100, 100], [900, 110], [890, 700], [105, 690]]},
                           {"do": "set_axis", "axis": "x", "quantity": "corrected_mass_flow", "unit": "kg/s", "min": 0, "max": 1},
                           {"do": "set_axis", "axis": "y", "quantity": "pressure_ratio_tt", "unit": "1", "min": 1, "max": 3})"),
              IsEmpty());
  ASSERT_EQ(axes_.panels.size(), 1U);
  EXPECT_TRUE(axes_.panels[0].x && axes_.panels[0].y);
}

TEST_F(Corrections, CornersFollowTheDrawnSides) {
  // Sides that bow by 3 px, as on a bent page; the person's corners are two pixels off.
  auto side = [&](ImagePoint from, ImagePoint to, double bow_x, double bow_y) {
    RidgeChain chain;
    const double length = std::hypot(to.x - from.x, to.y - from.y);
    for (double s = 0; s <= length; s += 1.0) {
      const double t = s / length, bow = 4 * t * (1 - t);
      chain.points.push_back({from.x + (to.x - from.x) * t + bow * bow_x, from.y + (to.y - from.y) * t + bow * bow_y});
    }
    chain.strength.assign(chain.points.size(), 50.0F);
    chain.length_px = length;
    ridges_.chains.push_back(chain);
  };
  side({100, 100}, {900, 100}, 0, 3);
  side({900, 100}, {900, 700}, 0, 0);
  side({100, 700}, {900, 700}, 0, 3);
  side({100, 100}, {100, 700}, 0, 0);
  EXPECT_THAT(ApplyAxes(R"({"do": "set_frame", "corners_px": [[101, 98], [902, 101], [899, 702], [98, 699]]})"), IsEmpty());
  const FrameMapping& frame = axes_.panels[0].frame;
  EXPECT_NEAR(frame.Corners()[0].x, 100.0, 0.3);
  EXPECT_NEAR(frame.Corners()[2].y, 700.0, 0.3);
  EXPECT_NEAR(frame.ImageFromFrame({0.5, 1.0}).y, 103.0, 0.3) << "the bow is followed";
  for (const bool furniture : axes_.chain_is_furniture) EXPECT_TRUE(furniture);
}

TEST_F(Corrections, TitleAndReferenceConditions) {
  PerformanceMap map;
  map.needs_review = {"no reference conditions are printed", "x axis: the unit was not read"};
  const auto recipe = ParseRecipe(
      R"({"recipe": 1, "corrections": [{"do": "set_reference", "temperature_K": 298, "pressure_Pa": 100000}, {"do": "set_title", "title": "Rowan 83"}]})");
  ApplyMapCorrections(*recipe, map);
  ASSERT_TRUE(map.reference_conditions.has_value());
  EXPECT_EQ(map.reference_conditions->temperature_K, 298.0);
  EXPECT_EQ(map.reference_conditions->basis, ReferenceConditions::Basis::kPrinted);
  EXPECT_EQ(map.title, "Rowan 83");
  EXPECT_THAT(map.needs_review, ElementsAre("x axis: the unit was not read"));
  PerformanceMap silent;
  ApplyMapCorrections(*ParseRecipe(R"({"recipe": 1, "settings": {"assumed_reference": {"temperature_K": 288.15, "pressure_Pa": 101325}}})"), silent);
  ASSERT_TRUE(silent.reference_conditions.has_value());
  EXPECT_EQ(silent.reference_conditions->basis, ReferenceConditions::Basis::kAssumed);
}

}  // namespace
}  // namespace islebook
