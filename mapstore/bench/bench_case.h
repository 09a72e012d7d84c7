#pragma once
// What is asked of the bench: an engine at one or more operating points behind one to three compressors in series. Plain values, SI, all pressures absolute
// unless the name says otherwise. Read from a case file by case_file.h; may be filled in by hand. CASE_FILE.md describes the file and every default.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/atmosphere.h"
#include "mapstore/bench/engine.h"
#include "mapstore/bench/held_opening.h"
#include "mapstore/bench/unit_habit.h"

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

// Between the engine and the last turbine's outlet. Used only where the stages have turbines.
struct ExhaustPath {
  std::optional<double> manifold_K;  // behind the valves; without it the engine's energy balance gives it
  double heat_to_coolant = 0.24;     // part of the fuel's heat that coolant, oil and the engine's skin carry away
  double heat_loss = 0.03;           // part of the exhaust's heat above 25 degrees C that the manifold gives off before the first turbine
  PressureLoss back_pressure;        // from the last turbine's outlet to the open air, added to the ambient pressure; its reference flow is exhaust
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
  ExhaustPath exhaust;
};

// What drives a compressor: a turbine map or a hole of the same size, a wastegate round it, the shaft between.
struct TurbineStage {
  std::string map;  // a map file or a name on the shelf, as written; empty: effective_area_m2 and assumed_efficiency stand for one
  int line = 0;     // in the case file
  std::optional<double> effective_area_m2;          // of a nozzle that passes as much
  std::optional<double> assumed_efficiency;         // total to static, used where the map says none
  std::optional<double> reference_K, reference_Pa;  // what the map's flow and speed are corrected to, where the map does not say
  std::optional<double> wheel_diameter_m;           // for maps of efficiency over the velocity ratio
  double wastegate_area_m2 = 0.0;                   // of the open port; 0: none
  double wastegate_discharge = 0.7;                 // the share of the port that the flow fills
  std::optional<HeldOpening> wastegate_opening;     // 0 to 1: held there; none: it regulates
  std::optional<HeldOpening> vane_opening;          // held there, in the SI unit of the map's labels (0.4 for 40 %); none: they regulate
  std::optional<double> map_air_K;                  // the map was measured with air this hot; none: with gas like the engine's exhaust
  double shaft_efficiency = 0.97;                   // compressor power over turbine power
};

struct CompressorStage {
  std::string name;
  std::string map;  // a map file or a name on the shelf, as written
  int line = 0;     // of `map` in the case file
  // Second and third stage: what lies between the stage before and this one.
  PressureLoss inlet_loss;
  Cooler inlet_cooler;
  // At most one, and not for the last stage. With none on any stage the split is the one of least work.
  // Where turbines are given these are what the stage's wastegate or vanes hold.
  std::optional<double> pressure_ratio;
  std::optional<double> outlet_Pa;
  std::optional<TurbineStage> turbine;  // on every stage or on none
  std::optional<double> speed_limit;    // the maker's, physical: rev/s, or m/s where the map's speeds are tip speeds
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
  double drive_ratio_room = 1.15;   // drive pressure over boost, both above ambient; at and below: room
  double drive_ratio_over = 1.5;    // above: over
  double turbine_K_room = 973.15;   // 700 degrees C before the first turbine, at and below: room
  double turbine_K_over = 1033.15;  // 760 degrees C, above: over
};

// A value that the case file left out.
struct AssumedValue {
  std::string key;    // "air_path.inlet_loss"
  std::string value;  // "3 kPa"
  std::string why;    // "a clean filter and duct"
};

// "sea level", "1,500 m", "6,000 ft".
std::string AltitudeWords(double altitude_m, const UnitHabit& units);
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
  bool HasTurbines() const { return !stages.empty() && stages.front().turbine.has_value(); }
};

}  // namespace islebook
