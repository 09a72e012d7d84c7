#pragma once
// The bench: works out every operating point of a case on the maps of its stages, and grades what it finds.
//
// A point: target -> air flow and manifold pressure -> losses -> pressure ratio of each stage -> corrected flow at each stage's own inlet -> speed, efficiency and
// margins from its map -> outlet temperature -> coolers -> manifold temperature, which closes the loop: it sets the density that sets the air flow. Solved to
// 1e-12 of the manifold temperature. Gas: air of varying heat capacity (gas.h). No state; any number of threads.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/balance_solver.h"
#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/compressor_reader.h"
#include "mapstore/units/error.h"

namespace islebook {

// kUnknown: the map does not say. Later is worse.
enum class Grade { kRoom, kUnknown, kClose, kOver };
const char* GradeName(Grade grade);  // "room", "unknown", "close", "over"

enum class VerdictKind {
  kOnMap,
  kSurge,
  kChoke,
  kSpeed,
  kEfficiency,
  kOutletTemperature,
  kManifoldTemperature,
  // Only with turbines.
  kTarget,
  kDriveRatio,
  kTurbineTemperature,
  kTurbineMap
};
const char* VerdictName(VerdictKind kind);  // "on_map", "surge", ...

struct Verdict {
  VerdictKind kind = VerdictKind::kOnMap;
  Grade grade = Grade::kUnknown;
  std::optional<double> value, sigma;  // fraction, or K for temperatures; speed: fraction of its limit
  std::string words;                   // "surge margin 14 % ± 1 %"
  double shortfall = 0.0;              // 0 at the edge of room, 1 at the edge of over: what the worst is found by
};

struct StageResult {
  std::string name;
  double flow_kg_s = 0.0;
  double inlet_K = 0.0, inlet_Pa = 0.0;
  double pressure_ratio = 0.0;
  double outlet_K = 0.0, outlet_Pa = 0.0;
  double isentropic_outlet_K = 0.0;
  double power_W = 0.0;             // taken in by the air
  double inlet_cooler_W = 0.0;      // heat given off before this stage
  double efficiency = 0.0;          // used
  bool efficiency_assumed = false;  // the map says none there
  CompressorReading reading;
  std::optional<TurbineState> turbine;
  std::optional<double> sigma_outlet_K, sigma_surge_margin;  // with what the efficiency's uncertainty does to the flow
  std::vector<Verdict> verdicts;
};

struct PointResult {
  std::string name;
  int line = 0;
  std::string failure;  // in words; empty: solved. Nothing below but the inputs holds where it is not.
  OperatingPoint input;
  double air_flow_kg_s = 0.0;
  double manifold_Pa = 0.0, manifold_K = 0.0;
  double overall_pressure_ratio = 0.0;  // last outlet over first inlet
  double inlet_loss_Pa = 0.0, cooler_loss_Pa = 0.0;
  double cooler_W = 0.0;  // heat given off after the last stage
  double compressor_power_W = 0.0;
  std::optional<double> fuel_flow_kg_s, power_W;  // what the air feeds at the case's air-fuel ratio and consumption
  std::optional<double> sigma_manifold_K, sigma_air_flow;
  // With turbines.
  struct ExhaustSide {
    EngineExhaust engine;
    double drive_Pa = 0.0, back_pressure_Pa = 0.0;  // before the first turbine; what the way out adds to the ambient
    double drive_ratio = 0.0;                       // drive pressure over boost, both above ambient; 0 where there is no boost
    double target_ratio = 1.0;                      // reached over wanted: manifold pressure or air flow
    double sigma_drive_Pa = 0.0, sigma_manifold_Pa = 0.0;
    double residual = 0.0;
  };
  std::optional<ExhaustSide> exhaust;
  int iterations = 0;
  bool least_work_split = false;
  std::vector<StageResult> stages;
  std::vector<Verdict> verdicts;    // of the point as a whole
  std::vector<std::string> doubts;  // in words: why a person should look
  Grade grade = Grade::kUnknown;    // the worst of all verdicts
};

struct BenchResult {
  BenchCase asked;
  std::vector<CompressorFacts> maps;   // one a stage
  std::vector<TurbineFacts> turbines;  // likewise; empty without turbines
  std::vector<PointResult> points;
  Grade grade = Grade::kUnknown;
  std::string summary;                     // the most important thing, one line
  int worst_point = -1, worst_stage = -1;  // -1: none; a stage of -1 is the point as a whole
  std::vector<std::string> doubts;         // about the maps and the case
  bool AnyFailure() const;
  bool NeedsReview() const;  // something is over, unknown or doubted
};

// `maps`: one a stage, in order, and `turbines` likewise or none; they must outlive the call. With turbines every shaft is balanced (balance_solver.h) and the
// pressures between the stages follow; without, the split is the case's or the one of least work. A point that cannot be worked out is a PointResult with its failure, not an error.
// kInvalidArgument: the numbers of stages and maps differ or there is no point.
Result<BenchResult> RunBench(const BenchCase& asked, const std::vector<const CompressorReader*>& maps,
                             const std::vector<const TurbineReader*>& turbines = {});

// The usual cautions that stand under every report.
const std::vector<std::string>& BenchCautions();

}  // namespace islebook
