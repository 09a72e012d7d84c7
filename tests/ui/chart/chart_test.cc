// The chart as a file: whole, legible, in our own colors, with labels that keep clear of each other.

#include "ui/chart/chart.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>

#include <gtest/gtest.h>
#include <QFile>
#include <QImage>
#include <QPainter>
#include <QXmlStreamReader>

#include "tests/support/gui_application.h"
#include "tests/support/sheet_painter.h"
#include "ui/chart/chart_files.h"
#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/curve_marks.h"

namespace islebook {
namespace {

using paint::PaintStyle;

PerformanceMap Painted(const std::string& style, std::uint64_t seed) { return PaintStyle(style, seed, 1.0).maps[0].AsMap("sheet.png"); }

std::filesystem::path Scratch(const std::string& name) {
  const auto folder = std::filesystem::temp_directory_path() / ("islebook-chart-test-" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  return folder / name;
}

std::vector<std::string> TextsOf(const std::filesystem::path& svg) {
  QFile file(QString::fromStdString(svg.string()));
  EXPECT_TRUE(file.open(QIODevice::ReadOnly));
  QXmlStreamReader xml(&file);
  std::vector<std::string> texts;
  while (!xml.atEnd()) {
    xml.readNext();
    if (xml.isStartElement() && xml.name() == u"text") texts.push_back(xml.readElementText().toStdString());
  }
  EXPECT_FALSE(xml.hasError()) << xml.errorString().toStdString();
  return texts;
}

bool Has(const std::vector<std::string>& texts, const std::string& wanted) {
  return std::ranges::any_of(texts, [&](const std::string& t) { return t.find(wanted) != std::string::npos; });
}

std::map<QRgb, int> ColorsOf(const QImage& image) {
  std::map<QRgb, int> count;
  for (int y = 0; y < image.height(); ++y)
    for (int x = 0; x < image.width(); ++x) ++count[image.pixel(x, y) | 0xff000000u];
  return count;
}

class ChartTest : public testing::Test {
 protected:
  void SetUp() override { paint::NeedGuiApplication(); }
  void TearDown() override { std::filesystem::remove_all(Scratch("").parent_path()); }
};

TEST_F(ChartTest, SvgIsWellFormedAndKeepsTextAsText) {
  const PerformanceMap map = Painted("ledger", 3);
  ASSERT_TRUE(WriteChartSvg(Scratch("a.svg"), map, {}, {}));
  const std::vector<std::string> texts = TextsOf(Scratch("a.svg"));
  EXPECT_TRUE(Has(texts, map.title));
  EXPECT_TRUE(Has(texts, "surge"));
  EXPECT_TRUE(Has(texts, "Pressure ratio, total to total"));
  EXPECT_TRUE(Has(texts, UnitWords(map.x->unit)));
  for (const Curve& curve : map.curves) {
    if (curve.role != CurveRole::kSpeedLine) continue;
    EXPECT_TRUE(Has(texts, CurveLabel(curve))) << CurveLabel(curve);
  }
  std::set<std::string> levels;
  for (const Curve& curve : map.curves)
    if (curve.role == CurveRole::kEfficiencyIsland) levels.insert(CurveLabel(curve));
  int found = 0;
  for (const std::string& level : levels) found += Has(texts, level);
  EXPECT_GE(found + 1, static_cast<int>(levels.size())) << "one crowded level may go without its number";
}

TEST_F(ChartTest, PngIsInOurColors) {
  const PerformanceMap map = Painted("atlas", 5);
  for (bool night : {false, true}) {
    ChartOptions options;
    options.night = night;
    ASSERT_TRUE(WriteChartPng(Scratch("a.png"), map, {}, options));
    const QImage image(QString::fromStdString(Scratch("a.png").string()));
    ASSERT_EQ(image.width(), 1600);
    const auto colors = ColorsOf(image.convertToFormat(QImage::Format_RGB32));
    const auto share = [&](const char* name) {
      const auto at = colors.find(QColor(name).rgb());
      return at == colors.end() ? 0.0 : at->second / (1600.0 * 1180.0);
    };
    EXPECT_GT(share(night ? "#14191D" : "#FBF9F4"), 0.7);
    EXPECT_GT(share(night ? "#E8E4DA" : "#1D2B33"), 0.002);
    EXPECT_GT(share("#B2502D"), 0.0005);
    EXPECT_GT(share("#0B6E75"), 0.0005);
  }
}

TEST_F(ChartTest, ReadsInBlackAndWhite) {
  // Contrast of every ink against its paper (WCAG 2.1, 1.4.11: at least 3 to 1 for drawings).
  const auto luminance = [](const QColor& c) {
    const auto part = [](double v) { return v <= 0.03928 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
    return 0.2126 * part(c.redF()) + 0.7152 * part(c.greenF()) + 0.0722 * part(c.blueF());
  };
  const auto contrast = [&](const QColor& a, const QColor& b) {
    const double high = std::max(luminance(a), luminance(b)), low = std::min(luminance(a), luminance(b));
    return (high + 0.05) / (low + 0.05);
  };
  const ChartLook day = ChartLook::Day(), night = ChartLook::Night();
  EXPECT_GT(contrast(day.ink, day.paper), 10);
  EXPECT_GT(contrast(day.oxide, day.paper), 4.5);
  EXPECT_GT(contrast(day.sea, day.paper), 4.5);
  EXPECT_GT(contrast(night.ink, night.paper), 10);
  EXPECT_GT(contrast(night.sea_print, night.paper), 4.5);
  EXPECT_GT(contrast(night.oxide_print, night.paper), 4.5);
  EXPECT_GT(contrast(night.sea, night.paper), 2.9);
  EXPECT_GT(contrast(night.oxide, night.paper), 3);
}

TEST_F(ChartTest, InksStayApartForEveryEye) {
  // Full dichromacy in linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A physiologically-based model for simulation of color vision
  // deficiency, IEEE TVCG 15(6), 2009, severity 1.0 (matrices from memory). The difference is CIE 1976 L*a*b*; about 2 can just be seen.
  using Matrix = std::array<double, 9>;
  const Matrix eyes[] = {{1, 0, 0, 0, 1, 0, 0, 0, 1},
                         {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
                         {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881},
                         {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900}};
  const auto lab = [](const QColor& color, const Matrix& eye) {
    const auto linear = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
    const double in[3] = {linear(color.redF()), linear(color.greenF()), linear(color.blueF())};
    double c[3];
    for (std::size_t i = 0; i < 3; ++i) c[i] = std::clamp(eye[3 * i] * in[0] + eye[3 * i + 1] * in[1] + eye[3 * i + 2] * in[2], 0.0, 1.0);
    const double x = (0.4124 * c[0] + 0.3576 * c[1] + 0.1805 * c[2]) / 0.9505, y = 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2],
                 z = (0.0193 * c[0] + 0.1192 * c[1] + 0.9505 * c[2]) / 1.089;
    const auto f = [](double t) { return t > 0.008856 ? std::cbrt(t) : 7.787 * t + 16.0 / 116; };
    return std::array<double, 3>{116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))};
  };
  for (const ChartLook& look : {ChartLook::Day(), ChartLook::Night()}) {
    const QColor inks[] = {look.ink, look.oxide, look.sea, look.paper};
    for (const Matrix& eye : eyes) {
      for (std::size_t i = 0; i < 4; ++i) {
        for (std::size_t k = i + 1; k < 4; ++k) {
          const auto a = lab(inks[i], eye), b = lab(inks[k], eye);
          EXPECT_GT(std::hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]), 15) << inks[i].name().toStdString() << " and " << inks[k].name().toStdString();
        }
      }
    }
  }
}

TEST_F(ChartTest, LabelsKeepClearOfEachOther) {
  const auto overlap = [](const LabelBox& a, const LabelBox& b) {
    const QPolygonF both = a.Corners(-0.5).intersected(b.Corners(-0.5));
    return both.size() > 2 && both.boundingRect().width() * both.boundingRect().height() > 1;
  };
  int labels = 0;
  for (const char* style : {"ledger", "courbe", "topaxis", "tpair", "tledger", "tvane"}) {
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
      PerformanceMap map = Painted(style, seed);
      map.curves[1].needs_review = true;
      map.curves[1].reasons = {"a doubt"};
      const ChartOverlay overlay{{{{0.6 * map.x->max, 1 + 0.5 * (map.y->max - 1)}, std::nullopt, "point", false, false}}, {}};
      for (const QRectF area : {QRectF(0, 0, 1600, 1180), QRectF(0, 0, 820, 640)}) {
        const ChartFrame frame = LayOutChart(area, map, overlay, {}, 60);
        for (ChartPanel panel : frame.panels) {
          panel.plot = QRectF(panel.plot.topLeft() / frame.unit, panel.plot.size() / frame.unit);
          const PlotMarks marks = PlaceMarks(panel, map, overlay, NumberDoubts(map), {}, ChartLook::Day());
          for (std::size_t i = 0; i < marks.labels.size(); ++i) {
            ++labels;
            for (std::size_t k = i + 1; k < marks.labels.size(); ++k)
              EXPECT_FALSE(overlap(marks.labels[i].box, marks.labels[k].box))
                  << style << " " << seed << ": " << marks.labels[i].text.toStdString() << " and " << marks.labels[k].text.toStdString();
          }
        }
      }
    }
  }
  EXPECT_GT(labels, 500);
}

TEST_F(ChartTest, LabelsRarelyCoverLines) {
  double covered = 0;
  int labels = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const PerformanceMap map = Painted("ledger", seed);
    const ChartFrame frame = LayOutChart(QRectF(0, 0, 1600, 1180), map, {}, {}, 0);
    ChartPanel panel = frame.panels[0];
    panel.plot = QRectF(panel.plot.topLeft() / frame.unit, panel.plot.size() / frame.unit);
    const PlotMarks marks = PlaceMarks(panel, map, {}, {}, {}, ChartLook::Day());
    for (const PlacedLabel& label : marks.labels) {
      ++labels;
      for (std::size_t i = 0; i < marks.curves.size(); ++i)
        if (static_cast<std::ptrdiff_t>(i) != label.on_line) covered += LabelLayout::LengthInside(marks.curves[i].line, label.box);
    }
  }
  EXPECT_LT(covered / labels, 3.0) << "chart units of line under a label, on average";
}

TEST_F(ChartTest, PointsLinesAndDoubtsAreNumberedAndListed) {
  PerformanceMap map = Painted("ledger", 3);
  map.curves[2].needs_review = true;
  map.curves[2].reasons = {"joined across a shallow crossing"};
  map.needs_review = {"The unit of the flow axis was not read."};
  ChartOverlay overlay;
  overlay.points = {{{0.5 * map.x->max, 1.5}, std::nullopt, "1,600 rpm, sea level", false, true},
                    {{0.1 * map.x->max, 2.0}, std::nullopt, "1,100 rpm, left of surge", true, false}};
  overlay.lines = {{{{0.3 * map.x->max, 1.3}, {0.6 * map.x->max, 1.9}}, "2,500 m", 0.4}};
  ASSERT_TRUE(WriteChartSvg(Scratch("b.svg"), map, overlay, {}));
  const std::vector<std::string> texts = TextsOf(Scratch("b.svg"));
  EXPECT_TRUE(Has(texts, "1,600 rpm, sea level"));
  EXPECT_TRUE(Has(texts, "left of surge"));
  EXPECT_TRUE(Has(texts, "2,500 m"));
  EXPECT_TRUE(Has(texts, "joined across a shallow crossing"));
  EXPECT_TRUE(Has(texts, "was not read"));
  EXPECT_GE(std::ranges::count(texts, "2"), 4);  // the second point and the curve's doubt, each on the chart and in the key
  ChartOptions calm;
  calm.show_doubts = false;
  ASSERT_TRUE(WriteChartSvg(Scratch("c.svg"), map, overlay, calm));
  EXPECT_FALSE(Has(TextsOf(Scratch("c.svg")), "shallow crossing"));
}

TEST_F(ChartTest, PointsOutsideThePrintedAxesAreStillOnTheChart) {
  const PerformanceMap map = Painted("ledger", 4);
  const ChartOverlay overlay{{{{2.0 * map.x->max, 2.0 * map.y->max}, std::nullopt, "far", true, false}}, {}};
  const ChartFrame frame = LayOutChart(QRectF(0, 0, 1600, 1180), map, overlay, {}, 0);
  EXPECT_TRUE(frame.panels[0].plot.contains(frame.panels[0].At(overlay.points[0].at)));
  const Point2 back = frame.panels[0].ValueAt(frame.panels[0].At({12.5, 1.75}));
  EXPECT_NEAR(back.x, 12.5, 1e-9);
  EXPECT_NEAR(back.y, 1.75, 1e-9);
}

TEST_F(ChartTest, AMapWithoutCurvesSaysSo) {
  PerformanceMap map;
  map.title = "Nothing here";
  map.needs_review = {"No chart was found on this sheet."};
  ASSERT_TRUE(WriteChartSvg(Scratch("d.svg"), map, {}, {}));
  const std::vector<std::string> texts = TextsOf(Scratch("d.svg"));
  EXPECT_TRUE(Has(texts, "no axes and no curves"));
  EXPECT_TRUE(Has(texts, "No chart was found"));
  map.x = Axis{}, map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1, 3};
  ASSERT_TRUE(WriteChartSvg(Scratch("e.svg"), map, {}, {}));
  EXPECT_TRUE(Has(TextsOf(Scratch("e.svg")), "This map has no curves."));
}

TEST_F(ChartTest, LongNamesAreCutAndWrapped) {
  PerformanceMap map = Painted("ledger", 3);
  map.title = std::string(400, 'W');
  map.curves[0].needs_review = true;
  map.curves[0].reasons = {std::string(300, 'x') + " and more words that have to go on the next line of the key because they are many"};
  ChartOverlay overlay;
  for (int i = 0; i < 12; ++i)
    overlay.points.push_back({{0.4 * map.x->max, 1.5 + 0.05 * i},
                              std::nullopt,
                              "a point with quite a long description of what it is, number " + std::to_string(i),
                              false,
                              false});
  ASSERT_TRUE(WriteChartPng(Scratch("f.png"), map, overlay, {}));
  const QImage image(QString::fromStdString(Scratch("f.png").string()));
  // Nothing touches the paper's edge.
  for (int y = 0; y < image.height(); ++y) ASSERT_EQ(QColor(image.pixel(image.width() - 3, y)), QColor("#FBF9F4")) << y;
  for (int x = 0; x < image.width(); ++x) ASSERT_EQ(QColor(image.pixel(x, image.height() - 3)), QColor("#FBF9F4")) << x;
}

TEST_F(ChartTest, DamagedPointsDoNotStopTheDrawing) {
  PerformanceMap map = Painted("ledger", 3);
  map.curves[0].points[3] = {std::nan(""), 1e308};
  map.curves[1].points.clear();
  map.curves[2].points.resize(1);
  map.curves[3].value.reset();
  map.x->scale = AxisScale::kLog;
  map.x->min = -5;
  EXPECT_TRUE(WriteChartPng(Scratch("g.png"), map, {}, {}));
}

TEST_F(ChartTest, PdfIsOnePageOfA4) {
  ASSERT_TRUE(WriteChartPdf(Scratch("h.pdf"), Painted("tpair", 2), {}, {}));
  std::ifstream in(Scratch("h.pdf"), std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), {});
  EXPECT_EQ(bytes.substr(0, 5), "%PDF-");
  EXPECT_NE(bytes.find("/MediaBox [0 0 842."), std::string::npos);
  EXPECT_NE(bytes.find("/FontFile2"), std::string::npos) << "text is text, with its font";
}

TEST_F(ChartTest, WritingWhereOneCannotIsASentence) {
  const auto done = WriteChartSvg("/nonexistent-folder/a.svg", Painted("ledger", 3), {}, {});
  ASSERT_FALSE(done);
  EXPECT_EQ(done.error().code, ErrorCode::kCannotWrite);
  EXPECT_EQ(done.error().place, "/nonexistent-folder/a.svg");
  ChartPaper tiny;
  tiny.width = 3;
  EXPECT_EQ(WriteChartPng(Scratch("i.png"), Painted("ledger", 3), {}, {}, tiny).error().code, ErrorCode::kInvalidArgument);
}

TEST_F(ChartTest, TurbineHasItsOwnPanelForEfficiency) {
  const PerformanceMap map = Painted("tledger", 3);
  const ChartFrame frame = LayOutChart(QRectF(0, 0, 1600, 1180), map, {}, {}, 0);
  ASSERT_EQ(frame.panels.size(), 2u);
  EXPECT_TRUE(frame.panels[1].is_efficiency);
  EXPECT_LT(frame.panels[1].plot.bottom(), frame.panels[0].plot.top());
  for (const Curve& curve : map.curves) {
    const ChartPanel& panel = frame.panels[curve.role == CurveRole::kEfficiencyLine ? 1 : 0];
    for (const Point2& p : curve.points) EXPECT_TRUE(panel.plot.adjusted(-1, -1, 1, 1).contains(panel.At(p)));
  }
}

}  // namespace
}  // namespace islebook
