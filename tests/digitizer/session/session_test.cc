#include "digitizer/session.h"

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <QGuiApplication>

#include "mapstore/map/map_document.h"
#include "tests/digitizer/sheet/sheet_files.h"
#include "tests/support/page_wear.h"
#include "tests/support/sheet_painter.h"

namespace islebook {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

// A painted sheet, decoded once for all tests.
std::shared_ptr<const Sheet> PaintedSheet() {
  static const std::shared_ptr<const Sheet> sheet = [] {
    static int argc = 1;
    static char name[] = "session_test";
    static char* argv[] = {name, nullptr};
    qputenv("QT_QPA_PLATFORM", "offscreen");
    static QGuiApplication application(argc, argv);
    paint::Random random(31);
    const paint::WornSheet worn = paint::Wear(paint::PaintStyle(paint::StyleNames().front(), 31, 1.0), paint::WearClass::kClean, {}, random);
    const std::vector<std::uint8_t> bytes(worn.bytes.begin(), worn.bytes.end());
    return std::make_shared<const Sheet>(DecodeSheet(bytes, "painted.png").value());
  }();
  return sheet;
}

std::vector<std::string> StagesDone(const DigitizeResult& result) {
  std::vector<std::string> names;
  for (const StageTime& time : result.times) names.push_back(time.stage);
  return names;
}

Recipe RecipeOf(const std::string& corrections) { return ParseRecipe(R"({"recipe": 1, "corrections": [)" + corrections + "]}").value(); }

// A web picture put into a PDF gives the map that the picture gives: the same values, its places in pixels of the page at 300 dpi.
TEST(Session, AScanInAPdfIsTheSameMap) {
  const auto picture = ReadSheet(std::string(ISLEBOOK_SOURCE_DIR) + "/sample_maps/birch-52/birch-52-web.jpg");
  ASSERT_TRUE(picture.has_value());
  const auto page = DecodeSheet(testing::MakeScanPdf(picture->pixels, 110.0), "web.pdf");
  ASSERT_TRUE(page.has_value()) << page.error().message;
  Session plain_session(std::make_shared<const Sheet>(*picture)), page_session(std::make_shared<const Sheet>(*page));
  const auto plain = plain_session.Run(), scanned = page_session.Run();
  ASSERT_TRUE(plain.has_value() && scanned.has_value());
  const std::vector<Curve>&a = plain->maps.front().curves, &b = scanned->maps.front().curves;
  ASSERT_GT(a.size(), 10U);
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].value, b[i].value);
    ASSERT_EQ(a[i].points.size(), b[i].points.size());
    EXPECT_NEAR(a[i].points.front().x, b[i].points.front().x, 1e-9);
    EXPECT_NEAR((a[i].points_px.front().x + 0.5) * 300.0 / 110.0 - 0.5, b[i].points_px.front().x, 0.01);
  }
}

TEST(Session, OnlyWhatLapsedIsDoneAgain) {
  Session session(PaintedSheet());
  const auto first = session.Run();
  ASSERT_TRUE(first.has_value()) << first.error().message;
  EXPECT_THAT(StagesDone(*first), ::testing::ElementsAre("page", "ridges", "print", "axes", "curves", "judge"));
  EXPECT_THAT(StagesDone(*session.Run()), ::testing::IsEmpty());
  session.SetRecipe(RecipeOf(R"({"do": "set_title", "title": "Alder 52"})"));
  EXPECT_THAT(StagesDone(*session.Run()), ::testing::ElementsAre("judge"));
  session.SetRecipe(RecipeOf(R"({"do": "set_axis", "axis": "x", "unit": "kg/s"})"));
  EXPECT_THAT(StagesDone(*session.Run()), ::testing::ElementsAre("curves", "judge"));
}

TEST(Session, CorrectedStepByStepOrReplayedAtOnceIsTheSame) {
  Session session(PaintedSheet());
  ASSERT_TRUE(session.Run().has_value());
  session.SetRecipe(RecipeOf(R"({"do": "set_title", "title": "Alder 52"})"));
  ASSERT_TRUE(session.Run().has_value());
  const Recipe recipe = RecipeOf(R"({"do": "set_title", "title": "Alder 52"}, {"do": "set_reference", "temperature_K": 298, "pressure_Pa": 100000})");
  session.SetRecipe(recipe);
  const auto stepwise = session.Run();
  const auto at_once = Digitize(*PaintedSheet(), recipe);
  ASSERT_TRUE(stepwise && at_once);
  ASSERT_EQ(stepwise->maps.size(), at_once->maps.size());
  for (std::size_t i = 0; i < at_once->maps.size(); ++i) EXPECT_EQ(WriteMapDocument(stepwise->maps[i]), WriteMapDocument(at_once->maps[i]));
}

TEST(Session, ACancelKeepsWhatIsDone) {
  Session session(PaintedSheet());
  std::vector<std::string> seen;
  const auto stopped = session.Run([&](const char* stage, double part) {
    EXPECT_GE(part, 0.0);
    EXPECT_LE(part, 1.0);
    seen.push_back(stage);
    return std::string(stage) != "axes";
  });
  ASSERT_FALSE(stopped.has_value());
  EXPECT_EQ(stopped.error().code, ErrorCode::kCancelled);
  EXPECT_THAT(seen, ::testing::ElementsAre("page", "ridges", "print", "axes"));
  const auto rest = session.Run();
  ASSERT_TRUE(rest.has_value());
  EXPECT_THAT(StagesDone(*rest), ::testing::ElementsAre("axes", "curves", "judge"));
}

TEST(Session, ABlankSheetGivesADocumentWithTheReason) {
  auto blank = std::make_shared<Sheet>();
  blank->file = "blank.png";
  blank->pixels = cv::Mat3b(600, 800, cv::Vec3b(255, 255, 255));
  const auto result = Session(blank).Run();
  ASSERT_TRUE(result.has_value()) << result.error().message;
  ASSERT_EQ(result->maps.size(), 1U);
  EXPECT_FALSE(result->maps[0].kind.has_value());
  EXPECT_TRUE(result->maps[0].curves.empty());
  EXPECT_FALSE(result->maps[0].needs_review.empty());
  EXPECT_TRUE(NeedsReview(result->maps[0]));
}

TEST(Session, ACorrectionWithoutItsCurveIsADoubt) {
  const auto result = Digitize(*PaintedSheet(), RecipeOf(R"({"do": "delete_curve", "curve": {"near_px": [1, 1]}})"));
  ASSERT_TRUE(result.has_value());
  EXPECT_THAT(result->maps[0].needs_review, Contains(HasSubstr("correction 1 (delete the curve near (1, 1)) does not apply")));
}

}  // namespace
}  // namespace islebook
