#include <cerrno>
#include <cstring>
#include <filesystem>

#include <fmt/format.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/cell_table.h"

namespace islebook {
namespace {

constexpr std::time_t kNoTime = 946684800;   // 2000-01-01, so that the same tables make the same file
constexpr std::size_t kLongestText = 32767;  // of a cell

// A name in the temporary folder that goes away.
struct TemporaryName {
  std::string path;
  int descriptor = -1;
  TemporaryName() {
    std::error_code error;
    path = (std::filesystem::temp_directory_path(error) / "islebook-XXXXXX").string();
    descriptor = mkstemp(path.data());
  }
  TemporaryName(const TemporaryName&) = delete;
  TemporaryName& operator=(const TemporaryName&) = delete;
  ~TemporaryName() {
    if (descriptor < 0) return;
    ::close(descriptor);
    ::unlink(path.c_str());
  }
};

// Text of at most so many bytes, not cut within a letter.
std::string Fitting(std::string text, std::size_t bytes) {
  if (text.size() <= bytes) return text;
  text.resize(bytes);
  while (!text.empty() && (static_cast<unsigned char>(text.back()) & 0xC0) == 0x80) text.pop_back();
  if (!text.empty()) text.pop_back();
  return text;
}

void WriteSheet(lxw_workbook* workbook, const CellTable& table, lxw_format* bold) {
  lxw_worksheet* sheet = workbook_add_worksheet(workbook, table.name.c_str());
  std::vector<std::size_t> widths;
  for (std::size_t r = 0; r < table.rows.size(); ++r) {
    for (std::size_t c = 0; c < table.rows[r].cells.size(); ++c) {
      const Cell& cell = table.rows[r].cells[c];
      if (widths.size() <= c) widths.push_back(8);
      widths[c] = std::min<std::size_t>(std::max(widths[c], cell.text.size() + 2), 60);
      if (cell.IsEmpty()) continue;
      lxw_format* format = r == 0 ? bold : nullptr;
      const auto row = static_cast<lxw_row_t>(r);
      const auto column = static_cast<lxw_col_t>(c);
      if (cell.number)
        worksheet_write_number(sheet, row, column, *cell.number, format);
      else
        worksheet_write_string(sheet, row, column, Fitting(cell.text, kLongestText).c_str(), format);
    }
  }
  for (std::size_t c = 0; c < widths.size(); ++c)
    worksheet_set_column(sheet, static_cast<lxw_col_t>(c), static_cast<lxw_col_t>(c), static_cast<double>(widths[c]), nullptr);
  worksheet_freeze_panes(sheet, 1, 0);
}

}  // namespace

Result<std::string> WriteWorkbook(const std::vector<CellTable>& sheets) {
  for (const CellTable& table : sheets)
    if (table.rows.size() > 1'048'576)
      return Fail(ErrorCode::kCannotWrite, fmt::format("the sheet \"{}\" has more rows than a spreadsheet can hold; write a CSV file.", table.name));
  const TemporaryName temporary;
  if (temporary.descriptor < 0) return Fail(ErrorCode::kCannotWrite, fmt::format("no temporary file can be made: {}.", std::strerror(errno)));
  lxw_workbook* workbook = workbook_new(temporary.path.c_str());
  if (workbook == nullptr) return Fail(ErrorCode::kInternal, "the spreadsheet library cannot start a file.");
  lxw_doc_properties properties = {};
  properties.created = kNoTime;
  workbook_set_properties(workbook, &properties);
  lxw_format* bold = workbook_add_format(workbook);
  format_set_bold(bold);
  for (const CellTable& table : sheets) WriteSheet(workbook, table, bold);
  if (const lxw_error error = workbook_close(workbook); error != LXW_NO_ERROR)
    return Fail(ErrorCode::kCannotWrite, fmt::format("the spreadsheet cannot be written: {}.", lxw_strerror(error)));
  return ReadFileContents(temporary.path);
}

}  // namespace islebook
