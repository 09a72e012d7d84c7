#pragma once
// What is exactly true of a painted sheet: written beside it as NAME.truth.json, carried along by every wear.

#include <array>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook::paint {

struct TrueCurve {
  CurveRole role = CurveRole::kOther;
  std::optional<double> value;
  std::string unit;
  bool closed = false;
  bool on_efficiency_axis = false;
  std::optional<std::string> printed_label;
  std::vector<Point2> points;     // axis units
  std::vector<Point2> points_px;  // in the picture; (0,0) is the center of the top-left pixel
};

struct FieldSample {
  double x = 0.0, y = 0.0, speed = 0.0, efficiency = 0.0;
};

struct TrueMap {
  MapKind kind = MapKind::kCompressor;
  std::string title, x_title, y_title;
  std::vector<std::string> notes;
  Axis x, y;
  std::optional<Axis> efficiency;
  std::optional<ReferenceConditions> reference_conditions;   // only if printed
  std::array<Point2, 4> frame_px{};                          // top left, top right, bottom right, bottom left
  std::optional<std::array<Point2, 4>> efficiency_frame_px;  // a second panel
  double line_width_px = 2.0;
  std::vector<TrueCurve> curves;
  std::vector<FieldSample> field_samples;

  // Every pixel position through `move`.
  void MovePixels(const std::function<Point2(Point2)>& move);
  // As the digitizer would have it, were it perfect.
  PerformanceMap AsMap(const std::string& image_name) const;
};

struct SheetFacts {
  std::string image;  // file name
  std::array<int, 2> size_px{};
  std::string style;
  std::string wear = "clean";
  std::vector<std::pair<std::string, double>> wear_parameters;
};

// Errors: kCannotWrite, kCannotRead, kMalformedDocument.
Result<void> WriteTruth(const std::filesystem::path& file, const std::string& name, const TrueMap& map, const SheetFacts& facts);
Result<TrueMap> ReadTruth(const std::filesystem::path& file);

// Fewest points whose polyline stays within `tolerance` px of the full one (Douglas and Peucker 1973), on both point lists at once.
void Thin(TrueCurve& curve, double tolerance);

}  // namespace islebook::paint
