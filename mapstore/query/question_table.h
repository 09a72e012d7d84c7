#pragma once
// Many questions as a table: CSV (RFC 4180) whose header names the columns flow, pressure_ratio, speed, expansion_ratio, vane_opening, each with a unit in brackets
// or without ("flow [kg/s]"). Other columns are ignored. Lines may end in CR LF or LF; a byte order mark and empty lines are passed over.

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/query/query_units.h"
#include "mapstore/units/error.h"

namespace islebook {

struct TableQuestion {
  int line = 0;                                 // in the file, from 1
  std::array<std::optional<double>, 5> values;  // by QuestionValue, in the map's printed units
  std::string error;                            // a sentence, where the line holds no usable question; empty otherwise
};

struct QuestionTable {
  std::vector<QuestionValue> columns;  // that the header names, in order
  std::vector<std::string> ignored;    // names of other columns
  std::vector<TableQuestion> questions;
};

// kInvalidArgument: no header, none of the columns, one of them twice, a quote that never closes; kUnknownUnit, kIncompatibleUnit: a header's unit. `place` is the line.
// A line with a field too many, a field that is no number, or an empty field where one is needed is a question with an error, so that the rest can be answered.
Result<QuestionTable> ReadQuestionTable(std::string_view csv, const QuestionUnits& units);

}  // namespace islebook
