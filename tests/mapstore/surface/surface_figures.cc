// How well surfaces do, as figures: build `surface_figures` and run it.
//   surface_figures                      exact curves, lines and islands left out, measured maps (of the shared data)
//   surface_figures TRUTHS RESULTS...    end to end: folders of NAME.truth.json and of the NAME.map.json that `islebook digitize` made, in pairs

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <fmt/format.h>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/surface/invented_maps.h"
#include "tests/mapstore/surface/surface_measures.h"

namespace islebook {
namespace {

void Say(const std::string& what, const Tally& tally, double scale, const char* unit) {
  if (tally.count() > 0) fmt::print("  {:<44} {}\n", what, tally.Words(scale, unit));
}

void LeftOut(const std::vector<PerformanceMap>& maps, const char* where) {
  LineLeftOut lines;
  IslandLeftOut islands;
  for (const PerformanceMap& map : maps) {
    const LineLeftOut line = LeaveLinesOut(map);
    lines.inner.Add(line.inner);
    lines.outermost.Add(line.outermost);
    lines.inner_at_flow.Add(line.inner_at_flow);
    lines.outermost_at_flow.Add(line.outermost_at_flow);
    lines.unanswered += line.unanswered;
    const IslandLeftOut island = LeaveIslandsOut(map);
    islands.between.Add(island.between);
    islands.outermost.Add(island.outermost);
    islands.innermost.Add(island.innermost);
    islands.unanswered += island.unanswered;
  }
  fmt::print("{}, {} maps\n", where, maps.size());
  Say("inner line left out: PR along beta", lines.inner, 100.0, "%");
  Say("inner line left out: PR at flow", lines.inner_at_flow, 100.0, "%");
  Say("outermost line left out: PR along beta", lines.outermost, 100.0, "%");
  Say("outermost line left out: PR at flow", lines.outermost_at_flow, 100.0, "%");
  Say("island between others left out", islands.between, 100.0, "points");
  Say("outermost island left out", islands.outermost, 100.0, "points");
  Say("innermost island left out", islands.innermost, 100.0, "points");
  fmt::print("  unanswered: {} of lines, {} of islands\n", lines.unanswered, islands.unanswered);
}

void Field(const FieldMisses& misses) {
  Say("speed", misses.speed, 100.0, "%");
  Say("efficiency between islands", misses.inside, 100.0, "points");
  Say("efficiency beyond the outermost", misses.beyond, 100.0, "points");
  fmt::print("  unanswered: {}, too unsure for an efficiency: {}\n", misses.unanswered, misses.unsure);
}

void OfTheSharedData() {
  const std::filesystem::path shared(ISLEBOOK_SHARED_DIR);
  FieldMisses exact;
  std::vector<PerformanceMap> maps;
  for (const TrueSheet& sheet : ReadTrueSheets(shared / "specimens" / "clean")) {
    if (sheet.map.kind != MapKind::kCompressor) continue;
    const Result<CompressorSurface> surface = CompressorSurface::Build(sheet.map);
    if (surface) MissField(*surface, sheet.samples, exact);
    maps.push_back(sheet.map);
  }
  fmt::print("exact curves of the shared specimens\n");
  Field(exact);
  LeftOut(maps, "exact curves of the shared specimens");
  maps.clear();
  FieldMisses invented;
  for (std::uint64_t seed = 300; seed < 330; ++seed) {
    const InventedCompressor each = InventCompressor(seed);
    maps.push_back(each.map);
    std::vector<FieldSample> samples;
    for (const ExactSample& sample : each.samples) samples.push_back({sample.flow, sample.pressure_ratio, sample.speed, sample.efficiency});
    if (const Result<CompressorSurface> surface = CompressorSurface::Build(each.map)) MissField(*surface, samples, invented);
  }
  fmt::print("exact curves of invented maps\n");
  Field(invented);
  LeftOut(maps, "invented maps");
  HalfLeftOut all;
  for (const char* name :
       {"hecc_vaned_12mil", "hecc_vaneless_blm_12mil", "hecc_vaneless_td00_12mil", "hecc_vaneless_td01_12mil", "hecc_vaneless_td00_12mil_nobleed"}) {
    const SpeedReadings readings = ReadMeasured(shared / "open_data" / "hecc" / (std::string(name) + ".csv"));
    if (readings.empty()) continue;
    const HalfLeftOut half = LeaveHalfOut(readings);
    fmt::print("{}, every other reading left out\n", name);
    Say("PR at flow", half.ratio, 100.0, "%");
    Say("PR along beta", half.ratio_at_beta, 100.0, "%");
    Say("speed", half.speed, 100.0, "%");
    Say("efficiency", half.efficiency, 100.0, "points");
    fmt::print("  choked: {}, unanswered: {}\n", half.choked, half.unanswered);
    LeftOut({MapOf(readings)}, name);
  }
}

void EndToEnd(const std::filesystem::path& truths, const std::filesystem::path& results, FieldMisses& all, int& fine) {
  for (const TrueSheet& sheet : ReadTrueSheets(truths)) {
    if (sheet.map.kind != MapKind::kCompressor) continue;
    std::ifstream file(results / (sheet.name + ".map.json"), std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const Result<PerformanceMap> map = ParseMapDocument(text);
    if (!map) {
      fmt::print("{:<24} no document\n", sheet.name);
      continue;
    }
    const Result<CompressorSurface> surface = CompressorSurface::Build(*map);
    if (!surface) {
      fmt::print("{:<24} {}\n", sheet.name, surface.error().message);
      continue;
    }
    FieldMisses own;
    std::vector<FieldSample> samples = sheet.samples;
    // A label may be printed in thousands and known in rpm.
    for (const Curve& curve : sheet.map.curves) {
      if (curve.role != CurveRole::kSpeedLine || curve.unit == surface->SpeedUnit()) continue;
      const double factor = surface->SpeedUnit() == "krpm" ? 1e-3 : surface->SpeedUnit() == "rpm" ? 1e3 : 1.0;
      for (FieldSample& sample : samples) sample.speed *= factor;
      break;
    }
    MissField(*surface, samples, own);
    if (own.speed.Rms() > 0.004 || own.inside.Rms() > 0.004) {
      fmt::print("not fine: ");
    } else {
      ++fine;
    }
    fmt::print(
        "{:<24} speed {:.3f} % (worst {:.2f}, in band {:.0f} %), efficiency {:.3f} / {:.3f} points (worst {:.2f}, in band {:.0f} %), {} unanswered, "
        "{} too unsure\n",
        sheet.name, 100.0 * own.speed.Rms(), 100.0 * own.speed.Worst(), 100.0 * own.speed.InBand(), 100.0 * own.inside.Rms(),
        100.0 * own.beyond.Rms(), 100.0 * own.inside.Worst(), 100.0 * own.inside.InBand(), own.unanswered, own.unsure);
    for (const std::string& note : surface->Notes()) fmt::print("    {}\n", note);
    all.speed.Add(own.speed);
    all.inside.Add(own.inside);
    all.beyond.Add(own.beyond);
    all.unanswered += own.unanswered;
    all.unsure += own.unsure;
  }
}

}  // namespace
}  // namespace islebook

int main(int count, char** arguments) {
  if (count < 3) {
    islebook::OfTheSharedData();
    return 0;
  }
  islebook::FieldMisses all;
  int fine = 0;
  for (int i = 1; i + 1 < count; i += 2) islebook::EndToEnd(arguments[i], arguments[i + 1], all, fine);
  fmt::print("end to end; {} compressor sheets within 0.4 % and 0.4 points\n", fine);
  islebook::Field(all);
  return 0;
}
