#include "mapstore/query/question_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

struct Record {
  int line = 0;
  std::vector<std::string> fields;
  bool blank() const { return fields.size() == 1 && fields.front().empty(); }
};

// One record from `at` on; advances `at` and `line`. kInvalidArgument: a quote that never closes, or something after a closed one.
Result<Record> ReadRecord(std::string_view csv, std::size_t& at, int& line) {
  Record record;
  record.line = line;
  std::string field;
  bool ended = false;
  while (!ended) {
    if (at < csv.size() && csv[at] == '"') {
      const int opened = line;
      ++at;
      while (true) {
        if (at >= csv.size()) return Fail(ErrorCode::kInvalidArgument, "a quoted field is not closed.", fmt::format("line {}", opened));
        if (csv[at] == '\n') ++line;
        if (csv[at] == '"') {
          if (at + 1 < csv.size() && csv[at + 1] == '"') {
            field += '"';
            at += 2;
            continue;
          }
          ++at;
          break;
        }
        field += csv[at++];
      }
      if (at < csv.size() && csv[at] != ',' && csv[at] != '\r' && csv[at] != '\n')
        return Fail(ErrorCode::kInvalidArgument, "something stands after a closing quote; fields are separated by commas.",
                    fmt::format("line {}", line));
    } else {
      while (at < csv.size() && csv[at] != ',' && csv[at] != '\r' && csv[at] != '\n') field += csv[at++];
    }
    record.fields.push_back(std::move(field));
    field.clear();
    if (at >= csv.size()) break;
    if (csv[at] == ',') {
      ++at;
      if (at >= csv.size()) record.fields.emplace_back();
      continue;
    }
    if (csv[at] == '\r') ++at;
    if (at < csv.size() && csv[at] == '\n') ++at;
    ++line;
    ended = true;
  }
  return record;
}

std::string Trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return std::string(text);
}

std::optional<double> Number(std::string text) {
  text = Trimmed(text);
  if (!text.empty() && text.front() == '+') text.erase(text.begin());
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

struct Column {
  std::optional<QuestionValue> value;
  double factor = 1.0;
};

Result<Column> ReadColumn(const std::string& header, const QuestionUnits& units) {
  std::string name = header, unit_text;
  bool has_unit = false;
  if (const std::size_t open = header.find_first_of("[("); open != std::string::npos) {
    const std::size_t close = header.find_last_of("])");
    if (close != std::string::npos && close > open) {
      name = Trimmed(std::string_view(header).substr(0, open));
      unit_text = Trimmed(std::string_view(header).substr(open + 1, close - open - 1));
      has_unit = !unit_text.empty();
    }
  }
  Column column;
  column.value = ParseQuestionValue(name);
  if (!column.value) return column;
  std::optional<Unit> unit;
  if (has_unit) {
    auto parsed = ParseUnit(unit_text);
    if (!parsed) return std::unexpected(parsed.error());
    unit = *parsed;
  }
  auto factor = units.Factor(*column.value, unit);
  if (!factor) return std::unexpected(factor.error());
  column.factor = *factor;
  return column;
}

}  // namespace

Result<QuestionTable> ReadQuestionTable(std::string_view csv, const QuestionUnits& units) {
  if (csv.starts_with("\xEF\xBB\xBF")) csv.remove_prefix(3);
  QuestionTable table;
  std::size_t at = 0;
  int line = 1;
  Record header;
  bool have_header = false;
  while (at < csv.size() && !have_header) {
    auto record = ReadRecord(csv, at, line);
    if (!record) return std::unexpected(record.error());
    if (record->blank()) continue;
    header = std::move(*record);
    have_header = true;
  }
  if (!have_header)
    return Fail(ErrorCode::kInvalidArgument, "the table is empty; its first line must name the columns, for instance flow,pressure_ratio.", "line 1");
  const std::string place = fmt::format("line {}", header.line);
  std::vector<Column> columns;
  for (const std::string& field : header.fields) {
    const std::string name = Trimmed(field);
    auto column = ReadColumn(name, units);
    if (!column) return Fail(column.error().code, fmt::format("column \"{}\": {}", name, column.error().message), place);
    if (column->value) {
      if (std::find(table.columns.begin(), table.columns.end(), *column->value) != table.columns.end())
        return Fail(ErrorCode::kInvalidArgument, fmt::format("the column {} stands there twice.", QuestionValueName(*column->value)), place);
      table.columns.push_back(*column->value);
    } else {
      table.ignored.push_back(name);
    }
    columns.push_back(*column);
  }
  if (table.columns.empty()) {
    const bool semicolons = header.fields.front().find(';') != std::string::npos;
    return Fail(ErrorCode::kInvalidArgument,
                semicolons ? "the columns are separated by semicolons; separate them by commas, with decimal points in the numbers."
                           : "no column is named flow, pressure_ratio, speed, expansion_ratio or vane_opening.",
                place);
  }
  while (at < csv.size()) {
    auto record = ReadRecord(csv, at, line);
    if (!record) return std::unexpected(record.error());
    if (record->blank()) continue;
    TableQuestion question;
    question.line = record->line;
    if (record->fields.size() != columns.size()) {
      question.error = fmt::format("it has {} fields and the header {}.", record->fields.size(), columns.size());
    } else {
      for (std::size_t i = 0; i < columns.size() && question.error.empty(); ++i) {
        if (!columns[i].value) continue;
        const std::string text = Trimmed(record->fields[i]);
        if (text.empty()) continue;
        const std::optional<double> number = Number(text);
        if (!number) {
          question.error = fmt::format("\"{}\" in column {} is not a number.", text.substr(0, 40), QuestionValueName(*columns[i].value));
        } else {
          question.values[static_cast<std::size_t>(*columns[i].value)] = *number * columns[i].factor;
        }
      }
    }
    table.questions.push_back(std::move(question));
  }
  return table;
}

}  // namespace islebook
