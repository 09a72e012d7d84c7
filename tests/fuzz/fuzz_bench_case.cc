// A case for the bench: whatever it is, either it is refused with a sentence and a place, or it is worked out, and then every number in the table is finite, every point that
// failed says why, and the report is whole JSON.
#include <cmath>

#include <nlohmann/json.hpp>

#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/opened_bench.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace {

using namespace islebook;

Result<BenchMap> Find(const std::string& name) {
  static const auto compressor = std::make_shared<const PerformanceMap>(InventCompressor(2, {.lines = 5, .points = 30}).map);
  static const auto turbine = std::make_shared<const PerformanceMap>(InventTurbine(4, true).map);
  if (name == "alder") return BenchMap{compressor, name, ""};
  if (name == "rowan") return BenchMap{turbine, name, ""};
  return Fail(ErrorCode::kNotFound, "there is no such map.", name);
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  return {
      "[engine]\ndisplacement = \"5.9 L\"\nspeed = \"2000 rpm\"\nboost = \"0.8 bar\"\n[[stage]]\ncompressor = \"alder\"\n",
      "schema = 1\ntitle = \"ferry\"\nunits = \"us\"\n[engine]\ndisplacement_per_cylinder = \"60 in3\"\ncylinders = 6\nstrokes = 4\nspeed = [\"1400 "
      "rpm\", "
      "\"1800 rpm\"]\npower = \"200 hp\"\nair_fuel_ratio = 24\nbrake_specific_fuel_consumption = \"0.35 lb/(hp h)\"\nvolumetric_efficiency = \"91 "
      "%\"\n"
      "[ambient]\naltitude = [\"0 ft\", \"5000 ft\"]\ntemperature = \"80 °F\"\nrelative_humidity = \"60 %\"\n[air_path]\ninlet_loss = \"0.5 psi at "
      "40 lb/min\"\n"
      "cooler_loss = \"2 %\"\ncooler_effectiveness = 0.8\ncoolant_temperature = \"90 °F\"\n[limits]\nsurge_margin_room = \"20 "
      "%\"\n[[stage]]\ncompressor = "
      "\"alder\"\npressure_ratio = 1.5\n[[stage]]\nname = \"second\"\ncompressor = \"alder\"\nspeed_limit = \"110000 rpm\"\ninlet_loss = \"1 kPa\"\n",
      "[engine]\ndisplacement = \"6 L\"\nspeed = \"2000 rpm\"\nmanifold_pressure = \"1.9 bar absolute\"\n[exhaust]\nheat_loss = \"4 "
      "%\"\nback_pressure = \"6 kPa\"\n"
      "[[stage]]\ncompressor = \"alder\"\nturbine = \"rowan\"\nturbine_map_gas = \"air\"\nvane_opening = { \"1000 rpm\" = \"20 %\", \"2200 rpm\" = "
      "\"70 %\" }\n"
      "shaft_efficiency = \"96 %\"\n[[point]]\nname = \"a\"\n[[point]]\nspeed = \"1200 rpm\"\nboost = \"5 psi\"\n",
      "[engine]\ndisplacement = \"6 L\"\nspeed = \"2000 rpm\"\nboost = \"0.9 bar\"\n[[stage]]\ncompressor = \"alder\"\nturbine_effective_area = \"9 "
      "cm2\"\n"
      "wastegate_diameter = \"20 mm\"\nwastegate_opening = \"30 %\"\n"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  auto asked = ParseCase({reinterpret_cast<const char*>(data), size}, "case.toml");
  if (!asked) {
    FUZZ_CHECK(asked.error().code == ErrorCode::kBadCase && !asked.error().message.empty() && !asked.error().place.empty());
    return 0;
  }
  FUZZ_CHECK(!asked->points.empty() && !asked->stages.empty());
  if (asked->points.size() > 4) asked->points.resize(4);
  const auto bench = OpenedBench::Open(std::move(*asked), Find);
  if (!bench) {
    FUZZ_CHECK(!bench.error().message.empty() && bench.error().place.find("line") != std::string::npos);
    return 0;
  }
  const auto result = bench->Run();
  FUZZ_CHECK(result.has_value());
  const auto report = nlohmann::json::parse(WriteBenchReport(*result), nullptr, false);
  FUZZ_CHECK(!report.is_discarded() && report.at("points").size() == result->points.size());
  for (const auto& point : report.at("points")) FUZZ_CHECK(!point.contains("failure") || !point.at("failure").get<std::string>().empty());
  for (std::size_t row = 0; row < BenchRows(*result); ++row)
    for (std::size_t column = 0; column < BenchColumns().size(); ++column) FUZZ_CHECK(std::isfinite(BenchValue(*result, row, column).value_or(0.0)));
  FUZZ_CHECK(WriteBenchCsv(*result).ends_with("\r\n"));
  return 0;
}
