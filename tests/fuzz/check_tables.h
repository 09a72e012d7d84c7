#pragma once
// What holds for tables of curves, from whatever file they were read.

#include "mapstore/map/map_document.h"
#include "mapstore/parcel/correction.h"
#include "mapstore/parcel/curve_tables.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {

// A few points of a few curves, so that changes meet something that matters.
inline PerformanceMap Thinned(PerformanceMap map) {
  constexpr std::size_t kCurves = 6, kPoints = 6;
  if (map.curves.size() > kCurves) map.curves.resize(kCurves);
  for (Curve& curve : map.curves) {
    const std::size_t step = 1 + curve.points.size() / kPoints;
    for (std::vector<Point2>* list : {&curve.points, &curve.points_px, &curve.sigma}) {
      std::size_t kept = 0;
      for (std::size_t i = 0; i < list->size(); i += step) (*list)[kept++] = (*list)[i];
      list->resize(kept);
    }
  }
  return AsWritten(map);
}

inline const PerformanceMap& FuzzedMap(bool turbine) {
  static const PerformanceMap compressor = Thinned(InventCompressor(2, {.lines = 2, .points = 5}).map);
  static const PerformanceMap vanes = Thinned(InventTurbine(4, true).map);
  return turbine ? vanes : compressor;
}

// Refused in words, or a map that can be written, read again, and whose own tables bring no change.
inline void CheckTables(const Result<CurveTables>& tables) {
  if (!tables) {
    FUZZ_CHECK(!tables.error().message.empty());
    return;
  }
  for (const TableCurve& curve : tables->curves) FUZZ_CHECK(!curve.points.empty() && curve.points.size() == curve.sigma.size());
  if (const Result<PerformanceMap> map = MapFromTables(*tables); map) {
    FUZZ_CHECK(CheckWritable(*map).has_value());
    FUZZ_CHECK(ParseMapDocument(WriteMapDocument(*map)).has_value());
  } else {
    FUZZ_CHECK(!map.error().message.empty());
  }
  for (const bool turbine : {false, true}) {
    const PerformanceMap& base = FuzzedMap(turbine);
    const Result<MapCorrection> correction = CorrectMap(base, *tables);
    if (!correction) {
      FUZZ_CHECK(!correction.error().message.empty());
      continue;
    }
    FUZZ_CHECK(CheckWritable(correction->map).has_value());
    FUZZ_CHECK(ParseMapDocument(WriteMapDocument(correction->map)).has_value());
    // A map that changed says so.
    FUZZ_CHECK(!correction->changes.empty() || WriteMapDocument(correction->map) == WriteMapDocument(base));
  }
}

}  // namespace islebook
