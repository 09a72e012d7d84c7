#include "mapstore/parcel/correction.h"

#include <algorithm>
#include <functional>
#include <random>

#include <gtest/gtest.h>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

const TableOrigin kOrigin{"Alder 52", ""};

// The example map's tables with a colleague's change, as a correction of it.
MapCorrection Corrected(const PerformanceMap& base, const std::function<void(CurveTables&)>& change) {
  Result<CurveTables> tables = ReadCurveWorkbook(*CurvesAsWorkbook(base, kOrigin));
  EXPECT_TRUE(tables) << tables.error().message;
  change(*tables);
  Result<MapCorrection> correction = CorrectMap(base, *tables);
  EXPECT_TRUE(correction) << (correction ? "" : correction.error().message);
  return correction.value_or(MapCorrection{});
}

bool Says(const MapCorrection& correction, const std::string& words) {
  return std::any_of(correction.changes.begin(), correction.changes.end(),
                     [&](const std::string& change) { return change.find(words) != std::string::npos; });
}

TEST(Correction, AValueIsAnEntryInWords) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  const MapCorrection correction = Corrected(base, [](CurveTables& tables) { tables.curves[0].value = *tables.curves[0].value + 1000; });
  ASSERT_EQ(correction.changes.size(), 1u) << correction.changes.back();
  EXPECT_TRUE(Says(correction, "speed line is")) << correction.changes[0];
  EXPECT_EQ(correction.map.curves[0].points, base.curves[0].points);
  EXPECT_EQ(correction.map.curves[0].points_px, base.curves[0].points_px);
  ASSERT_EQ(correction.curves.size(), 1u);
  EXPECT_EQ(correction.curves[0].what, CurveChange::What::kMeaning);
}

TEST(Correction, OnlyThePointThatMovedChanges) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  const double step = 0.01 * (base.y->max - base.y->min);
  const MapCorrection correction = Corrected(base, [&](CurveTables& tables) { tables.curves[1].points[2].y += step; });
  ASSERT_EQ(correction.changes.size(), 1u) << correction.changes.back();
  EXPECT_TRUE(Says(correction, "1 point new or moved")) << correction.changes[0];
  const Curve &was = base.curves[1], &is = correction.map.curves[1];
  ASSERT_EQ(is.points.size(), was.points.size());
  for (std::size_t i = 0; i < is.points.size(); ++i) {
    EXPECT_EQ(is.sigma[i], was.sigma[i]);
    if (i == 2) continue;
    EXPECT_EQ(is.points[i], was.points[i]);
    EXPECT_EQ(is.points_px[i], was.points_px[i]);
  }
  EXPECT_NE(is.points_px[2], was.points_px[2]);
  EXPECT_TRUE(CheckWritable(correction.map));
}

// The example's calibration is known: a point's place on the sheet must come out where the map's own points would put it.
TEST(Correction, NewPointsStandWhereTheSheetHasThem) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  for (std::size_t c = 0; c < base.curves.size(); ++c) {
    const Curve& curve = base.curves[c];
    if (curve.points.size() < 5 || curve.closed || curve.points_px.empty()) continue;
    PerformanceMap without = base;  // the map lacks one point, and the table has it
    const std::size_t k = curve.points.size() / 2;
    without.curves[c].points.erase(without.curves[c].points.begin() + static_cast<long>(k));
    without.curves[c].points_px.erase(without.curves[c].points_px.begin() + static_cast<long>(k));
    without.curves[c].sigma.erase(without.curves[c].sigma.begin() + static_cast<long>(k));
    Result<CurveTables> tables = ReadCurveWorkbook(*CurvesAsWorkbook(base, kOrigin));
    ASSERT_TRUE(tables);
    const Result<MapCorrection> correction = CorrectMap(without, *tables);
    ASSERT_TRUE(correction) << correction.error().message;
    ASSERT_EQ(correction->map.curves[c].points_px.size(), curve.points_px.size());
    EXPECT_NEAR(correction->map.curves[c].points_px[k].x, curve.points_px[k].x, 0.05);
    EXPECT_NEAR(correction->map.curves[c].points_px[k].y, curve.points_px[k].y, 0.05);
    EXPECT_EQ(correction->map.curves[c].sigma[k], curve.sigma[k]);  // which the table carries
  }
}

TEST(Correction, CurvesComeAndGo) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  const MapCorrection gone = Corrected(base, [](CurveTables& tables) { tables.curves.erase(tables.curves.begin()); });
  EXPECT_EQ(gone.map.curves.size(), base.curves.size() - 1);
  EXPECT_TRUE(Says(gone, "is removed"));
  EXPECT_EQ(gone.map.curves[0].points, base.curves[1].points);
  const MapCorrection more = Corrected(base, [](CurveTables& tables) {
    TableCurve curve = tables.curves[0];
    curve.number = 900;
    curve.value = *curve.value / 2;
    for (Point2& p : curve.points) p = {p.x * 0.5, 1 + (p.y - 1) * 0.25};
    tables.curves.push_back(curve);
  });
  EXPECT_EQ(more.map.curves.size(), base.curves.size() + 1);
  EXPECT_TRUE(Says(more, "is added")) << more.changes[0];
}

TEST(Correction, OtherUnitsOfTheSameKindAreConverted) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  ASSERT_EQ(base.x->unit, "lb/min");
  const MapCorrection correction = Corrected(base, [](CurveTables& tables) {
    tables.x.unit = "kg/s";
    for (TableCurve& curve : tables.curves)
      for (Point2& p : curve.points) p.x *= 0.45359237 / 60.0;  // the pound is exactly 0.45359237 kg (international yard and pound agreement, 1959)
  });
  for (std::size_t c = 0; c < base.curves.size(); ++c)
    for (std::size_t i = 0; i < base.curves[c].points.size(); ++i)
      EXPECT_NEAR(correction.map.curves[c].points[i].x, base.curves[c].points[i].x, 1e-6);
  Result<CurveTables> wrong = ReadCurveWorkbook(*CurvesAsWorkbook(base, kOrigin));
  wrong->x.unit = "rpm";
  EXPECT_EQ(CorrectMap(base, *wrong).error().code, ErrorCode::kBadTable);
  wrong->x.unit = "lb/min";
  wrong->x.quantity = Quantity::kCorrectedSpeed;
  EXPECT_EQ(CorrectMap(base, *wrong).error().code, ErrorCode::kBadTable);
}

// 298 K and 100 kPa against 288.15 K and 101.325 kPa: the flow that a printed number stands for is p/p0 sqrt(T0/T) = 0.9705 of what it was.
TEST(Correction, ReferenceConditionsSayWhatTheyDoToFlows) {
  PerformanceMap base = AsWritten(ExampleCompressorMap());
  base.reference_conditions = ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kAssumed};
  const MapCorrection correction = Corrected(
      base, [](CurveTables& tables) { tables.reference_conditions = ReferenceConditions{298.0, 100000.0, ReferenceConditions::Basis::kPrinted}; });
  EXPECT_TRUE(Says(correction, "-3.0 %")) << correction.changes[0];
  EXPECT_TRUE(correction.reference_changed);
}

TEST(Correction, WhatLooksWrongAfterwardsIsFlagged) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  // Two speed lines change places.
  const MapCorrection correction = Corrected(base, [](CurveTables& tables) { std::swap(tables.curves[0].value, tables.curves[3].value); });
  EXPECT_FALSE(correction.doubts.empty());
  EXPECT_TRUE(std::any_of(correction.map.curves.begin(), correction.map.curves.end(), [](const Curve& curve) { return curve.needs_review; }));
}

TEST(Correction, ALookIsTaken) {
  PerformanceMap base = AsWritten(ExampleCompressorMap());
  base.curves[2].needs_review = true;
  base.curves[2].reasons = {"its value was not read"};
  const MapCorrection correction = Corrected(base, [](CurveTables& tables) { tables.curves[2].needs_review = false; });
  EXPECT_TRUE(Says(correction, "found right"));
  EXPECT_FALSE(correction.map.curves[2].needs_review);
  EXPECT_TRUE(correction.map.curves[2].reasons.empty());
}

TEST(Correction, AbsurdNumbersAreRefused) {
  const PerformanceMap base = AsWritten(ExampleCompressorMap());
  Result<CurveTables> tables = ReadCurveWorkbook(*CurvesAsWorkbook(base, kOrigin));
  tables->curves[0].points[0].x = 1e300;
  EXPECT_EQ(CorrectMap(base, *tables).error().code, ErrorCode::kMalformedDocument);
}

TEST(Correction, AnyMapAndItsOwnTablesAgree) {
  std::mt19937 random(7);
  int tried = 0;
  for (int i = 0; i < 200; ++i) {
    const PerformanceMap map = AsWritten(RandomMap(random));
    if (!CheckWritable(map) || map.curves.empty() || !map.x || !map.y) continue;
    const Result<CurveTables> tables = ReadCurveCsv(CurvesAsCsv(map, kOrigin));
    // A map may hold curves with a value and no unit, which no table can say.
    if (!tables) continue;
    const Result<MapCorrection> correction = CorrectMap(map, *tables);
    ASSERT_TRUE(correction) << correction.error().message;
    EXPECT_TRUE(correction->changes.empty()) << i << ": " << correction->changes.front();
    EXPECT_EQ(correction->map, map);
    ++tried;
  }
  EXPECT_GT(tried, 20);
}

}  // namespace
}  // namespace islebook
