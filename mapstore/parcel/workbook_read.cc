#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

#include <fmt/format.h>
#include <pugixml.hpp>

#include "mapstore/map/json_text.h"
#include "mapstore/parcel/cell_table.h"
#include "mapstore/parcel/zip_file.h"

namespace islebook {
namespace {

constexpr std::int64_t kMaxPart = 64 << 20;
constexpr std::int64_t kMaxText = 256 << 20;  // of all cells together
constexpr std::int64_t kMaxColumn = 256;      // tables of curves are narrow; what lies beyond is not theirs

std::unexpected<Error> Bad(std::string why, std::string place = {}) { return Fail(ErrorCode::kBadTable, std::move(why), std::move(place)); }

// An element's name without its prefix: programs differ in which they use.
std::string_view LocalName(const pugi::xml_node& node) {
  const std::string_view name = node.name();
  const std::size_t colon = name.find(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

pugi::xml_node Child(const pugi::xml_node& node, std::string_view name) {
  for (const pugi::xml_node& child : node.children())
    if (LocalName(child) == name) return child;
  return {};
}

Result<pugi::xml_document> ReadXml(const ZipReader& zip, const std::string& path) {
  const Result<std::string> text = zip.Read(path, kMaxPart);
  if (!text) {
    if (text.error().code == ErrorCode::kNotFound)
      return Bad(fmt::format("this is not a spreadsheet in the .xlsx format: {} is missing in it.", path));
    return std::unexpected(text.error());
  }
  pugi::xml_document document;
  // Entities of its own are never taken in; text keeps its spaces.
  const pugi::xml_parse_result parsed =
      document.load_buffer(text->data(), text->size(), pugi::parse_default | pugi::parse_ws_pcdata_single, pugi::encoding_auto);
  if (!parsed) return Bad(fmt::format("the spreadsheet is damaged: {} in it is not XML.", path));
  return document;
}

// The text of a string item: of plain text or of all its runs, but not of phonetic hints.
std::string TextOf(const pugi::xml_node& item) {
  std::string text;
  for (const pugi::xml_node& child : item.children()) {
    if (LocalName(child) == "t") text += child.text().get();
    if (LocalName(child) == "r") text += Child(child, "t").text().get();
  }
  return ValidUtf8(text);
}

// "AB12" as column 27 and row 12, from 0 and from 1.
bool ParseReference(std::string_view reference, std::int64_t& column, std::int64_t& row) {
  std::size_t at = 0;
  column = 0;
  while (at < reference.size() && at < 4 && reference[at] >= 'A' && reference[at] <= 'Z') column = column * 26 + (reference[at++] - 'A' + 1);
  if (at == 0) return false;
  --column;
  const auto [end, error] = std::from_chars(reference.data() + at, reference.data() + reference.size(), row);
  return error == std::errc() && end == reference.data() + reference.size() && row >= 1 && row <= 1'048'576;
}

std::optional<double> Number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

Result<Cell> ReadCell(const pugi::xml_node& node, const std::vector<std::string>& shared, const std::string& place) {
  const std::string_view type = node.attribute("t").value();
  if (type == "inlineStr") return Cell(TextOf(Child(node, "is")));
  const std::string_view value = Child(node, "v").text().get();
  if (type == "s") {
    std::size_t index = 0;
    const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), index);
    if (error != std::errc() || end != value.data() + value.size() || index >= shared.size())
      return Bad("the spreadsheet is damaged: a cell's text is missing.", place);
    return Cell(shared[index]);
  }
  if (type == "e") return Bad(fmt::format("the cell shows an error ({}); put a value there.", ValidUtf8(value.substr(0, 20))), place);
  if (type == "str") return Cell(ValidUtf8(value));
  if (type == "b") return Cell(std::string(value == "1" ? "true" : "false"));
  if (value.empty()) return Cell();
  const std::optional<double> number = Number(value);
  if (!number) return Bad("the cell holds a number that cannot be read.", place);
  return Cell(*number);
}

Result<CellTable> ReadSheet(const ZipReader& zip, const std::string& path, const std::string& name, const std::vector<std::string>& shared,
                            std::int64_t& cells, std::int64_t& text) {
  const Result<pugi::xml_document> document = ReadXml(zip, path);
  if (!document) return std::unexpected(document.error());
  CellTable table{name, {}};
  std::int64_t last_row = 0;
  for (const pugi::xml_node& row : Child(Child(*document, "worksheet"), "sheetData").children()) {
    if (LocalName(row) != "row") continue;
    CellRow read{last_row + 1, {}};
    if (const std::string_view given = row.attribute("r").value(); !given.empty()) {
      const auto [end, error] = std::from_chars(given.data(), given.data() + given.size(), read.line);
      if (error != std::errc() || end != given.data() + given.size() || read.line <= last_row || read.line > 1'048'576)
        return Bad(fmt::format("the spreadsheet is damaged: rows of \"{}\" are out of order.", name));
    }
    last_row = read.line;
    std::int64_t next = 0;
    for (const pugi::xml_node& node : row.children()) {
      if (LocalName(node) != "c") continue;
      std::int64_t column = next, line = read.line;
      if (const std::string_view reference = node.attribute("r").value();
          !reference.empty() && (!ParseReference(reference, column, line) || line != read.line))
        return Bad(fmt::format("the spreadsheet is damaged: a cell of \"{}\" is out of place.", name));
      next = column + 1;
      if (column >= kMaxColumn) continue;
      if (++cells > kMaxTableCells) return Bad("the spreadsheet has more cells than any map.");
      Result<Cell> cell = ReadCell(node, shared, fmt::format("sheet {}, row {}, column {}", name, read.line, column + 1));
      if (!cell) return std::unexpected(cell.error());
      if (cell->IsEmpty()) continue;
      text += static_cast<std::int64_t>(cell->text.size());
      if (text > kMaxText) return Bad("the spreadsheet has more text than any map.");
      if (static_cast<std::int64_t>(read.cells.size()) <= column) read.cells.resize(static_cast<std::size_t>(column) + 1);
      read.cells[static_cast<std::size_t>(column)] = std::move(*cell);
    }
    if (!read.cells.empty()) table.rows.push_back(std::move(read));
  }
  return table;
}

// A part's path from the folder that names it.
std::string Resolved(std::string_view target) {
  if (target.starts_with("/")) return std::string(target.substr(1));
  return "xl/" + std::string(target);
}

}  // namespace

Result<std::vector<CellTable>> ReadWorkbook(std::string bytes) {
  const ZipLimits limits{.max_entries = 10'000, .max_entry_bytes = kMaxPart, .max_total_bytes = 2 * kMaxPart};
  const Result<ZipReader> zip = ZipReader::OpenBytes(std::move(bytes), limits);
  if (!zip) {
    if (zip.error().code == ErrorCode::kParcelDamaged) return Bad("this is not a whole spreadsheet in the .xlsx format; save it again.");
    return std::unexpected(zip.error());
  }
  const Result<pugi::xml_document> relations = ReadXml(*zip, "xl/_rels/workbook.xml.rels");
  if (!relations) return std::unexpected(relations.error());
  std::map<std::string, std::string> parts;  // id to path
  std::string strings_path;
  for (const pugi::xml_node& relation : Child(*relations, "Relationships").children()) {
    const std::string path = Resolved(relation.attribute("Target").value());
    parts[relation.attribute("Id").value()] = path;
    if (std::string_view(relation.attribute("Type").value()).ends_with("/sharedStrings")) strings_path = path;
  }
  std::vector<std::string> shared;
  if (!strings_path.empty() && zip->Find(strings_path) != nullptr) {
    const Result<pugi::xml_document> strings = ReadXml(*zip, strings_path);
    if (!strings) return std::unexpected(strings.error());
    for (const pugi::xml_node& item : Child(*strings, "sst").children())
      if (LocalName(item) == "si") shared.push_back(TextOf(item));
  }
  const Result<pugi::xml_document> workbook = ReadXml(*zip, "xl/workbook.xml");
  if (!workbook) return std::unexpected(workbook.error());
  std::vector<CellTable> sheets;
  std::int64_t cells = 0, text = 0;
  for (const pugi::xml_node& sheet : Child(Child(*workbook, "workbook"), "sheets").children()) {
    if (LocalName(sheet) != "sheet") continue;
    std::string id;
    for (const pugi::xml_attribute& attribute : sheet.attributes())
      if (std::string_view(attribute.name()).ends_with(":id")) id = attribute.value();
    const auto found = parts.find(id);
    if (found == parts.end()) return Bad("the spreadsheet is damaged: one of its sheets is missing.");
    if (sheets.size() == 100) return Bad("the spreadsheet has more sheets than any map.");
    Result<CellTable> table = ReadSheet(*zip, found->second, ValidUtf8(sheet.attribute("name").value()), shared, cells, text);
    if (!table) return std::unexpected(table.error());
    sheets.push_back(std::move(*table));
  }
  if (sheets.empty()) return Bad("the spreadsheet has no sheets.");
  return sheets;
}

}  // namespace islebook
