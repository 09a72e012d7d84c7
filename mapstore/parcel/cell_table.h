#pragma once
// Tables of cells, as CSV files and spreadsheets hold them.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

struct Cell {
  std::string text;              // as it stands there; of a number its shortest text
  std::optional<double> number;  // finite
  Cell() = default;
  explicit Cell(std::string words) : text(std::move(words)) {}
  explicit Cell(double value);
  bool IsEmpty() const { return text.empty() && !number; }
  bool operator==(const Cell&) const = default;
};

struct CellRow {
  std::int64_t line = 0;  // in the file, or of the spreadsheet; from 1
  std::vector<Cell> cells;
};

struct CellTable {
  std::string name;  // of a spreadsheet's sheet
  std::vector<CellRow> rows;
};

inline constexpr std::int64_t kMaxTableBytes = 256 << 20;
inline constexpr std::int64_t kMaxTableCells = 20'000'000;

// RFC 4180, lines ending in CR LF.
std::string WriteCsv(const CellTable& table);

// Fields parted by commas, or by semicolons or tabs as spreadsheet programs of other countries save them; the first line that is not empty decides. With semicolons
// and tabs a comma may be the decimal sign. A byte order mark and empty lines are passed over. kBadTable with the line.
Result<CellTable> ReadCsv(std::string_view text);

// A workbook (Office Open XML, ISO/IEC 29500), first row of each sheet fixed and bold. The same tables make the same bytes. kCannotWrite.
Result<std::string> WriteWorkbook(const std::vector<CellTable>& sheets);

// Values only; of a formula the value that was stored with it. Sheets in order, rows and cells that are not there left out. kBadTable; hostile archives as
// zip_file.h says.
Result<std::vector<CellTable>> ReadWorkbook(std::string bytes);

}  // namespace islebook
