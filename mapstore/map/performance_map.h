#pragma once
// A performance map as plain values: the calibrated curves of one compressor or turbine, in the units that the sheet
// prints, each point with its standard uncertainty and its place on the sheet. What the map document (map_document.h)
// holds, field by field. Values only: copy freely, share between threads freely.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/units/reference_conditions.h"

namespace islebook {

enum class MapKind { kCompressor, kTurbine };

// What an axis measures. Spellings in documents: QuantityName().
enum class Quantity {
  kCorrectedMassFlow,
  kCorrectedVolumeFlow,
  kPressureRatioTotalToTotal,
  kPressureRatioTotalToStatic,
  kExpansionRatioTotalToStatic,
  kExpansionRatioTotalToTotal,
  kTurbineFlowParameter,
  kEfficiencyTotalToStatic,
  kEfficiencyTotalToTotal,
  kCorrectedSpeed,
  kVelocityRatio,
};

enum class AxisScale { kLinear, kLog };

// One printed axis. `min` and `max` are the values at the ends of the plot frame (left to right, bottom to top), in `unit`.
// `unit` is spelt from the contract's list: lb/min lb/s kg/s kg/min kg/h g/s m3/s m3/min m3/h ft3/min 1 % rpm krpm m/s "kg s-1 K0.5 kPa-1".
struct Axis {
  Quantity quantity = Quantity::kCorrectedMassFlow;
  std::string unit = "1";
  AxisScale scale = AxisScale::kLinear;
  double min = 0.0;
  double max = 1.0;
  bool operator==(const Axis&) const = default;
};

enum class CurveRole {
  kSpeedLine,         // compressor
  kSurgeLine,         // compressor
  kChokeLine,         // compressor
  kEfficiencyIsland,  // compressor
  kFlowLine,          // turbine, on the main axes
  kEfficiencyLine,    // turbine, points are (x, efficiency)
  kOther,             // worth keeping, none of these; always flagged
};

struct Point2 {
  double x = 0.0;
  double y = 0.0;
  bool operator==(const Point2&) const = default;
};

// One curve. points, points_px and sigma have the same length (sigma and points_px may be empty for a map that was never a sheet).
// Speed lines run from surge to choke, the surge line upwards, islands counterclockwise from their lowest point when closed (not repeated at the end).
struct Curve {
  CurveRole role = CurveRole::kOther;
  std::optional<double> value;  // as printed: 90000 with "rpm", 0.74 with "1", 74 with "%"; nullopt where none is known
  std::string unit;             // of value; empty where there is no value
  bool closed = false;
  std::vector<Point2> points;     // axis units
  std::vector<Point2> points_px;  // the same points on the sheet; (0,0) is the center of the top-left pixel after EXIF orientation
  std::vector<Point2> sigma;      // standard uncertainty in axis units, per direction
  double confidence = 1.0;        // 0..1
  bool needs_review = false;
  std::vector<std::string> reasons;  // in words, never empty when needs_review
  bool operator==(const Curve&) const = default;
};

// How sheet pixels became axis values, kept so that a revision can be checked later. All of it informative for readers.
struct Calibration {
  std::string model;                   // name of the mapping, e.g. "homography+radial+curl"
  std::array<Point2, 4> frame_px{};    // plot frame on the sheet: top left, top right, bottom right, bottom left
  std::vector<double> parameters;      // of the mapping, in the model's own order (digitizer/axes/plot_frame.h)
  double residual_px = 0.0;            // rms of the frame and tick evidence about the mapping
  std::array<double, 2> axis_sigma{};  // standard uncertainty of an axis value, as a fraction of the axis span: x, y
  std::vector<std::string> evidence;   // in words: what was fitted ("11 of 11 x numbers", "frame, 4 sides")
  bool operator==(const Calibration&) const = default;
};

struct SheetSource {
  std::string file;    // name as given, without folder
  std::string sha256;  // of the sheet's bytes, lower-case hex
  std::array<int, 2> size_px{};
  int page = 1;
  bool operator==(const SheetSource&) const = default;
};

struct PerformanceMap {
  std::optional<MapKind> kind;  // nullopt: a chart of another kind, or none found
  std::string title;
  std::optional<Axis> x, y;
  std::optional<Axis> efficiency;  // turbine sheets with a second axis or panel
  std::optional<ReferenceConditions> reference_conditions;
  std::vector<Curve> curves;
  std::optional<Calibration> calibration;
  std::optional<SheetSource> source;
  std::string recipe_json;                // the recipe as one JSON object; empty: none
  std::vector<std::string> needs_review;  // doubts about the sheet as a whole
  bool operator==(const PerformanceMap&) const = default;
};

// Spellings used in documents, e.g. "corrected_mass_flow", "speed_line", "compressor", "log". Parsing is exact; nullopt for an unknown word.
const char* QuantityName(Quantity quantity);
const char* CurveRoleName(CurveRole role);
const char* MapKindName(MapKind kind);
const char* AxisScaleName(AxisScale scale);
std::optional<Quantity> ParseQuantity(const std::string& name);
std::optional<CurveRole> ParseCurveRole(const std::string& name);
std::optional<MapKind> ParseMapKind(const std::string& name);
std::optional<AxisScale> ParseAxisScale(const std::string& name);

}  // namespace islebook
