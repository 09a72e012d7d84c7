// Painted sheets through the whole digitizer, against their truth: in other drawing styles than any sheet the methods were made with.

#include <algorithm>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "digitizer/digitize.h"
#include "mapstore/map/map_document.h"
#include "tests/support/gui_application.h"
#include "tests/support/page_wear.h"
#include "tests/support/sheet_match.h"

namespace islebook {
namespace {

using paint::MatchSheet;
using paint::SheetMatch;
using paint::TrueMap;
using paint::WearClass;

struct Painted {
  std::string name;
  std::vector<std::uint8_t> bytes;
  std::vector<TrueMap> maps;
};

Painted PaintOne(const std::string& style_name, std::uint64_t seed, WearClass wear) {
  paint::NeedGuiApplication();
  const paint::WearLimits limits{2400, 0.7};
  paint::Random random(seed), style_random(seed);
  const paint::SheetStyle style = paint::DrawStyle(style_name, style_random);
  const paint::PaintedSheet sheet = paint::PaintStyle(style_name, seed, paint::PaintScale(style, wear, limits, random));
  paint::WornSheet worn = paint::Wear(sheet, wear, limits, random);
  return {style_name + "-" + std::to_string(seed) + "-" + paint::WearClassName(wear) + "." + worn.extension,
          {worn.bytes.begin(), worn.bytes.end()},
          std::move(worn.maps)};
}

PerformanceMap DigitizeOne(const Painted& painted) {
  const Result<Sheet> sheet = DecodeSheet(painted.bytes, painted.name);
  EXPECT_TRUE(sheet) << painted.name;
  if (!sheet) return {};
  const Result<DigitizeResult> result = Digitize(*sheet);
  EXPECT_TRUE(result) << painted.name;
  return result && !result->maps.empty() ? result->maps[0] : PerformanceMap{};
}

struct Totals {
  int sheets = 0, axes_right = 0, printed = 0, labels_right = 0, silent = 0, curves = 0, claimed = 0;
  int efficiency = 0, efficiency_found = 0;
  int speed = 0, speed_found = 0, surge = 0, surge_found = 0, islands = 0, islands_found = 0;
  std::vector<double> errors;
  std::string words;

  void Add(const Painted& painted) {
    const PerformanceMap map = DigitizeOne(painted);
    const TrueMap& truth = painted.maps[0];
    const SheetMatch match = MatchSheet(truth, map);
    ++sheets, axes_right += match.axes_right;
    silent += static_cast<int>(match.wrong_silently.size());
    curves += static_cast<int>(truth.curves.size()), claimed += static_cast<int>(map.curves.size());
    for (const paint::TrueCurve& c : truth.curves) {
      speed += c.role == CurveRole::kSpeedLine || c.role == CurveRole::kFlowLine;
      surge += c.role == CurveRole::kSurgeLine;
      efficiency += c.role == CurveRole::kEfficiencyLine;
      islands += c.role == CurveRole::kEfficiencyIsland;
    }
    speed_found += match.Found(truth, CurveRole::kSpeedLine) + match.Found(truth, CurveRole::kFlowLine);
    surge_found += match.Found(truth, CurveRole::kSurgeLine);
    efficiency_found += match.Found(truth, CurveRole::kEfficiencyLine);
    islands_found += match.Found(truth, CurveRole::kEfficiencyIsland);
    for (const paint::CurveMatch& m : match.curves) {
      errors.push_back(m.median_px);
      if (!truth.curves[m.truth].printed_label || !truth.curves[m.truth].value) continue;
      ++printed, labels_right += m.value_right;
    }
    words += painted.name + (match.axes_right ? "" : " (axes wrong)") + ": " + std::to_string(match.curves.size()) + " of " +
             std::to_string(truth.curves.size()) + " curves, " + std::to_string(match.spurious.size()) + " spurious, " +
             std::to_string(match.wrong_silently.size()) + " wrong without a flag\n";
  }
  double MedianError() {
    if (errors.empty()) return 1e9;
    std::ranges::nth_element(errors, errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 2));
    return errors[errors.size() / 2];
  }
  void Print() {
    std::printf(
        "%saxes %d of %d, speed and flow lines %d of %d, surge %d of %d, islands %d of %d, labels %d of %d, silent %d of %d, median error %.3f px\n",
        words.c_str(), axes_right, sheets, speed_found, speed, surge_found, surge, islands_found, islands, labels_right, printed, silent, curves,
        MedianError());
  }
};

TEST(PaintedSheetsTest, CleanDrawings) {
  Totals totals;
  for (const char* style : {"ledger", "atlas", "slim", "beside", "topaxis", "tflow", "tvane"}) totals.Add(PaintOne(style, 901, WearClass::kClean));
  totals.Print();
  EXPECT_GE(totals.axes_right, 6);
  EXPECT_GE(totals.speed_found, 0.85 * totals.speed);
  EXPECT_GE(totals.surge_found, 0.8 * totals.surge);
  EXPECT_GE(totals.islands_found, 0.75 * totals.islands);
  EXPECT_GE(totals.labels_right, 0.85 * totals.printed);
  EXPECT_LE(totals.silent, 0.06 * totals.curves);
  EXPECT_LE(totals.MedianError(), 0.03);
}

// Plots without a frame of lines, numbers on end, print of even widths: the axes must be right, or said to be in doubt.
TEST(PaintedSheetsTest, AxesInOtherManners) {
  Totals totals;
  for (const char* style : {"tinted", "rows", "endwise", "typist"}) totals.Add(PaintOne(style, 921, WearClass::kClean));
  totals.Add(PaintOne("endwise", 922, WearClass::kScan));
  totals.Add(PaintOne("tinted", 922, WearClass::kScan));
  totals.Print();
  EXPECT_GE(totals.axes_right, 5);
  EXPECT_GE(totals.speed_found, 0.85 * totals.speed);
  EXPECT_GE(totals.islands_found, 0.7 * totals.islands);
}

// Two plots of a turbine with their sides in one line, the numbers along their common axis below the lower one only.
TEST(PaintedSheetsTest, PanelsWithOneAxisInCommon) {
  Totals totals;
  for (const std::uint64_t seed : {931, 932}) totals.Add(PaintOne("tpair", seed, WearClass::kClean));
  totals.Print();
  EXPECT_EQ(totals.axes_right, 2);
  EXPECT_EQ(totals.speed_found, totals.speed);
  EXPECT_GE(totals.efficiency_found, 0.8 * totals.efficiency);
}

TEST(PaintedSheetsTest, WornSheets) {
  Totals totals;
  totals.Add(PaintOne("ledger", 902, WearClass::kScan));
  totals.Add(PaintOne("atlas", 903, WearClass::kPhoto));
  totals.Add(PaintOne("beside", 904, WearClass::kWeb));
  totals.Add(PaintOne("topaxis", 905, WearClass::kCopy));
  totals.Add(PaintOne("tflow", 906, WearClass::kPhoto));
  totals.Print();
  EXPECT_GE(totals.axes_right, 3);
  EXPECT_GE(totals.speed_found, 0.9 * totals.speed);
  EXPECT_GE(totals.islands_found, 0.75 * totals.islands);
  EXPECT_GE(totals.labels_right, 0.75 * totals.printed);
  EXPECT_LE(totals.silent, 0.06 * totals.curves);
  EXPECT_LE(totals.MedianError(), 0.08);
}

TEST(PaintedSheetsTest, PdfPage) {
  paint::NeedGuiApplication();
  paint::PaintedPage pdf = paint::PaintStylePdf("beside", 908);
  const Painted painted{"beside-908.pdf", {pdf.bytes.begin(), pdf.bytes.end()}, std::move(pdf.maps)};
  Totals totals;
  totals.Add(painted);
  totals.Print();
  EXPECT_EQ(totals.axes_right, 1);
  EXPECT_GE(totals.speed_found, 0.8 * totals.speed);
  EXPECT_LE(totals.MedianError(), 0.5);
}

TEST(PaintedSheetsTest, SameSheetSameMap) {
  const Painted painted = PaintOne("atlas", 907, WearClass::kScan);
  EXPECT_EQ(WriteMapDocument(DigitizeOne(painted)), WriteMapDocument(DigitizeOne(painted)));
}

}  // namespace
}  // namespace islebook
