#pragma once
// What is asked of the bench: an engine at one or more operating points behind one to three compressors in series. Plain values, SI, all pressures absolute
// unless the name says otherwise. Read from a case file by case_file.h; may be filled in by hand. CASE_FILE.md describes the file and every default.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/atmosphere.h"
#include "mapstore/bench/engine.h"

namespace islebook {

// A drop of total pressure. With a reference flow it grows with the square of the air flow, else it is the same at all flows.
struct PressureLoss {
  double fixed_Pa = 0.0;
  double fraction = 0.0;  // of the pressure before it; used where fixed_Pa is 0
  std::optional<double> at_flow_kg_s;
};

struct Cooler {
  double effectiveness = 0.0;  // 0: none
  double coolant_K = 298.15;
};

// What fixes the operating point: exactly one of the first four. A power needs the fuel consumption and the air-fuel ratio, a fuel rate the air-fuel ratio.
// Beside a pressure or an air flow the last two are optional and say what power the air can feed.
struct OperatingTarget {
  std::optional<double> manifold_Pa;
  std::optional<double> boost_Pa;  // gauge: above the ambient pressure of the point
  std::optional<double> air_flow_kg_s;
  std::optional<double> power_W;
  std::optional<double> fuel_flow_kg_s;  // alone or beside power_W
  std::optional<double> fuel_consumption_kg_J;
  std::optional<double> air_fuel_ratio;  // kg of dry air per kg of fuel
};

struct OperatingPoint {
  std::string name;
  int line = 0;  // in the case file; 0: none
  Engine engine;
  double speed_rev_s = 0.0;
  OperatingTarget target;
  AirState ambient;
  std::optional<double> altitude_m;  // where the ambient came from the standard atmosphere
  double relative_humidity = 0.0;    // 0..1
  PressureLoss inlet_loss;           // filter and duct before the first compressor
  PressureLoss cooler_loss;          // cooler and pipes after the last one
  Cooler cooler;
};

struct CompressorStage {
  std::string name;
  std::string map;  // a map file or a name on the shelf, as written
  int line = 0;     // of `map` in the case file
  // Second and third stage: what lies between the stage before and this one.
  PressureLoss inlet_loss;
  Cooler inlet_cooler;
  // At most one, and not for the last stage. With none on any stage the split is the one of least work.
  std::optional<double> pressure_ratio;
  std::optional<double> outlet_Pa;
  std::optional<double> speed_limit;  // the maker's, physical: rev/s, or m/s where the map's speeds are tip speeds
  bool speed_limit_is_tip_speed = false;
  std::optional<double> assumed_efficiency;         // used where the map says none
  std::optional<double> reference_K, reference_Pa;  // what the map's flow and speed are corrected to, where the map does not say or says it wrongly
};

// Where a number stops being "room" and where it becomes "over". Defaults are common practice, no source; the maker's own limits come first.
struct BenchLimits {
  double surge_margin_room = 0.15;  // at and above: room; below 0: over
  double choke_margin_room = 0.08;  // likewise
  double efficiency_room = 0.70;    // at and above: room
  double efficiency_over = 0.60;    // below: over
  double speed_room = 0.95;         // of the limit, at and below: room; above 1: over
  double outlet_K_room = 453.15;    // 180 degrees C, at and below: room
  double outlet_K_over = 483.15;    // 210 degrees C, above: over (aluminum wheels)
  double manifold_K_over = 343.15;  // 70 degrees C, above: over
  double manifold_K_room = 333.15;  // 60 degrees C
};

// A value that the case file left out.
struct AssumedValue {
  std::string key;    // "air_path.inlet_loss"
  std::string value;  // "3 kPa"
  std::string why;    // "a clean filter and duct"
};

enum class UnitHabit { kSi, kUs };

// "sea level", "1,500 m", "6,000 ft".
std::string AltitudeWords(double altitude_m, UnitHabit units);
// 1800 -> "1,800".
std::string GroupThousands(long whole);

struct BenchCase {
  std::string file;  // name for messages; empty: none
  std::string title;
  UnitHabit units = UnitHabit::kSi;
  std::vector<OperatingPoint> points;
  std::vector<CompressorStage> stages;  // in the order of the air
  BenchLimits limits;
  std::vector<AssumedValue> assumed;
};

}  // namespace islebook
