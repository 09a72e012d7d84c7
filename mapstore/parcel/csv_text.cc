#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"
#include "mapstore/parcel/cell_table.h"

namespace islebook {
namespace {

std::unexpected<Error> Bad(std::string why, std::int64_t line) { return Fail(ErrorCode::kBadTable, std::move(why), fmt::format("line {}", line)); }

std::string_view Trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

// The whole of the text as a number; nullopt if it is none.
std::optional<double> Number(std::string_view text, bool comma_is_decimal) {
  text = Trimmed(text);
  if (text.starts_with('+')) text.remove_prefix(1);
  std::string plain(text);
  if (comma_is_decimal && std::count(plain.begin(), plain.end(), ',') == 1 && plain.find('.') == std::string::npos)
    std::replace(plain.begin(), plain.end(), ',', '.');
  if (plain.empty() || plain.find_first_not_of("0123456789.-+eE") != std::string::npos) return std::nullopt;
  double value = 0;
  const auto [end, error] = std::from_chars(plain.data(), plain.data() + plain.size(), value);
  if (error != std::errc() || end != plain.data() + plain.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

// Of the characters that part fields the one that the header has most of, outside of quotes.
char SeparatorOf(std::string_view text) {
  std::size_t count[3] = {};
  constexpr char kSeparators[] = {',', ';', '\t'};
  bool quoted = false, any = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if ((c == '\r' || c == '\n') && any) break;
    any = any || (c != '\r' && c != '\n');
    for (std::size_t i = 0; i < 3; ++i) count[i] += c == kSeparators[i];
  }
  return kSeparators[std::max_element(count, count + 3) - count];
}

}  // namespace

Cell::Cell(double value) : text(JsonNumber(value)), number(value) {}

std::string WriteCsv(const CellTable& table) {
  std::string csv;
  for (const CellRow& row : table.rows) {
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      if (i > 0) csv += ',';
      const std::string& text = row.cells[i].text;
      if (text.find_first_of(",;\t\"\r\n") == std::string::npos && Trimmed(text).size() == text.size()) {
        csv += text;
        continue;
      }
      csv += '"';
      for (const char c : text) csv += c == '"' ? "\"\"" : std::string(1, c);
      csv += '"';
    }
    csv += "\r\n";
  }
  return csv;
}

Result<CellTable> ReadCsv(std::string_view text) {
  if (static_cast<std::int64_t>(text.size()) > kMaxTableBytes) return Bad("the file is larger than any table of curves.", 1);
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.substr(0, 4096).find('\0') != std::string_view::npos || text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
    return Bad("this is not a CSV file in UTF-8; save it as \"CSV UTF-8\".", 1);
  const char separator = SeparatorOf(text);
  CellTable table;
  std::int64_t line = 1, cells = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    CellRow row{line, {}};
    while (true) {
      std::string field;
      bool quoted = false;
      if (at < text.size() && text[at] == '"') {
        quoted = true;
        const std::int64_t opened = line;
        for (++at;; ++at) {
          if (at >= text.size()) return Bad("a quoted field is not closed.", opened);
          if (text[at] == '"') {
            if (at + 1 >= text.size() || text[at + 1] != '"') break;
            ++at;
          } else if (text[at] == '\n') {
            ++line;
          }
          field += text[at];
        }
        ++at;
        if (at < text.size() && text[at] != separator && text[at] != '\r' && text[at] != '\n')
          return Bad("something stands after a closing quote.", line);
      } else {
        const std::size_t end = std::min(text.find_first_of(std::string{separator, '\r', '\n'}, at), text.size());
        field = Trimmed(text.substr(at, end - at));
        at = end;
      }
      if (ValidUtf8(field) != field) return Bad("the text is not in UTF-8; save it as \"CSV UTF-8\".", line);
      if (++cells > kMaxTableCells) return Bad("the table has more cells than any map.", line);
      Cell cell{std::move(field)};
      if (!quoted) cell.number = Number(cell.text, separator != ',');
      row.cells.push_back(std::move(cell));
      if (at >= text.size() || text[at] != separator) break;
      ++at;
    }
    if (at < text.size() && text[at] == '\r') ++at;
    if (at < text.size() && text[at] == '\n') ++at;
    ++line;
    if (std::any_of(row.cells.begin(), row.cells.end(), [](const Cell& cell) { return !cell.IsEmpty(); })) table.rows.push_back(std::move(row));
  }
  return table;
}

}  // namespace islebook
