#pragma once
// Many questions as a table: CSV (RFC 4180) whose header names the columns flow, pressure_ratio, speed, expansion_ratio, vane_opening, each with a unit in brackets
// or without ("flow [kg/s]"). Other columns are ignored. Lines may end in CR LF or LF; a byte order mark and empty lines are passed over. Where the header parts its
// columns by semicolons, as spreadsheets of countries with decimal commas write tables, so do the rows, and their numbers may have decimal commas.

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/query/query_units.h"
#include "mapstore/units/error.h"

namespace islebook {

struct TableQuestion {
  std::int64_t line = 0;                        // in the file, from 1
  std::array<std::optional<double>, 5> values;  // by QuestionValue, in the map's printed units
  std::string error;                            // a sentence, where the line holds no usable question; empty otherwise
};

struct QuestionTable {
  std::vector<QuestionValue> columns;  // that the header names, in order
  std::vector<std::string> ignored;    // names of other columns
  std::vector<TableQuestion> questions;
};

// The same, one question at a time and never more than a piece of the file in memory, so that a table may be of any size.
class QuestionTableReader {
 public:
  // Fills the buffer and says how much it put there; 0 at the end.
  using Source = std::function<Result<std::size_t>(char* buffer, std::size_t size)>;
  static constexpr std::size_t kLongestRecord = 1 << 20;  // bytes

  // Reads the header. Errors as ReadQuestionTable's, and the source's own; a record longer than kLongestRecord is kInvalidArgument.
  static Result<QuestionTableReader> Open(Source source, const QuestionUnits& units);

  const std::vector<QuestionValue>& columns() const { return columns_; }  // that the header names, in order
  const std::vector<std::string>& ignored() const { return ignored_; }    // names of other columns
  // The next question; false at the end of the table. After an error there is no more.
  Result<bool> Next(TableQuestion& question);

 private:
  struct Column {
    std::optional<QuestionValue> value;
    double factor = 1.0;
  };
  struct Record {
    std::int64_t line = 0;
    std::vector<std::string> fields;
    std::size_t used = 0;  // of fields; the rest is kept for its memory
    bool blank() const { return used == 1 && fields.front().empty(); }
  };

  QuestionTableReader() = default;
  int Peek() { return at_ < filled_ ? static_cast<unsigned char>(buffer_[at_]) : Refill(); }  // the next byte; -1: the end, or failure_
  int Refill();
  void FindSeparator();
  Result<bool> ReadRecord(Record& record);
  std::optional<double> Number(const std::string& text);
  static Result<Column> ReadColumn(const std::string& header, const QuestionUnits& units);

  Source source_;
  std::vector<char> buffer_;
  std::size_t at_ = 0, filled_ = 0;
  bool ended_ = false;
  char separator_ = ',';
  bool decimal_commas_ = false;   // one was seen
  std::optional<Error> failure_;  // of the source
  std::int64_t line_ = 1;
  std::vector<QuestionValue> columns_;
  std::vector<std::string> ignored_;
  std::vector<Column> read_as_;
  Record record_;
};

// kInvalidArgument: no header, none of the columns, one of them twice, a quote that never closes; kUnknownUnit, kIncompatibleUnit: a header's unit. `place` is the line.
// A line with a field too many, a field that is no number, or an empty field where one is needed is a question with an error, so that the rest can be answered.
Result<QuestionTable> ReadQuestionTable(std::string_view csv, const QuestionUnits& units);

}  // namespace islebook
