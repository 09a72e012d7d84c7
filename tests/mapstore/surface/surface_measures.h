#pragma once
// How far a surface passes from what is known: errors gathered, and maps with known answers read from files. For tests and surface_figures.

#include <cstddef>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/surface/compressor_surface.h"

namespace islebook {

// Errors and, where one is stated, the standard uncertainty beside each.
class Tally {
 public:
  void Add(double error, double sigma = 0.0);
  void Add(const Tally& other);
  int count() const { return count_; }
  double Rms() const;
  double Worst() const { return worst_; }
  double InBand() const;        // share of errors within 1.96 sigma
  double WidthOverRms() const;  // full width of the 95 % band, mean over the places, by the rms error
  std::string Words(double scale, const char* unit) const;

 private:
  double squares_ = 0.0, worst_ = 0.0, width_ = 0.0;
  int count_ = 0, in_band_ = 0;
};

// --- sheets drawn with exact truth (shared specimens: NAME.truth.json) ---
struct FieldSample {
  double x = 0.0, y = 0.0, speed = 0.0, efficiency = 0.0;
};
struct TrueSheet {
  std::string name;
  PerformanceMap map;  // its exact curves
  std::vector<FieldSample> samples;
};
// Every truth of a folder, by name; empty where the folder is absent.
std::vector<TrueSheet> ReadTrueSheets(const std::filesystem::path& folder);

// --- measured maps (shared open data, hecc_*.csv) ---
struct Reading {
  double flow = 0.0, pressure_ratio = 0.0, efficiency = 0.0;  // lb/s; isentropic, total to total
};
using SpeedReadings = std::map<double, std::vector<Reading>>;  // by nominal speed in %, each line from surge to choke
struct RawReading {
  double speed = 0.0, flow = 0.0, pressure_ratio = 0.0, efficiency = 0.0;
};
// Brings every reading to its line's nominal speed by similarity: flow with speed, head with its square.
SpeedReadings AtNominalSpeeds(const std::vector<RawReading>& readings);
SpeedReadings ReadMeasured(const std::filesystem::path& file);
const std::vector<RawReading>& VanedReadings();  // 92 readings at 70 to 105 %, here for tests without the shared data
PerformanceMap MapOf(const SpeedReadings& readings);
CompressorSurfaceOptions OptionsWithPoints(const SpeedReadings& readings);

// Every other reading left out, the ends of the lines kept, both ways.
struct HalfLeftOut {
  Tally ratio;          // pressure ratio at the reading's speed and flow, where the line is not choked: not within 0.5 % of its largest flow
  Tally ratio_at_beta;  // pressure ratio at the reading's speed on the beta line through it: everywhere
  Tally speed, efficiency;
  int choked = 0, unanswered = 0;
};
HalfLeftOut LeaveHalfOut(const SpeedReadings& readings);

// Each speed line left out in turn.
struct LineLeftOut {
  Tally inner, outermost;                  // pressure ratio on the beta line through the point, relative
  Tally inner_at_flow, outermost_at_flow;  // at the point's flow, where the line is not choked
  int unanswered = 0;
};
LineLeftOut LeaveLinesOut(const PerformanceMap& map);

// Each island left out in turn: efficiency along it.
struct IslandLeftOut {
  Tally between, outermost, innermost;
  int unanswered = 0;
};
IslandLeftOut LeaveIslandsOut(const PerformanceMap& map);

// Field samples of a sheet against the surface of its exact curves or of a digitized map.
struct FieldMisses {
  Tally speed, inside, beyond;     // relative; fraction, between islands; fraction, beyond the outermost
  int unanswered = 0, unsure = 0;  // off the map; too unsure for an efficiency, as a query has it
};
void MissField(const CompressorSurface& surface, const std::vector<FieldSample>& samples, FieldMisses& misses);

}  // namespace islebook
