#include "ui/cli/bench_text.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "mapstore/bench/shop_units.h"
#include "mapstore/bench/verdicts.h"
#include "ui/cli/text_table.h"

namespace islebook {
namespace {

std::string Rpm(double rev_s) { return GroupThousands(std::lround(rev_s * 60)) + " rpm"; }

std::string Grouped(double value) { return std::abs(value) < 1000 ? fmt::format("{:.4g}", value) : GroupThousands(std::lround(value)); }

// Beside its uncertainty, as many digits as that allows and one decimal at most.
std::string Beside(double value, const std::optional<double>& sigma, const char* unit) {
  if (!sigma || !(*sigma > 0.0)) return fmt::format("{:.1f} {}", value, unit);
  if (*sigma < 0.05) return fmt::format("{:.1f} ± <0.1 {}", value, unit);
  const int places = *sigma >= 0.95 ? 0 : 1;
  return fmt::format("{:.{}f} ± {:.{}f} {}", value, places, *sigma, places, unit);
}

std::string Fraction(const std::optional<double>& value, const std::optional<double>& sigma = std::nullopt) {
  if (!value) return "-";
  return Beside(100 * *value, sigma ? std::optional<double>(100 * *sigma) : std::nullopt, "%");
}

std::string LossWords(const PressureLoss& loss, const Shop& shop) {
  std::string words = loss.fixed_Pa > 0.0 || loss.fraction == 0.0 ? shop.Drop(loss.fixed_Pa) : fmt::format("{:.3g} %", 100 * loss.fraction);
  if (loss.at_flow_kg_s) words += " at " + shop.Flow(*loss.at_flow_kg_s);
  return words;
}

std::string TargetWords(const OperatingTarget& target, const Shop& shop) {
  std::string words;
  if (target.manifold_Pa) words = fmt::format("manifold {} absolute", shop.Pressure(*target.manifold_Pa));
  if (target.boost_Pa) words = fmt::format("boost {} gauge", shop.Pressure(*target.boost_Pa));
  if (target.air_flow_kg_s) words = fmt::format("air {}", shop.Flow(*target.air_flow_kg_s));
  if (target.power_W) words = fmt::format("power {}", shop.Power(*target.power_W));
  if (target.fuel_flow_kg_s) words += fmt::format("{}fuel {}", words.empty() ? "" : ", ", shop.Fuel(*target.fuel_flow_kg_s));
  if (target.fuel_consumption_kg_J) words += ", " + shop.Consumption(*target.fuel_consumption_kg_J);
  if (target.air_fuel_ratio) words += fmt::format(", air-fuel ratio {:.4g}", *target.air_fuel_ratio);
  return words;
}

std::string Inputs(const BenchResult& result, const Shop& shop) {
  const BenchCase& asked = result.asked;
  std::string out = "Given\n";
  const Engine& engine = asked.points.front().engine;
  out += fmt::format("  engine: {}, {}-stroke\n", shop.Volume(engine.displacement_m3), engine.strokes == 2 ? "two" : "four");
  Table table;
  table.Add({"point", "speed", "vol. eff.", "ambient", "", "inlet loss", "cooler loss", "cooler", "coolant"});
  for (const OperatingPoint& p : asked.points)
    table.Add({p.name, Rpm(p.speed_rev_s), fmt::format("{:.3g} %", 100 * p.engine.volumetric_efficiency), shop.Pressure(p.ambient.pressure_Pa),
               shop.Temperature(p.ambient.temperature_K), LossWords(p.inlet_loss, shop), LossWords(p.cooler_loss, shop),
               fmt::format("{:.3g} %", 100 * p.cooler.effectiveness), p.cooler.effectiveness > 0 ? shop.Temperature(p.cooler.coolant_K) : "-"});
  out += table.Draw();
  out += "  targets\n";
  std::vector<std::pair<std::string, std::string>> targets;  // words, the points that share them
  for (const OperatingPoint& p : asked.points) {
    const std::string words = TargetWords(p.target, shop);
    if (!targets.empty() && targets.back().first == words) {
      targets.back().second += "; " + p.name;
    } else {
      targets.emplace_back(words, p.name);
    }
  }
  for (const auto& [words, names] : targets)
    out += fmt::format("    {}: {}\n", targets.size() > 1 || asked.points.size() < 2 ? names : "all points", words);
  if (!asked.assumed.empty()) {
    out += "Left out in the case file and taken as\n";
    for (const AssumedValue& value : asked.assumed) out += fmt::format("  {} = {} ({})\n", value.key, value.value, value.why);
  }
  return out;
}

std::string Maps(const BenchResult& result, const Shop& shop) {
  std::string out = result.maps.size() > 1 ? "Maps, in the order of the air\n" : "Map\n";
  for (std::size_t i = 0; i < result.maps.size(); ++i) {
    const CompressorFacts& map = result.maps[i];
    out += fmt::format("  {}: {}{}, corrected to {} and {:.2f} kPa{}\n", result.asked.stages[i].name, map.title.empty() ? map.source : map.title,
                       map.title.empty() || map.title == map.source ? "" : " (" + map.source + ")", shop.Temperature(map.reference.temperature_K),
                       map.reference.pressure_Pa / 1000, map.reference.basis == ReferenceConditions::Basis::kAssumed ? " (assumed)" : "");
    if (!map.revision.empty()) out += fmt::format("    revision {}\n", map.revision.substr(0, 12));
    if (result.asked.stages[i].speed_limit && map.speed_unit_si > 0.0)
      out += fmt::format("    speed limit {} {}\n", Grouped(*result.asked.stages[i].speed_limit / map.speed_unit_si), map.speed_unit);
  }
  return out;
}

// "42 % open", "shut", "45 % vanes".
std::string OpeningWords(const TurbineState& turbine, const TurbineFacts& facts) {
  std::string words =
      turbine.vane_opening ? fmt::format("{:.3g} {}", *turbine.vane_opening, facts.parameter_unit) : fmt::format("{:.3g} %", 100 * turbine.opening);
  if (turbine.regulation == Regulation::kClosed) words += " (shut)";
  if (turbine.regulation == Regulation::kOpen) words += " (wide open)";
  if (turbine.regulation == Regulation::kMost) words += " (no more)";
  return words;
}

std::string TurbineTable(const BenchResult& result, std::size_t stage, const Shop& shop) {
  const TurbineFacts& facts = result.turbines[stage];
  std::string out = fmt::format("Its turbine ({})\n", facts.title.empty() ? facts.source : facts.title);
  Table table;
  table.Add({"point", "inlet", "", "outlet", "", "expansion", "through", "wastegate", facts.has_vanes ? "vanes" : "opening", "efficiency", "power",
             "shaft"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty() || !point.stages[stage].turbine) continue;
    const TurbineState& turbine = *point.stages[stage].turbine;
    table.Add({point.name, shop.Pressure(turbine.inlet_Pa), shop.Temperature(turbine.inlet_K), shop.Pressure(turbine.outlet_Pa),
               shop.Temperature(turbine.outlet_K), fmt::format("{:.3f}", turbine.expansion_ratio), shop.Flow(turbine.flow_kg_s),
               turbine.wastegate_flow_kg_s > 0.0 ? shop.Flow(turbine.wastegate_flow_kg_s) : "-", OpeningWords(turbine, facts),
               Fraction(turbine.reading.efficiency), shop.Power(turbine.flow_kg_s * turbine.work_J_kg),
               turbine.speed_rev_s ? Rpm(*turbine.speed_rev_s) : "-"});
  }
  return out + table.Draw();
}

std::string ExhaustTable(const BenchResult& result, const Shop& shop) {
  std::string out = "Exhaust\n";
  Table table;
  table.Add({"point", "exhaust", "before turbine", "drive pressure", "above ambient", "over boost", "back pressure", "target"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty() || !point.exhaust) continue;
    const PointResult::ExhaustSide& side = *point.exhaust;
    table.Add({point.name, shop.Flow(side.engine.flow_kg_s), shop.Temperature(side.engine.turbine_K), shop.Pressure(side.drive_Pa),
               shop.Pressure(side.drive_Pa - point.input.ambient.pressure_Pa), side.drive_ratio > 0.0 ? fmt::format("{:.2f}", side.drive_ratio) : "-",
               shop.Drop(side.back_pressure_Pa),
               std::abs(side.target_ratio - 1.0) < 1e-6 ? "reached" : fmt::format("{:+.1f} %", 100 * (side.target_ratio - 1.0))});
  }
  return out + table.Draw();
}

std::string PointTable(const BenchResult& result, const Shop& shop) {
  std::string out = "Points\n";
  Table table;
  table.Add({"point", "grade", "air", "manifold", "", "boost", "PR", "cooler heat", "compressor power", "power"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) {
      table.Add({point.name, "not worked out"});
      continue;
    }
    table.Add({point.name, GradeName(point.grade), shop.Flow(point.air_flow_kg_s), shop.Pressure(point.manifold_Pa),
               shop.Temperature(point.manifold_K), shop.Pressure(point.manifold_Pa - point.input.ambient.pressure_Pa),
               fmt::format("{:.3f}", point.overall_pressure_ratio), shop.Power(point.cooler_W), shop.Power(point.compressor_power_W),
               point.power_W ? shop.Power(*point.power_W) : "-"});
  }
  out += table.Draw();
  if (!result.turbines.empty()) out += ExhaustTable(result, shop);
  for (std::size_t i = 0; i < result.maps.size(); ++i) {
    const CompressorFacts& map = result.maps[i];
    out += fmt::format("On the map{}\n", result.maps.size() > 1 ? ", " + result.asked.stages[i].name + " stage" : "");
    Table stage_table;
    stage_table.Add({"point", "inlet", "", "flow on map", "PR", "speed", "corrected", "efficiency", "outlet", "power", "surge", "choke"});
    for (const PointResult& point : result.points) {
      if (!point.failure.empty()) continue;
      const StageResult& stage = point.stages[i];
      const CompressorReading& reading = stage.reading;
      const std::string unit = map.speed_unit.empty() ? "" : " " + map.speed_unit;
      stage_table.Add(
          {point.name, shop.Pressure(stage.inlet_Pa), shop.Temperature(stage.inlet_K), fmt::format("{:.4g} {}", reading.map_flow, map.flow_unit),
           fmt::format("{:.3f}", stage.pressure_ratio), reading.speed ? Grouped(*reading.speed) + unit : "-",
           reading.corrected_speed ? Grouped(*reading.corrected_speed) + unit : "-",
           stage.efficiency_assumed ? fmt::format("{:.0f} % assumed", 100 * stage.efficiency) : Fraction(stage.efficiency, reading.sigma_efficiency),
           shop.Temperature(stage.outlet_K), shop.Power(stage.power_W), Fraction(reading.surge_margin, stage.sigma_surge_margin),
           Fraction(reading.choke_margin)});
    }
    out += stage_table.Draw();
    if (!result.turbines.empty()) out += TurbineTable(result, i, shop);
    if (!map.surge_margin_definition.empty() && i + 1 == result.maps.size()) out += fmt::format("  Surge margin: {}.\n", map.surge_margin_definition);
  }
  return out;
}

std::string VerdictLines(const BenchResult& result) {
  std::string out = "Verdicts (room, close, over)\n";
  for (const PointResult& point : result.points) {
    out += fmt::format("  {}: {}\n", point.name, point.failure.empty() ? GradeName(point.grade) : "not worked out: " + point.failure);
    const auto list = [&out](const std::vector<Verdict>& verdicts, const std::string& where) {
      for (const Verdict& verdict : VerdictsThatMatter(verdicts))
        out += fmt::format("    {:<8}{}{}\n", GradeName(verdict.grade), where, verdict.words);
    };
    for (const StageResult& stage : point.stages) list(stage.verdicts, point.stages.size() > 1 ? stage.name + ": " : "");
    list(point.verdicts, "");
    if (point.failure.empty() && point.grade != Grade::kRoom) out += "    room    in all else that is known\n";
  }
  out += "Graded by\n";
  for (const LimitWords& limit : DescribeLimits(result.asked.limits, result.asked.units, result.asked.HasTurbines()))
    out += fmt::format("  {}: {}\n", limit.name, limit.words);
  out +=
      "  A number within two standard uncertainties of \"over\" is close at best. Common practice, no source: the makers' own limits come first.\n"
      "  ± is what the map's own uncertainty makes (one standard deviation); what is uncertain about the inputs comes on top.\n";
  return out;
}

}  // namespace

std::string BenchText(const BenchResult& result) {
  const Shop shop(result.asked.units);
  std::string out = result.summary + "\n";
  if (!result.asked.title.empty()) out += result.asked.title + (result.asked.file.empty() ? "" : " (" + result.asked.file + ")") + "\n";
  out += "\n" + Maps(result, shop) + "\n" + Inputs(result, shop) + "\n" + PointTable(result, shop) + "\n" + VerdictLines(result);
  const std::vector<SharedDoubt> shared = DoubtsOfPoints(result);
  if (!result.doubts.empty() || !shared.empty()) {
    out += "\nLook at\n";
    for (const std::string& doubt : result.doubts) out += "  " + doubt + "\n";
    for (const SharedDoubt& doubt : shared) out += fmt::format("  {} {}\n", doubt.words, PointsInWords(result, doubt.points));
  }
  out += "\nCautions\n";
  for (const std::string& caution : BenchCautions()) out += "  " + caution + "\n";
  return out;
}

}  // namespace islebook
