#include <algorithm>
#include <cmath>
#include <optional>

#include <gtest/gtest.h>

#include "digitizer/labels/labels.h"
#include "tests/digitizer/print/drawn_words.h"

namespace islebook {
namespace {

// A frame with two speed lines and an island, their labels, and a note inside the frame.
class ReadLabelsTest : public testing::Test {
 protected:
  void SetUp() override {
    sheet_.Line({{60, 40}, {740, 40}, {740, 460}, {60, 460}, {60, 40}}, 1.5);
    Add(Arc({150, 370}, {560, 420}, 40.0), false);  // 0: ends at (560, 420)
    Add(Arc({220, 180}, {640, 330}, 70.0), false);  // 1: ends at (640, 330)
    Add(Ellipse({380, 260}, 110, 45), true);        // 2
    sheet_.Write("90,000", 593, 428, 0.0, 12.0);
    sheet_.Write("120,000", 677, 338, 0.0, 12.0);
    sheet_.Write("0.74", 380, 305, 0.0, 12.0, true);
    sheet_.Write("Tref = 298 K, pref = 100 kPa", 220, 70, 0.0, 12.0);
    for (int i = 0; i <= 6; ++i) sheet_.Write(std::to_string(i * 10), 60 + 113.0 * i, 480, 0.0, 12.0);
    axes_.panels.push_back({FrameMapping::FromCorners({ImagePoint{60, 40}, {740, 40}, {740, 460}, {60, 460}}), {}, {}, {}});
  }

  static std::vector<ImagePoint> Arc(ImagePoint from, ImagePoint to, double sag) {
    std::vector<ImagePoint> points;
    for (int i = 0; i <= 120; ++i) {
      const double t = i / 120.0;
      points.push_back({from.x + t * (to.x - from.x), from.y + t * (to.y - from.y) - 4.0 * sag * t * (1.0 - t)});
    }
    return points;
  }
  static std::vector<ImagePoint> Ellipse(ImagePoint center, double a, double b) {
    std::vector<ImagePoint> points;
    for (int i = 0; i < 150; ++i) points.push_back({center.x + a * std::cos(i * 0.041888), center.y + b * std::sin(i * 0.041888)});
    return points;
  }
  void Add(std::vector<ImagePoint> points, bool closed) {
    TracedCurve curve;
    curve.closed = closed;
    curve.bridged.assign(points.size(), 0);
    curve.points = points;
    if (closed) points.push_back(points.front());
    sheet_.Line(points, 1.5);
    curves_.curves.push_back(std::move(curve));
  }
  Result<LabelsRead> Run() {
    page_ = sheet_.ToPage(0.6, 3.0);
    auto print = FindPrint(page_, {});
    if (!print) return std::unexpected(print.error());
    axes_.print_use.assign(print->words.size(), PrintUse::kNone);
    auto reader = PrintReader::Open();
    if (!reader) return std::unexpected(reader.error());
    return ReadLabels(page_, *print, axes_, 0, curves_, **reader);
  }

  WordSheet sheet_{800, 500};
  Page page_;
  AxesFound axes_;
  CurvesFound curves_;
};

TEST_F(ReadLabelsTest, ValuesAndTheirCurves) {
  const auto read = Run();
  ASSERT_TRUE(read) << read.error().message;
  ASSERT_EQ(read->labels.size(), 3U);  // not the note, not the numbers below the frame
  const auto with = [&](double value) {
    return std::find_if(read->labels.begin(), read->labels.end(), [&](const CurveLabel& l) { return l.value == value; });
  };
  const auto slow = with(90000), fast = with(120000), island = with(0.74);
  ASSERT_NE(slow, read->labels.end());
  ASSERT_NE(fast, read->labels.end());
  ASSERT_NE(island, read->labels.end());
  ASSERT_FALSE(slow->candidates.empty());
  EXPECT_EQ(slow->candidates[0].curve, 0U);
  EXPECT_EQ(slow->candidates[0].place, LabelPlace::kAtEnd);
  EXPECT_EQ(fast->candidates[0].curve, 1U);
  EXPECT_EQ(island->candidates[0].curve, 2U);
  EXPECT_EQ(island->candidates[0].place, LabelPlace::kOnLine);
  EXPECT_EQ(island->unit, "1");
  EXPECT_EQ(slow->unit, "");
}

TEST_F(ReadLabelsTest, GroupsOfThreeAndUnitsSetApart) {
  sheet_.Write("105 000", 150, 380, 0.0, 12.0);
  sheet_.Write("350 m/s", 300, 400, 0.0, 12.0);
  const auto read = Run();
  ASSERT_TRUE(read);
  const auto has = [&](double value, const std::string& unit) {
    return std::any_of(read->labels.begin(), read->labels.end(), [&](const CurveLabel& l) { return l.value == value && l.unit == unit; });
  };
  EXPECT_TRUE(has(105000, ""));
  EXPECT_TRUE(has(350, "m/s"));
}

TEST_F(ReadLabelsTest, RefusesAPanelThatIsNotThere) {
  auto reader = PrintReader::Open();
  ASSERT_TRUE(reader);
  EXPECT_FALSE(ReadLabels(page_, {}, axes_, 5, curves_, **reader));
}

}  // namespace
}  // namespace islebook
