#include "mapstore/shelf/copy_tables.h"

#include <string>

#include <fmt/format.h>

namespace islebook {
namespace {

struct Table {
  const char* name;
  const char* columns;
  const char* kinds;  // of each column: t text, i integer, r real, b bytes
};

// A table stands after those that its rows point at.
constexpr Table kTables[] = {
    {"sheets", "sha256, added, bytes", "ttb"},
    {"documents", "sha256, kind, title, sheet, body", "ttttt"},
    {"revisions", "number, id, document, author, time, message, record", "itttttt"},
    {"parents", "revision, position, parent", "iii"},
    {"maps", "number, name", "it"},
    {"heads", "number, map, revision, time, branch, closed", "iiitti"},
    {"removals", "number, map, removed, author, time, reason", "iiittt"},
    {"tags", "number, map, tag, present, author, time", "iititt"},
    {"notes", "number, map, revision, author, time, text", "iitttt"},
    {"wheels", "number, map, maker, model, inducer_mm, exducer_mm, trim, turbine_area_ratio, speed_limit_rpm, author, time", "iittrrrrrtt"},
    {"words", "rowid, name, title, maker, tags, notes, messages", "itttttt"},
    {"reach_bands",
     "band, flow_min, flow_max, pressure_ratio_min, pressure_ratio_max, efficiency_min, efficiency_max, surge_margin_min, surge_margin_max, grid",
     "irrrrrrrrb"},
    {"reach_maps", "map, revision, bands, outline, version", "iiibi"},
    {"reach_kept", "map, kept", "ib"},
    {"reach_due", "map", "i"},
};

Result<void> CopyTable(const Table& table, Database& from, Database& to) {
  Result<Statement> read = from.Prepare(fmt::format("SELECT {} FROM {}", table.columns, table.name), Database::Rows::kMany);
  if (!read) return std::unexpected(read.error());
  const std::string_view kinds = table.kinds;
  std::string places;
  for (std::size_t i = 1; i <= kinds.size(); ++i) places += fmt::format("{}?{}", i == 1 ? "" : ", ", i);
  Result<Statement> write = to.Prepare(fmt::format("INSERT INTO {} ({}) VALUES ({})", table.name, table.columns, places));
  if (!write) return std::unexpected(write.error());
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return std::unexpected(row.error());
    if (!*row) return {};
    write->Reset();
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      const int column = static_cast<int>(i), place = column + 1;
      if (kinds[i] == 'r') write->Bind(place, read->RealIfAny(column));
      if (read->IsNull(column)) continue;
      if (kinds[i] == 't') write->Bind(place, read->View(column));
      if (kinds[i] == 'i') write->Bind(place, read->Integer(column));
      if (kinds[i] == 'b') write->BindBlob(place, read->View(column));
    }
    if (const Result<void> written = write->Run(); !written) return written;
  }
}

}  // namespace

Result<void> CopyTables(Database& from, Database& to) {
  for (const Table& table : kTables)
    if (const Result<void> copied = CopyTable(table, from, to); !copied) return copied;
  return {};
}

}  // namespace islebook
