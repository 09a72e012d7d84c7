#include "ui/cli/export_command.h"

#include <vector>

#include <fmt/format.h>

#include "mapstore/answers/askable_map.h"
#include "mapstore/fmu/fmu_writer.h"
#include "mapstore/map/curve_words.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/tables/map_table.h"
#include "ui/desk/open_map.h"
#include "ui/desk/output_file.h"

namespace islebook {
namespace {

// The mock-up's library stands beside the workshop program.
std::filesystem::path MockUpLibrary() {
  std::error_code error;
  return std::filesystem::read_symlink("/proc/self/exe", error).parent_path() / "islebook-fmu.so";
}

template <typename Write>
Result<std::string> Made(const Result<MapTable>& table, Write write) {
  if (!table) return std::unexpected(table.error());
  return write(*table);
}

}  // namespace

int RunExport(const ExportArguments& arguments, const CommonArguments& common) {
  const bool asks_surface = arguments.csv || arguments.table || arguments.fmu;
  if (!asks_surface && !arguments.curves && !arguments.spreadsheet && !arguments.document)
    return RefuseArguments(common,
                           {ErrorCode::kInvalidArgument,
                            "say what to write: --curves FILE, --spreadsheet FILE, --document FILE, --csv FILE, --table FILE or --fmu FILE.", ""});
  const MapTableOptions table_options{arguments.rows_between_lines, arguments.betas};
  if (auto checked = table_options.Check(); !checked) return RefuseArguments(common, checked.error());
  AskableMapOptions options;
  if (!arguments.surge_margin.empty()) {
    options.surge_margin = ParseSurgeMargin(arguments.surge_margin);
    std::string names;
    for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) names += (names.empty() ? "" : ", ") + std::string(definition.name);
    if (!options.surge_margin)
      return RefuseArguments(
          common, {ErrorCode::kInvalidArgument, fmt::format("there is no surge margin \"{}\"; there are {}.", arguments.surge_margin, names),
                   "--surge-margin"});
  }
  auto opened = OpenMap(arguments.map, ShelfPlace(common));
  if (!opened) return FailCommand(common, opened.error());
  bool failed = false;
  std::vector<std::string> written;
  const auto write = [&](const std::filesystem::path& file, const Result<std::string>& bytes) {
    if (!bytes) {
      Complain(common, bytes.error());
      failed = true;
      return;
    }
    if (auto done = WriteWholeFile(file, *bytes); !done) {
      Complain(common, done.error());
      failed = true;
      return;
    }
    written.push_back(file.string());
    Say(common, fmt::format("Wrote {}.", OnOneLine(file.string())));
  };
  const TableOrigin origin{opened->name, opened->revision};
  std::vector<std::string> doubts;
  if (arguments.curves) write(*arguments.curves, CurvesAsCsv(opened->map, origin));
  if (arguments.spreadsheet) write(*arguments.spreadsheet, CurvesAsWorkbook(opened->map, origin));
  if (arguments.document) write(*arguments.document, WriteMapDocument(opened->map));
  if (asks_surface) {
    const auto map = AskableMap::Make(std::move(opened->map), opened->name, opened->revision, options);
    if (!map) {
      if (written.empty()) return FailCommand(common, map.error());
      Complain(common, map.error());
      failed = true;
    } else {
      doubts = map->doubts();
      if (arguments.csv || arguments.table) {
        const Result<MapTable> table = MakeTable(*map, table_options);
        if (arguments.csv) write(*arguments.csv, Made(table, [&](const MapTable& made) { return TableAsCsv(*map, made); }));
        if (arguments.table) write(*arguments.table, Made(table, [&](const MapTable& made) { return TableAsModelica(*map, made); }));
      }
      if (arguments.fmu) write(*arguments.fmu, WriteFmu(*map, MockUpLibrary()));
    }
  } else {
    doubts = opened->map.needs_review;
    for (const Curve& curve : opened->map.curves)
      if (curve.needs_review)
        doubts.push_back(fmt::format("{}: {}", CurveInWords(curve), curve.reasons.empty() ? "needs a look" : curve.reasons.front()));
  }

  if (common.json) {
    std::string text = "{\"files\": [";
    for (std::size_t i = 0; i < written.size(); ++i) text += (i > 0 ? ", " : "") + JsonString(written[i]);
    text += "], \"needs_review\": [";
    for (std::size_t i = 0; i < doubts.size(); ++i) text += (i > 0 ? ", " : "") + JsonString(doubts[i]);
    if (const int printed = PrintResult(common, text + "]}"); printed != kExitDone) return printed;
  } else {
    for (const std::string& doubt : doubts) Say(common, "About this map: " + doubt);
  }
  return failed ? kExitNotDone : doubts.empty() ? kExitDone : kExitReview;
}

}  // namespace islebook
