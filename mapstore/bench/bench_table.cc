#include "mapstore/bench/bench_table.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "mapstore/bench/bench_json.h"
#include "mapstore/map/csv_text.h"
#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

// One row: the point, and unless it could not be worked out its stage.
struct Row {
  const BenchResult& result;
  const PointResult& point;
  std::size_t index;
  const StageResult* stage;
  const TurbineState* turbine;
  const PointResult::ExhaustSide* exhaust;
};

using Value = std::optional<double>;
using Getter = Value (*)(const Row&);

struct Column {
  BenchColumn column;
  Getter get;
};

template <auto Member>
Value OfPoint(const Row& row) {
  return row.stage ? Value(row.point.*Member) : std::nullopt;
}
template <auto Member>
Value OfStage(const Row& row) {
  return row.stage ? Value(row.stage->*Member) : std::nullopt;
}
template <auto Member>
Value OfReading(const Row& row) {
  return row.stage ? Value(row.stage->reading.*Member) : std::nullopt;
}
template <auto Member>
Value OfTurbine(const Row& row) {
  return row.turbine ? Value(row.turbine->*Member) : std::nullopt;
}
template <auto Member>
Value OfExhaust(const Row& row) {
  return row.exhaust ? Value(row.exhaust->*Member) : std::nullopt;
}

// A speed of the map's labels, where they are speeds of that kind.
template <auto Member, bool kTip>
Value OfSpeed(const Row& row) {
  if (!row.stage) return std::nullopt;
  const CompressorFacts& map = row.result.maps[row.index];
  const Value& speed = row.stage->reading.*Member;
  return speed && map.speed_unit_si > 0.0 && map.speed_is_tip_speed == kTip ? Value(*speed * map.speed_unit_si) : std::nullopt;
}

Value SpeedShare(const Row& row) {
  if (!row.stage) return std::nullopt;
  for (const Verdict& verdict : row.stage->verdicts)
    if (verdict.kind == VerdictKind::kSpeed) return verdict.value;
  return std::nullopt;
}

constexpr std::array<Column, 52> kColumns{{
    {{"engine", "speed", "rev/s"}, [](const Row& row) { return Value(row.point.input.speed_rev_s); }},
    {{"engine", "altitude", "m"}, [](const Row& row) { return row.point.input.altitude_m; }},
    {{"engine", "ambient_pressure", "Pa"}, [](const Row& row) { return Value(row.point.input.ambient.pressure_Pa); }},
    {{"engine", "ambient_temperature", "K"}, [](const Row& row) { return Value(row.point.input.ambient.temperature_K); }},
    {{"engine", "air_flow", "kg/s"}, OfPoint<&PointResult::air_flow_kg_s>},
    {{"engine", "sigma_air_flow", "kg/s"}, OfPoint<&PointResult::sigma_air_flow>},
    {{"engine", "manifold_pressure", "Pa"}, OfPoint<&PointResult::manifold_Pa>},
    {{"engine", "boost", "Pa"},
     [](const Row& row) { return row.stage ? Value(row.point.manifold_Pa - row.point.input.ambient.pressure_Pa) : std::nullopt; }},
    {{"engine", "manifold_temperature", "K"}, OfPoint<&PointResult::manifold_K>},
    {{"engine", "sigma_manifold_temperature", "K"}, OfPoint<&PointResult::sigma_manifold_K>},
    {{"engine", "pressure_ratio", "1"}, OfPoint<&PointResult::overall_pressure_ratio>},
    {{"engine", "compressor_power", "W"}, OfPoint<&PointResult::compressor_power_W>},
    {{"engine", "cooler_heat", "W"}, OfPoint<&PointResult::cooler_W>},
    {{"engine", "fuel_flow", "kg/s"}, OfPoint<&PointResult::fuel_flow_kg_s>},
    {{"engine", "power", "W"}, OfPoint<&PointResult::power_W>},
    {{"engine", "drive_pressure", "Pa"}, OfExhaust<&PointResult::ExhaustSide::drive_Pa>},
    {{"engine", "sigma_drive_pressure", "Pa"}, OfExhaust<&PointResult::ExhaustSide::sigma_drive_Pa>},
    {{"engine", "drive_ratio", "1"},
     [](const Row& row) { return row.exhaust && row.exhaust->drive_ratio > 0.0 ? Value(row.exhaust->drive_ratio) : std::nullopt; }},
    {{"engine", "target_ratio", "1"}, OfExhaust<&PointResult::ExhaustSide::target_ratio>},
    {{"engine", "exhaust_flow", "kg/s"}, [](const Row& row) { return row.exhaust ? Value(row.exhaust->engine.flow_kg_s) : std::nullopt; }},
    {{"engine", "exhaust_temperature", "K"}, [](const Row& row) { return row.exhaust ? Value(row.exhaust->engine.turbine_K) : std::nullopt; }},
    {{"compressor", "inlet_temperature", "K"}, OfStage<&StageResult::inlet_K>},
    {{"compressor", "inlet_pressure", "Pa"}, OfStage<&StageResult::inlet_Pa>},
    {{"compressor", "corrected_flow", "kg/s"}, OfReading<&CompressorReading::corrected_flow_kg_s>},
    {{"compressor", "pressure_ratio", "1"}, OfStage<&StageResult::pressure_ratio>},
    {{"compressor", "outlet_temperature", "K"}, OfStage<&StageResult::outlet_K>},
    {{"compressor", "sigma_outlet_temperature", "K"}, OfStage<&StageResult::sigma_outlet_K>},
    {{"compressor", "outlet_pressure", "Pa"}, OfStage<&StageResult::outlet_Pa>},
    {{"compressor", "power", "W"}, OfStage<&StageResult::power_W>},
    {{"compressor", "efficiency", "1"}, OfStage<&StageResult::efficiency>},
    {{"compressor", "sigma_efficiency", "1"}, OfReading<&CompressorReading::sigma_efficiency>},
    {{"compressor", "efficiency_assumed", "1"},
     [](const Row& row) { return row.stage ? Value(row.stage->efficiency_assumed ? 1.0 : 0.0) : std::nullopt; }},
    {{"compressor", "corrected_speed", "rev/s"}, OfSpeed<&CompressorReading::corrected_speed, false>},
    {{"compressor", "speed", "rev/s"}, OfSpeed<&CompressorReading::speed, false>},
    {{"compressor", "tip_speed", "m/s"}, OfSpeed<&CompressorReading::speed, true>},
    {{"compressor", "speed_of_limit", "1"}, SpeedShare},
    {{"compressor", "surge_margin", "1"}, OfReading<&CompressorReading::surge_margin>},
    {{"compressor", "sigma_surge_margin", "1"}, OfStage<&StageResult::sigma_surge_margin>},
    {{"compressor", "choke_margin", "1"}, OfReading<&CompressorReading::choke_margin>},
    {{"compressor", "inside", "1"}, [](const Row& row) { return row.stage ? Value(row.stage->reading.inside ? 1.0 : 0.0) : std::nullopt; }},
    {{"turbine", "inlet_temperature", "K"}, OfTurbine<&TurbineState::inlet_K>},
    {{"turbine", "inlet_pressure", "Pa"}, OfTurbine<&TurbineState::inlet_Pa>},
    {{"turbine", "outlet_temperature", "K"}, OfTurbine<&TurbineState::outlet_K>},
    {{"turbine", "outlet_pressure", "Pa"}, OfTurbine<&TurbineState::outlet_Pa>},
    {{"turbine", "expansion_ratio", "1"}, OfTurbine<&TurbineState::expansion_ratio>},
    {{"turbine", "flow", "kg/s"}, OfTurbine<&TurbineState::flow_kg_s>},
    {{"turbine", "wastegate_flow", "kg/s"}, OfTurbine<&TurbineState::wastegate_flow_kg_s>},
    {{"turbine", "wastegate_opening", "1"},
     [](const Row& row) { return row.turbine && !row.result.turbines[row.index].has_vanes ? Value(row.turbine->opening) : std::nullopt; }},
    {{"turbine", "vane_opening", "1"},
     [](const Row& row) {
       return row.turbine && row.turbine->vane_opening ? Value(*row.turbine->vane_opening * row.result.turbines[row.index].parameter_factor)
                                                       : std::nullopt;
     }},
    {{"turbine", "efficiency", "1"}, [](const Row& row) { return row.turbine ? Value(row.turbine->reading.efficiency) : std::nullopt; }},
    {{"turbine", "power", "W"}, [](const Row& row) { return row.turbine ? Value(row.turbine->flow_kg_s * row.turbine->work_J_kg) : std::nullopt; }},
    {{"turbine", "speed", "rev/s"}, OfTurbine<&TurbineState::speed_rev_s>},
}};

constexpr auto kNames = [] {
  std::array<BenchColumn, kColumns.size()> names{};
  for (std::size_t i = 0; i < kColumns.size(); ++i) names[i] = kColumns[i].column;
  return names;
}();

Row RowAt(const BenchResult& result, std::size_t row) {
  const std::size_t stages = result.asked.stages.size(), index = row % stages;
  const PointResult& point = result.points[row / stages];
  const StageResult* stage = point.failure.empty() ? &point.stages[index] : nullptr;
  return {result, point, index, stage, stage && stage->turbine ? &*stage->turbine : nullptr, stage && point.exhaust ? &*point.exhaust : nullptr};
}

// The worst of what is said of this wheel.
const char* WheelGrade(const StageResult& stage) {
  Grade grade = Grade::kRoom;
  for (const Verdict& verdict : stage.verdicts) grade = std::max(grade, verdict.grade);
  return GradeName(grade);
}

}  // namespace

std::span<const BenchColumn> BenchColumns() { return kNames; }

std::size_t BenchRows(const BenchResult& result) { return result.points.size() * result.asked.stages.size(); }

std::optional<double> BenchValue(const BenchResult& result, std::size_t row, std::size_t column) {
  if (row >= BenchRows(result) || column >= kColumns.size()) return std::nullopt;
  const Value value = kColumns[column].get(RowAt(result, row));
  return value && std::isfinite(*value) ? value : std::nullopt;
}

std::string WriteBenchCsv(const BenchResult& result) {
  std::string out = "point,wheel";
  for (const BenchColumn& column : kNames) {
    out += std::string(",") + column.role + "_" + column.quantity;
    if (std::string_view(column.unit) != "1") out += std::string(" [") + column.unit + "]";
  }
  out += ",grade,region,regulation,failure,needs_review\r\n";
  for (std::size_t at = 0; at < BenchRows(result); ++at) {
    const Row row = RowAt(result, at);
    AppendCsvField(out, row.point.name);
    out += ',';
    AppendCsvField(out, result.asked.stages[row.index].name);
    for (std::size_t column = 0; column < kColumns.size(); ++column) {
      out += ',';
      if (const Value value = BenchValue(result, at, column)) out += JsonNumber(*value);
    }
    out += ',';
    if (row.stage) out += WheelGrade(*row.stage);
    out += ',';
    if (row.stage && row.stage->reading.region) out += MapRegionName(*row.stage->reading.region);
    out += ',';
    if (row.turbine) out += RegulationName(row.turbine->regulation);
    out += ',';
    AppendCsvField(out, row.point.failure);
    out += ',';
    std::string doubts;
    for (const std::string& doubt : row.point.doubts) doubts += (doubts.empty() ? "" : " ") + doubt;
    AppendCsvField(out, doubts);
    out += "\r\n";
  }
  return out;
}

}  // namespace islebook
