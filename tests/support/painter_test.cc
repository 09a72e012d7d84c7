// The painter's truth is true: curves and frames lie where it says, in the clean drawing and through every wear.

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

#include <gtest/gtest.h>
#include <QBuffer>
#include <QImage>
#include <QImageReader>

#include "tests/support/gui_application.h"
#include "tests/support/level_set.h"
#include "tests/support/page_wear.h"
#include "tests/support/sheet_match.h"
#include "tests/support/sheet_painter.h"

namespace islebook::paint {
namespace {

QImage Decode(const WornSheet& worn) {
  QByteArray bytes = worn.bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::ReadOnly);
  QImageReader reader(&buffer);
  reader.setAutoTransform(true);  // as EXIF says
  return reader.read().convertToFormat(QImage::Format_RGB32);
}

double Darkness(const QImage& image, int x, int y) {
  return 255.0 - qGray(image.pixel(std::clamp(x, 0, image.width() - 1), std::clamp(y, 0, image.height() - 1)));
}

double DarknessAt(const QImage& image, double x, double y) {
  const int ix = static_cast<int>(std::floor(x)), iy = static_cast<int>(std::floor(y));
  const double fx = x - ix, fy = y - iy;
  return (Darkness(image, ix, iy) * (1 - fx) + Darkness(image, ix + 1, iy) * fx) * (1 - fy) +
         (Darkness(image, ix, iy + 1) * (1 - fx) + Darkness(image, ix + 1, iy + 1) * fx) * fy;
}

// Where the ink's center lies across a line, measured from p along the normal; and its mass.
struct Across {
  double offset, mass;
};
Across Profile(const QImage& image, Point2 p, Point2 normal, double reach) {
  const double step = 0.05;
  double paper = 1e9;
  for (double t : {-reach, reach}) paper = std::min(paper, DarknessAt(image, p.x + t * normal.x, p.y + t * normal.y));
  double sum = 0, moment = 0;
  for (double t = -reach; t <= reach; t += step) {
    const double ink = DarknessAt(image, p.x + t * normal.x, p.y + t * normal.y) - paper;
    sum += ink * step, moment += ink * t * step;
  }
  return {sum > 0 ? moment / sum : 1e9, sum / 255};
}

// Offsets of speed lines' ink from their truth, where nothing else is near: means over 10 px of line, since a single profile through square pixels
// is itself only good to about 0.05 px.
std::vector<double> InkOffsets(const QImage& image, const TrueMap& map, double width) {
  std::vector<double> offsets;
  const double reach = width / 2 + 4, spacing = 0.5;
  const int window = 20;
  for (std::size_t c = 0; c < map.curves.size(); ++c) {
    const TrueCurve& curve = map.curves[c];
    if (curve.role != CurveRole::kSpeedLine) continue;
    std::vector<std::vector<Point2>> others;
    for (std::size_t k = 0; k < map.curves.size(); ++k) {
      if (k == c) continue;
      others.push_back(map.curves[k].points_px);
      if (map.curves[k].closed) others.back().push_back(others.back().front());
    }
    const std::vector<Point2>& p = curve.points_px;
    double sum = 0, rest = 0;
    int count = 0;
    for (std::size_t i = 0; i + 1 < p.size(); ++i) {
      const double dx = p[i + 1].x - p[i].x, dy = p[i + 1].y - p[i].y, length = std::hypot(dx, dy);
      double at = rest;
      for (; at < length; at += spacing) {
        const Point2 here{p[i].x + dx * at / length, p[i].y + dy * at / length}, normal{-dy / length, dx / length};
        bool good = std::hypot(here.x - p.front().x, here.y - p.front().y) > 25 && std::hypot(here.x - p.back().x, here.y - p.back().y) > 25;
        for (const std::vector<Point2>& other : others) good = good && DistanceTo(here, other) > reach + 7;
        if (good) {
          const Across across = Profile(image, here, normal, reach);
          good = std::abs(across.mass / width - 1) < 0.25;  // no label over it
          sum += across.offset;
        }
        count = good ? count + 1 : 0;
        if (count == 0) sum = 0;
        if (count == window) offsets.push_back(sum / window), sum = 0, count = 0;
      }
      rest = at - length;
    }
  }
  return offsets;
}

// Center of an axis-parallel line from its two edges, by the coverage of the pixels that they cut.
double EdgeCenter(const QImage& image, Point2 p, bool across_x) {
  const int middle = static_cast<int>(std::lround(across_x ? p.x : p.y)), along = static_cast<int>(std::lround(across_x ? p.y : p.x));
  const auto cover = [&](int i) { return (across_x ? Darkness(image, i, along) : Darkness(image, along, i)) / 255; };
  int low = middle, high = middle;
  while (cover(low - 1) > 0.002 && low > middle - 6) --low;
  while (cover(high + 1) > 0.002 && high < middle + 6) ++high;
  const double from = low + 0.5 - cover(low), to = high - 0.5 + cover(high);
  return (from + to) / 2;
}

SheetStyle BareStyle() {
  Random random(5);
  SheetStyle style = DrawStyle("ledger", random);
  style.frame_width = 2;
  style.unlabeled_part = 1.0;
  style.island_labels = LabelLook::kNone;
  style.reference_note_part = 0;
  style.speed.width = 2.4;
  return style;
}

PaintedSheet BareSheet(double scale, std::uint64_t seed) {
  Random random(seed);
  const SheetStyle style = BareStyle();
  return PaintSheet(style, {PlanCompressor(CompressorModel::Draw(random, 64, "Rowan 64"), style, random)}, scale, random);
}

class PainterTest : public testing::Test {
 protected:
  void SetUp() override { NeedGuiApplication(); }
};

TEST_F(PainterTest, CleanCurvesLieOnTheirTruth) {
  int measured = 0;
  for (std::uint64_t seed : {11, 12, 13}) {
    const PaintedSheet sheet = BareSheet(1.0, seed);
    const std::vector<double> offsets = InkOffsets(sheet.image, sheet.maps[0], 2.4);
    measured += static_cast<int>(offsets.size());
    double mean = 0;
    int far = 0;
    for (double o : offsets) {
      mean += o / static_cast<double>(offsets.size());
      far += std::abs(o) > 0.05;
      EXPECT_LT(std::abs(o), 0.07);  // square pixels alone shift a nearly level line's center by this much
    }
    EXPECT_LT(std::abs(mean), 0.005);
    EXPECT_LE(far, static_cast<int>(offsets.size()) / 20);
  }
  EXPECT_GT(measured, 150);
}

TEST_F(PainterTest, CleanFrameLiesOnItsTruth) {
  const PaintedSheet sheet = BareSheet(1.37, 21);
  const auto& f = sheet.maps[0].frame_px;
  for (int side = 0; side < 4; ++side) {
    const Point2 a = f[static_cast<std::size_t>(side)], b = f[static_cast<std::size_t>((side + 1) % 4)];
    const bool across_x = std::abs(b.y - a.y) > std::abs(b.x - a.x);
    std::vector<double> offsets;
    for (double t = 0.05; t < 0.95; t += 0.0073) {
      const Point2 p{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
      offsets.push_back(EdgeCenter(sheet.image, p, across_x) - (across_x ? p.x : p.y));
    }
    std::ranges::sort(offsets);  // ticks disturb some places
    EXPECT_LT(std::abs(offsets[offsets.size() / 2]), 0.01) << "side " << side;
  }
}

TEST_F(PainterTest, WearCarriesTheTruthAlong) {
  for (WearClass wear : {WearClass::kScan, WearClass::kPhoto, WearClass::kWeb, WearClass::kCopy}) {
    const WearLimits limits{2400, 0.7};
    Random random(31);
    const double scale = PaintScale(BareStyle(), wear, limits, random);
    const PaintedSheet sheet = BareSheet(scale, 14);
    const WornSheet worn = Wear(sheet, wear, limits, random);
    const QImage image = Decode(worn);
    ASSERT_EQ(image.width(), worn.facts.size_px[0]) << WearClassName(wear);
    ASSERT_EQ(image.height(), worn.facts.size_px[1]);
    std::vector<double> offsets = InkOffsets(image, worn.maps[0], worn.maps[0].line_width_px);
    ASSERT_GT(offsets.size(), 50u) << WearClassName(wear);
    std::ranges::sort(offsets);
    // Noise scatters single profiles; the middle of many shows any shift of the geometry.
    EXPECT_LT(std::abs(offsets[offsets.size() / 2]), 0.03) << WearClassName(wear);
    EXPECT_LT(offsets[offsets.size() * 9 / 10] - offsets[offsets.size() / 10], wear == WearClass::kCopy ? 1.0 : 0.5) << WearClassName(wear);
  }
}

TEST_F(PainterTest, EveryStylePaintsAMapWithLabels) {
  for (const std::string& name : StyleNames()) {
    for (std::uint64_t seed : {41, 42}) {
      const PaintedSheet sheet = PaintStyle(name, seed, 1.0);
      ASSERT_FALSE(sheet.maps.empty()) << name;
      for (const TrueMap& map : sheet.maps) {
        int printed = 0, speeds = 0;
        for (const TrueCurve& curve : map.curves) {
          printed += curve.printed_label.has_value();
          speeds += curve.role == CurveRole::kSpeedLine || curve.role == CurveRole::kFlowLine;
          ASSERT_EQ(curve.points.size(), curve.points_px.size());
          for (const Point2& p : curve.points_px) {
            ASSERT_TRUE(std::isfinite(p.x) && std::isfinite(p.y)) << name;
            const auto& box = curve.on_efficiency_axis && map.efficiency_frame_px ? *map.efficiency_frame_px : map.frame_px;
            ASSERT_TRUE(p.x > box[0].x - 1 && p.x < box[2].x + 1 && p.y > box[0].y - 1 && p.y < box[2].y + 1)
                << name << " seed " << seed << ": a curve leaves the frame";
          }
        }
        EXPECT_GE(speeds, map.kind == MapKind::kCompressor ? 4 : 2) << name;
        EXPECT_GE(printed, 4) << name;
        EXPECT_GT(map.x.max, map.x.min);
      }
    }
  }
}

TEST_F(PainterTest, SameSeedSameSheet) {
  const PaintedSheet a = PaintStyle("atlas", 77, 1.0), b = PaintStyle("atlas", 77, 1.0), c = PaintStyle("atlas", 78, 1.0);
  EXPECT_EQ(a.image, b.image);
  EXPECT_NE(a.maps[0].title + a.maps[0].curves[0].unit + std::to_string(a.maps[0].x.max),
            c.maps[0].title + c.maps[0].curves[0].unit + std::to_string(c.maps[0].x.max));
}

TEST_F(PainterTest, TruthFileKeepsEveryCurve) {
  const PaintedSheet sheet = PaintStyle("tpair", 9, 1.0);
  const std::filesystem::path file = std::filesystem::temp_directory_path() / "islebook-painter-test.truth.json";
  SheetFacts facts;
  facts.image = "x.png", facts.size_px = {10, 20}, facts.style = "tpair";
  ASSERT_TRUE(WriteTruth(file, "x", sheet.maps[0], facts));
  const Result<TrueMap> back = ReadTruth(file);
  std::filesystem::remove(file);
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(back->x.quantity, sheet.maps[0].x.quantity);
  EXPECT_EQ(back->efficiency.has_value(), sheet.maps[0].efficiency.has_value());
  EXPECT_TRUE(back->efficiency_frame_px.has_value());
  ASSERT_EQ(back->curves.size(), sheet.maps[0].curves.size());
  for (std::size_t i = 0; i < back->curves.size(); ++i) {
    ASSERT_EQ(back->curves[i].points_px.size(), sheet.maps[0].curves[i].points_px.size());
    EXPECT_EQ(back->curves[i].printed_label, sheet.maps[0].curves[i].printed_label);
    for (std::size_t k = 0; k < back->curves[i].points_px.size(); ++k)
      EXPECT_NEAR(back->curves[i].points_px[k].x, sheet.maps[0].curves[i].points_px[k].x, 6e-4);
  }
}

TEST_F(PainterTest, MatcherSeesWhatIsWrong) {
  const TrueMap truth = PaintStyle("ledger", 3, 1.0).maps[0];
  const PerformanceMap perfect = truth.AsMap("x.png");
  SheetMatch match = MatchSheet(truth, perfect);
  EXPECT_EQ(match.curves.size(), truth.curves.size());
  EXPECT_TRUE(match.axes_right);
  EXPECT_TRUE(match.wrong_silently.empty());
  PerformanceMap worse = perfect;
  worse.curves.erase(worse.curves.begin());
  *worse.curves[0].value *= 1.1;
  worse.x->max *= 1.05;
  for (Point2& p : worse.curves[2].points_px) p.x += 40;
  match = MatchSheet(truth, worse);
  EXPECT_EQ(match.missing.size(), 2u);
  EXPECT_EQ(match.spurious.size(), 1u);
  EXPECT_FALSE(match.axes_right);
  EXPECT_EQ(match.wrong_silently.size(), 5u);
  worse.curves[0].needs_review = worse.curves[2].needs_review = true;
  worse.needs_review = {"a doubt"};
  EXPECT_TRUE(MatchSheet(truth, worse).wrong_silently.empty());
}

TEST(LevelLinesTest, CircleIsRoundToTheLastDigit) {
  const auto lines = LevelLines([](double u, double v) { return std::hypot(u - 0.5, v - 0.5); }, 0.3);
  ASSERT_EQ(lines.size(), 1u);
  EXPECT_TRUE(lines[0].closed);
  for (const Point2& p : lines[0].points) EXPECT_NEAR(std::hypot(p.x - 0.5, p.y - 0.5), 0.3, 1e-9);
  double turn = 0;
  for (std::size_t i = 0; i < lines[0].points.size(); ++i) {
    const Point2 a = lines[0].points[i], b = lines[0].points[(i + 1) % lines[0].points.size()];
    turn += std::remainder(std::atan2(b.y - 0.5, b.x - 0.5) - std::atan2(a.y - 0.5, a.x - 0.5), 2 * std::numbers::pi);
  }
  EXPECT_NEAR(std::abs(turn), 2 * std::numbers::pi, 1e-9);
}

TEST(CompressorModelTest, DrawnCompressorsAreSensible) {
  Random random(1);
  for (int i = 0; i < 40; ++i) {
    const CompressorModel model = CompressorModel::Draw(random, random.Between(38, 112), "Larch");
    EXPECT_TRUE(model.IsOneToOne());
    for (double n = model.low_speed; n <= model.high_speed; n += 0.05) {
      EXPECT_GT(model.At(1, n).x, model.At(0, n).x);
      EXPECT_LT(model.At(1, n).y, model.At(0, n).y);
      EXPECT_GT(model.At(1, n).y, 1.0);
    }
    // Blade speeds of such wheels: common practice, no source.
    EXPECT_GT(model.tip_speed, 300);
    EXPECT_LT(model.tip_speed, 650);
  }
}

}  // namespace
}  // namespace islebook::paint
