#pragma once
// The smooth surface through a compressor map, built from its curves and queried a million times.
//
// Coordinates: speed (as the map's labels print it) and beta, 0 on the surge line and 1 at the choke end of a speed line, so that steep and flat parts of a
// speed line are read equally well (the idea of beta lines: Kurzke, How to get component maps for aircraft gas turbine performance calculations, ASME
// 96-GT-164). Across speeds it interpolates flow / speed and head / speed^2, which similarity keeps nearly constant; head is PR^(2/7) - 1. A printed surge
// line is followed exactly between the speed lines. Continuous first derivatives everywhere.
//
// Flows and pressure ratios are in the map's axis units, efficiencies are fractions. Immutable: any number of threads may read one surface, copies are cheap.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

enum class MapRegion { kOnMap, kLeftOfSurge, kPastChoke, kOverSpeed, kUnderSpeed };
const char* MapRegionName(MapRegion region);  // "on_map", "left_of_surge", ...

// A single efficiency at a point of the map: a reading, or a spot value printed on the sheet. In the map's axis units.
struct EfficiencyPoint {
  double flow = 0.0;
  double pressure_ratio = 0.0;
  double efficiency = 0.0;  // fraction
  double sigma = 0.0;       // standard uncertainty, a fraction; 0: none stated, the points show it themselves
};

struct CompressorSurfaceOptions {
  int beta_intervals = 40;     // of the table between surge and choke, 8..200
  int rows_between_lines = 0;  // of the table between two speed lines, 1..16; 0: as the number of lines asks
  bool estimate_sigma = true;  // without: every sigma is nullopt, and building is quicker
  // How far the surface goes on below the lowest and above the highest speed line, as a share of that line's speed: 0..0.9 and 0..0.3. What lies there is no part of
  // the map (IsOnMap() is false, IsExtrapolated() true) and its uncertainty grows with the distance. Below, head over speed squared and flow over speed go to the
  // constants that similarity asks for at low Mach number; above they go on as they began.
  double extrapolate_below = 0.0;
  double extrapolate_above = 0.0;
  // Efficiencies beside the map's own islands, or instead of them; those that lie off the speed lines are left out and said so in Notes().
  std::vector<EfficiencyPoint> efficiency_points;
  Result<void> Check() const;
};

// A place on the surface.
struct MapPlace {
  double speed = 0.0;
  double beta = 0.0;
};

// Where a speed line meets an edge of the map.
struct EdgePoint {
  double flow = 0.0;
  double pressure_ratio = 0.0;
};

// The surface at a place with its first derivatives.
struct SurfaceJet {
  double flow = 0.0, flow_by_speed = 0.0, flow_by_beta = 0.0;
  double pressure_ratio = 0.0, pressure_ratio_by_speed = 0.0, pressure_ratio_by_beta = 0.0;
};

struct EfficiencyJet {
  double value = 0.0, by_speed = 0.0, by_beta = 0.0;
  bool extrapolated = false;  // not between two islands, nor inside the innermost one: beyond the outermost on this side
};

struct PlaceSigma {
  double speed = 0.0;       // standard uncertainty of the speed read at given flow and pressure ratio
  double efficiency = 0.0;  // of the efficiency read there, a fraction
};

class CompressorSurface {
 public:
  // From the labeled speed lines, surge line, choke line and islands of a map. What the surface cannot use or doubts is said in Notes().
  // kWrongKind: not a compressor map; kNotEnoughCurves: fewer than two labeled speed lines; kMalformedDocument: an axis is missing; kInvalidArgument: options.
  static Result<CompressorSurface> Build(const PerformanceMap& map, const CompressorSurfaceOptions& options = {});

  // The surface as bytes, from which it is there again in a fraction of the time: for caches. All of it but the uncertainty of speeds (SigmaAt() is nullopt); values are
  // the same to rounding. kPackedVersion changes whenever Build() would give another surface from the same map.
  static constexpr std::uint8_t kPackedVersion = 1;
  std::string Pack() const;
  // Quicker made than asked: for a few questions. nullopt: of another version, or damaged.
  static std::optional<CompressorSurface> Unpack(std::string_view bytes);

  // --- what it covers ---
  double MinSpeed() const;  // of the lowest and highest labeled speed lines
  double MaxSpeed() const;
  const std::vector<double>& LineSpeeds() const;  // ascending
  double LowestSpeed() const;                     // of what is extrapolated, as the options asked; MinSpeed() and MaxSpeed() without
  double HighestSpeed() const;
  const std::string& SpeedUnit() const;  // as the labels print it
  bool HasEfficiency() const;
  double LowestIsland() const;                    // the smallest efficiency printed, a fraction; HasEfficiency() must hold
  bool SurgeLinePrinted() const;                  // false: it is taken through the left ends of the speed lines
  bool ChokeLinePrinted() const;                  // false: taken through the right ends
  const std::vector<std::string>& Notes() const;  // in words; each is a reason for a person to look
  // The boundary from the lowest point of the surge line up, along the highest speed line, down the choke ends and back along the lowest speed line.
  std::vector<EdgePoint> Outline() const;

  // --- forward ---
  // Defined for speeds from a little below the lowest (extrapolated) speed to a little above the highest and beta from -0.2 to 1.2; clamped there.
  SurfaceJet At(const MapPlace& place) const;
  EfficiencyJet EfficiencyAt(const MapPlace& place) const;  // HasEfficiency() must hold
  std::optional<PlaceSigma> SigmaAt(const MapPlace& place) const;
  // Whether what the surface says there rests on curves that are flagged for review: a speed line next to the place, the islands of the levels next to it.
  bool SpeedFlaggedAt(const MapPlace& place) const;
  bool EfficiencyFlaggedAt(const MapPlace& place) const;
  double EfficiencySigmaAt(const MapPlace& place) const;  // that alone; 0 where none is estimated

  // --- inverse ---
  // The place of an operating point, whether on the map or in the narrow margin around it where the surface is still defined; nullopt beyond.
  std::optional<MapPlace> Locate(double flow, double pressure_ratio) const;
  // Every place of that point, the likelier first. More than one only where the map folds (speed lines that cross).
  std::vector<MapPlace> LocateAll(double flow, double pressure_ratio) const;
  // Whether speed lines cross somewhere, so that Locate may have more than one answer.
  bool Folds() const;
  // Places with that flow or pressure ratio on the speed line, from surge to choke; empty: none between surge and choke.
  std::vector<MapPlace> AtFlow(double speed, double flow) const;
  // AtFlow without allocating, where flow never falls along any line (the rule); nullopt otherwise.
  std::optional<MapPlace> OnlyAtFlow(double speed, double flow) const;
  // The pressure ratio of the speed line at that flow, nothing else; nullopt where AtFlow is empty. The highest if there are several.
  std::optional<double> PressureRatioAt(double speed, double flow) const;
  std::vector<MapPlace> AtPressureRatio(double speed, double pressure_ratio) const;

  // --- edges ---
  bool IsOnMap(const MapPlace& place) const;
  bool IsExtrapolated(const MapPlace& place) const;  // between surge and choke at a speed that only the options' extrapolation reaches
  MapRegion RegionOf(double flow, double pressure_ratio) const;
  EdgePoint SurgePoint(double speed) const;  // where the speed line meets the surge line
  EdgePoint ChokePoint(double speed) const;  // the speed line's largest flow, and the pressure ratio there
  MapPlace ChokePlace(double speed) const;   // where on the surface that is
  // The surge line itself, within its own reach and extended a little at both ends; nullopt beyond.
  std::optional<double> SurgePressureRatioAtFlow(double flow) const;
  std::optional<double> SurgeFlowAtPressureRatio(double pressure_ratio) const;
  std::optional<double> SurgeFlowByPressureRatio(double pressure_ratio) const;  // its derivative
  double SurgeFlowSigma() const;                                                // typical standard uncertainty of the surge line's flow, axis units

 private:
  struct Impl;
  explicit CompressorSurface(std::shared_ptr<const Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<const Impl> impl_;
};

}  // namespace islebook
