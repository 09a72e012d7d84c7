#include "mapstore/query/question_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

std::string Trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return std::string(text);
}

}  // namespace

// With semicolons between the fields a comma is a decimal one. Where one was seen, a point may part thousands: such a number is not guessed at.
std::optional<double> QuestionTableReader::Number(const std::string& field) {
  std::string text = Trimmed(field);
  if (!text.empty() && text.front() == '+') text.erase(text.begin());
  if (separator_ == ';') {
    const bool comma = std::ranges::count(text, ',') == 1;
    decimal_commas_ = decimal_commas_ || comma;
    if (decimal_commas_ && text.find('.') != std::string::npos) return std::nullopt;
    if (comma) text[text.find(',')] = '.';
  }
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

// Looks at the header's line without using it up: its fields are parted by whichever it has more of, outside of quotes.
void QuestionTableReader::FindSeparator() {
  std::string ahead;
  std::size_t commas = 0, semicolons = 0;
  bool quoted = false, any = false;
  for (int next = Peek(); next >= 0 && ahead.size() <= kLongestRecord; next = Peek()) {
    const bool line_end = next == '\r' || next == '\n';
    if (line_end && any && !quoted) break;
    any = any || !line_end;
    if (next == '"') quoted = !quoted;
    if (!quoted) {
      commas += next == ',';
      semicolons += next == ';';
    }
    ahead += static_cast<char>(next);
    ++at_;
  }
  separator_ = semicolons > commas ? ';' : ',';
  ahead.append(buffer_.data() + at_, filled_ - at_);
  filled_ = ahead.size();
  at_ = 0;
  if (buffer_.size() < filled_) buffer_.resize(filled_);
  std::ranges::copy(ahead, buffer_.begin());
}

int QuestionTableReader::Refill() {
  if (ended_) return -1;
  auto got = source_(buffer_.data(), buffer_.size());
  if (!got) failure_ = got.error();
  at_ = 0;
  filled_ = got ? *got : 0;
  ended_ = filled_ == 0;
  return ended_ ? -1 : static_cast<unsigned char>(buffer_[0]);
}

// False at the end of the table. kInvalidArgument: a quote that never closes, something after a closed one, a record without end.
Result<bool> QuestionTableReader::ReadRecord(Record& record) {
  record.used = 0;
  record.line = line_;
  std::size_t length = 0;
  int next = Peek();
  if (failure_) return std::unexpected(*failure_);
  if (next < 0) return false;
  const auto too_long = [&record] {
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the line is longer than {} bytes; is this a table of points?", kLongestRecord),
                fmt::format("line {}", record.line));
  };
  while (true) {
    if (record.used == record.fields.size()) record.fields.emplace_back();
    std::string& field = record.fields[record.used++];
    field.clear();
    if (next == '"') {
      const std::int64_t opened = line_;
      ++at_;
      while (true) {
        next = Peek();
        if (failure_) return std::unexpected(*failure_);
        if (next < 0) return Fail(ErrorCode::kInvalidArgument, "a quoted field is not closed.", fmt::format("line {}", opened));
        ++at_;
        if (next == '\n') ++line_;
        if (next == '"') {
          next = Peek();
          if (next != '"') break;
          ++at_;
        }
        field += static_cast<char>(next);
        if (++length > kLongestRecord) return too_long();
      }
      if (next >= 0 && next != separator_ && next != '\r' && next != '\n')
        return Fail(ErrorCode::kInvalidArgument,
                    fmt::format("something stands after a closing quote; fields are separated by {}.", separator_ == ';' ? "semicolons" : "commas"),
                    fmt::format("line {}", line_));
    } else {
      while (next >= 0 && next != separator_ && next != '\r' && next != '\n') {
        field += static_cast<char>(next);
        if (++length > kLongestRecord) return too_long();
        ++at_;
        next = Peek();
      }
    }
    if (next != separator_) break;
    ++at_;
    if (++length > kLongestRecord) return too_long();
    next = Peek();
  }
  if (next == '\r') {
    ++at_;
    next = Peek();
  }
  if (next == '\n') ++at_;
  if (failure_) return std::unexpected(*failure_);
  ++line_;
  return true;
}

Result<QuestionTableReader::Column> QuestionTableReader::ReadColumn(const std::string& header, const QuestionUnits& units) {
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

Result<QuestionTableReader> QuestionTableReader::Open(Source source, const QuestionUnits& units) {
  QuestionTableReader reader;
  reader.source_ = std::move(source);
  reader.buffer_.resize(64 << 10);
  int first = reader.Peek();
  // A byte order mark; a source may hand it out in pieces.
  for (const int mark : {0xEF, 0xBB, 0xBF}) {
    if (first != mark) break;
    ++reader.at_;
    first = reader.Peek();
  }
  reader.FindSeparator();
  Record header;
  bool have_header = false;
  while (!have_header) {
    auto more = reader.ReadRecord(header);
    if (!more) return std::unexpected(more.error());
    if (!*more) break;
    have_header = !header.blank();
  }
  if (!have_header)
    return Fail(ErrorCode::kInvalidArgument, "the table is empty; its first line must name the columns, for instance flow,pressure_ratio.", "line 1");
  const std::string place = fmt::format("line {}", header.line);
  for (std::size_t i = 0; i < header.used; ++i) {
    const std::string name = Trimmed(header.fields[i]);
    auto column = ReadColumn(name, units);
    if (!column) return Fail(column.error().code, fmt::format("column \"{}\": {}", name.substr(0, 60), column.error().message), place);
    if (column->value) {
      if (std::find(reader.columns_.begin(), reader.columns_.end(), *column->value) != reader.columns_.end())
        return Fail(ErrorCode::kInvalidArgument, fmt::format("the column {} stands there twice.", QuestionValueName(*column->value)), place);
      reader.columns_.push_back(*column->value);
    } else {
      reader.ignored_.push_back(name);
    }
    reader.read_as_.push_back(*column);
  }
  if (reader.columns_.empty())
    return Fail(ErrorCode::kInvalidArgument, "no column is named flow, pressure_ratio, speed, expansion_ratio or vane_opening.", place);
  return reader;
}

Result<bool> QuestionTableReader::Next(TableQuestion& question) {
  while (true) {
    auto more = ReadRecord(record_);
    if (!more) {
      ended_ = true;
      at_ = filled_ = 0;
      return std::unexpected(more.error());
    }
    if (!*more) return false;
    if (!record_.blank()) break;
  }
  question.line = record_.line;
  question.values = {};
  question.error.clear();
  if (record_.used != read_as_.size()) {
    question.error = fmt::format("it has {} fields and the header {}.", record_.used, read_as_.size());
    return true;
  }
  for (std::size_t i = 0; i < record_.used && question.error.empty(); ++i) {
    if (!read_as_[i].value) continue;
    const std::string text = Trimmed(record_.fields[i]);
    if (text.empty()) continue;
    const std::optional<double> number = Number(text);
    if (!number) {
      question.error = fmt::format("\"{}\" in column {} is not a number{}.", text.substr(0, 40), QuestionValueName(*read_as_[i].value),
                                   decimal_commas_ && text.find('.') != std::string::npos
                                       ? " that can be told, with decimal commas around it; write it without the point"
                                       : "");
    } else {
      question.values[static_cast<std::size_t>(*read_as_[i].value)] = *number * read_as_[i].factor;
    }
  }
  return true;
}

Result<QuestionTable> ReadQuestionTable(std::string_view csv, const QuestionUnits& units) {
  auto reader = QuestionTableReader::Open(
      [&csv](char* buffer, std::size_t size) -> Result<std::size_t> {
        const std::size_t length = std::min(size, csv.size());
        csv.copy(buffer, length);
        csv.remove_prefix(length);
        return length;
      },
      units);
  if (!reader) return std::unexpected(reader.error());
  QuestionTable table;
  table.columns = reader->columns();
  table.ignored = reader->ignored();
  TableQuestion question;
  while (true) {
    auto more = reader->Next(question);
    if (!more) return std::unexpected(more.error());
    if (!*more) return table;
    table.questions.push_back(question);
  }
}

}  // namespace islebook
