// Sheets that lie on their side or head, by painted sheets turned: the same map comes out, in the turned sheet's pixels.

#include "digitizer/axes/writing_turn.h"

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "digitizer/digitize.h"
#include "tests/support/gui_application.h"
#include "tests/support/sheet_match.h"
#include "tests/support/sheet_painter.h"

namespace islebook {
namespace {

struct Lying {
  Sheet sheet;
  paint::TrueMap truth;  // in the turned sheet's pixels
};

// `turns` quarter turns clockwise.
Lying PaintTurned(const char* style, std::uint64_t seed, int turns) {
  paint::NeedGuiApplication();
  const paint::PaintedSheet painted = paint::PaintStyle(style, seed, 1.0);
  const QImage image = painted.image.convertToFormat(QImage::Format_RGB888);
  Lying lying;
  lying.sheet.file = "turned.png";
  lying.sheet.format = "png";
  lying.sheet.pixels.create(image.height(), image.width());
  for (int y = 0; y < image.height(); ++y)
    for (int x = 0; x < image.width(); ++x) {
      const uchar* p = image.constScanLine(y) + 3 * x;
      lying.sheet.pixels(y, x) = {p[2], p[1], p[0]};
    }
  lying.truth = painted.maps[0];
  for (int turn = 0; turn < turns; ++turn) {
    const double height = lying.sheet.pixels.rows;
    cv::Mat3b next;
    cv::rotate(lying.sheet.pixels, next, cv::ROTATE_90_CLOCKWISE);
    lying.sheet.pixels = next;
    lying.truth.MovePixels([height](Point2 p) { return Point2{height - 1.0 - p.y, p.x}; });
  }
  return lying;
}

TEST(WritingTurnTest, ALyingSheetGivesItsMapInItsOwnPixels) {
  for (const int turns : {1, 2, 3}) {
    const Lying lying = PaintTurned(turns == 2 ? "atlas" : "ledger", 911, turns);
    const auto result = Digitize(lying.sheet);
    ASSERT_TRUE(result && !result->maps.empty()) << turns;
    const PerformanceMap& map = result->maps[0];
    const paint::SheetMatch match = paint::MatchSheet(lying.truth, map);
    EXPECT_TRUE(match.axes_right) << turns;
    EXPECT_GE(match.curves.size(), 0.8 * static_cast<double>(lying.truth.curves.size())) << turns;
    EXPECT_EQ(map.source->size_px[0], lying.sheet.pixels.cols);
  }
}

TEST(WritingTurnTest, AnUprightSheetStays) {
  const Lying upright = PaintTurned("courbe", 912, 0);
  const auto page = FlattenPage(upright.sheet);
  ASSERT_TRUE(page);
  const auto print = FindPrint(*page, {});
  auto reader = PrintReader::Open();
  ASSERT_TRUE(print && reader);
  EXPECT_EQ(FindWritingTurn(*page, *print, **reader).quarter_turns, 0);
}

TEST(WritingTurnTest, WithoutLettersThereIsNoEvidence) {
  Sheet blank;
  blank.pixels = cv::Mat3b(400, 600, cv::Vec3b(255, 255, 255));
  const auto page = FlattenPage(blank);
  ASSERT_TRUE(page);
  auto reader = PrintReader::Open();
  ASSERT_TRUE(reader);
  EXPECT_EQ(FindWritingTurn(*page, PrintFound{}, **reader).quarter_turns, 0);
}

}  // namespace
}  // namespace islebook
