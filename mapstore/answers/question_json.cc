#include "mapstore/answers/question_json.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/units/unit.h"

namespace islebook {
namespace {

using Json = nlohmann::json;

// Reads the text as it comes, without a tree: ten thousand points take a few milliseconds.
class Reader : public nlohmann::json_sax<Json> {
 public:
  explicit Reader(std::size_t most) : most_(most) {}

  std::vector<Question> points;
  std::array<std::vector<double>, kQuestionValues> columns;
  std::array<std::optional<std::string>, kQuestionValues> units;
  std::optional<std::string> reference, surge_margin;
  std::array<bool, kQuestionValues> given{};
  bool have_points = false, have_columns = false;
  bool slopes = false, edges = false;
  std::string error, place;

  bool null() override {
    if (where_ == Where::kPoint) return true;
    if (where_ == Where::kTop && (key_ == "reference" || key_ == "surge_margin")) return true;
    return Refuse("null does not belong here.");
  }
  bool boolean(bool value) override {
    if (where_ == Where::kTop && key_ == "slopes") return slopes = value, true;
    if (where_ == Where::kTop && key_ == "edges") return edges = value, true;
    return Refuse("true and false do not belong here.");
  }
  bool number_integer(number_integer_t value) override { return Number(static_cast<double>(value)); }
  bool number_unsigned(number_unsigned_t value) override { return Number(static_cast<double>(value)); }
  bool number_float(number_float_t value, const string_t&) override { return Number(value); }
  bool binary(binary_t&) override { return Refuse("binary data do not belong here."); }
  bool string(string_t& value) override {
    if (where_ == Where::kUnits) {
      units[value_] = value;
      return true;
    }
    if (where_ == Where::kTop && key_ == "reference") {
      reference = value;
      return true;
    }
    if (where_ == Where::kTop && key_ == "surge_margin") {
      surge_margin = value;
      return true;
    }
    return Refuse("a text stands where a number is wanted.");
  }
  bool start_object(std::size_t) override {
    switch (where_) {
      case Where::kNothing: where_ = Where::kTop; return true;
      case Where::kTop:
        if (key_ == "units") {
          where_ = Where::kUnits;
          return true;
        }
        if (key_ == "columns") {
          where_ = Where::kColumns;
          have_columns = true;
          return true;
        }
        return Refuse("an object does not belong here.");
      case Where::kPoints:
        if (points.size() >= most_) return Refuse(fmt::format("more than {} points; send them in several requests.", most_));
        points.emplace_back();
        seen_ = 0;
        where_ = Where::kPoint;
        return true;
      default: return Refuse("an object does not belong here.");
    }
  }
  bool key(string_t& name) override {
    if (where_ == Where::kTop) {
      key_ = name;
      for (const char* known : {"points", "columns", "units", "reference", "surge_margin", "slopes", "edges"})
        if (key_ == known) {
          if (std::find(top_seen_.begin(), top_seen_.end(), key_) != top_seen_.end()) return Refuse("the key stands there twice.");
          top_seen_.push_back(key_);
          return true;
        }
      return Refuse("there is no such key; there are points, columns, units, reference, surge_margin, slopes and edges.");
    }
    key_ = name;
    const std::optional<QuestionValue> value = ParseQuestionValue(name);
    if (!value) return Refuse("there is no such value; there are flow, pressure_ratio, speed, expansion_ratio and vane_opening.");
    value_ = static_cast<std::size_t>(*value);
    if (where_ == Where::kPoint) {
      if (seen_ & (1u << value_)) return Refuse("the value stands there twice.");
      seen_ |= 1u << value_;
    } else if (where_ == Where::kColumns && given[value_]) {
      return Refuse("the column stands there twice.");
    }
    if (where_ != Where::kUnits) given[value_] = true;
    return true;
  }
  bool end_object() override {
    where_ = where_ == Where::kPoint ? Where::kPoints : where_ == Where::kTop ? Where::kNothing : Where::kTop;
    return true;
  }
  bool start_array(std::size_t) override {
    if (where_ == Where::kTop && key_ == "points") {
      where_ = Where::kPoints;
      have_points = true;
      return true;
    }
    if (where_ == Where::kColumns) {
      where_ = Where::kColumn;
      return true;
    }
    return Refuse(where_ == Where::kNothing ? "the request is an object with the key points." : "a list does not belong here.");
  }
  bool end_array() override {
    where_ = where_ == Where::kColumn ? Where::kColumns : Where::kTop;
    return true;
  }
  bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception& failure) override {
    if (!error.empty()) return false;
    // 406: a number too large for a double.
    error = failure.id == 406 ? "a number is too large." : fmt::format("it is not JSON: byte {} cannot be read.", position);
    return false;
  }

 private:
  enum class Where { kNothing, kTop, kUnits, kPoints, kPoint, kColumns, kColumn };

  bool Number(double number) {
    if (where_ == Where::kPoint) {
      points.back().values[value_] = number;
      return true;
    }
    if (where_ == Where::kColumn) {
      if (columns[value_].size() >= most_) return Refuse(fmt::format("more than {} points; send them in several requests.", most_));
      columns[value_].push_back(number);
      return true;
    }
    return Refuse("a number does not belong here.");
  }
  bool Refuse(std::string sentence) {
    error = std::move(sentence);
    switch (where_) {
      case Where::kNothing: break;
      case Where::kTop: place = key_; break;
      case Where::kUnits: place = "units." + key_; break;
      case Where::kPoints: place = fmt::format("points[{}]", points.size()); break;
      case Where::kPoint: place = fmt::format("points[{}].{}", points.size() - 1, key_); break;
      case Where::kColumns: place = "columns." + key_; break;
      case Where::kColumn: place = fmt::format("columns.{}[{}]", key_, columns[value_].size()); break;
    }
    return false;
  }

  std::size_t most_;
  Where where_ = Where::kNothing;
  std::string key_;
  std::vector<std::string> top_seen_;
  std::size_t value_ = 0;
  unsigned seen_ = 0;
};

}  // namespace

Result<QuestionList> ParseQuestionList(std::string_view json, const AskableMap& map, std::size_t most) {
  Reader reader(most);
  if (!Json::sax_parse(json.begin(), json.end(), &reader)) {
    if (reader.error.empty()) reader.error = "it is not JSON.";
    return Fail(ErrorCode::kInvalidArgument, reader.error, reader.place.substr(0, 200));
  }
  if (reader.have_points == reader.have_columns) return Fail(ErrorCode::kInvalidArgument, "the request needs either points or columns.", "");
  QuestionList list;
  if (reader.surge_margin) {
    list.options.surge_margin = ParseSurgeMargin(*reader.surge_margin);
    if (!list.options.surge_margin) {
      std::string names;
      for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) names += (names.empty() ? "" : ", ") + std::string(definition.name);
      return Fail(ErrorCode::kInvalidArgument, fmt::format("there is no such surge margin; there are {}.", names), "surge_margin");
    }
    if (map.is_turbine()) return Fail(ErrorCode::kWrongKind, "a turbine has no surge margin; leave it out.", "surge_margin");
  }
  list.options.slopes = reader.slopes;
  list.options.edges = reader.edges;
  if (reader.edges && map.is_turbine())
    return Fail(ErrorCode::kWrongKind, "distances to the edges are known of compressors only; leave the edges out.", "edges");
  std::vector<QuestionValue> values;
  for (std::size_t i = 0; i < kQuestionValues; ++i)
    if (reader.given[i]) values.push_back(static_cast<QuestionValue>(i));
  if (auto checked = map.CheckValues(values); !checked)
    return Fail(checked.error().code, checked.error().message, reader.have_points ? "points" : "columns");

  std::array<double, kQuestionValues> factors;
  factors.fill(1.0);
  bool units_given = reader.reference.has_value();
  for (const auto& unit : reader.units) units_given = units_given || unit.has_value();
  if (units_given) {
    std::optional<ReferenceConditions> given_at;
    if (reader.reference) {
      auto parsed = ParseReferenceArgument(*reader.reference);
      if (!parsed) return Fail(parsed.error().code, parsed.error().message, "reference");
      given_at = *parsed;
    }
    auto units = QuestionUnits::For(map.map(), given_at);
    if (!units) return Fail(units.error().code, units.error().message, "reference");
    for (std::size_t i = 0; i < kQuestionValues; ++i) {
      const auto value = static_cast<QuestionValue>(i);
      if (!reader.given[i] && !reader.units[i]) continue;
      std::optional<Unit> unit;
      if (reader.units[i]) {
        auto parsed = ParseUnit(*reader.units[i]);
        if (!parsed) return Fail(parsed.error().code, parsed.error().message, fmt::format("units.{}", QuestionValueName(value)));
        unit = *parsed;
      }
      auto factor = units->Factor(value, unit);
      if (!factor) return Fail(factor.error().code, factor.error().message, fmt::format("units.{}", QuestionValueName(value)));
      factors[i] = *factor;
    }
  }
  if (reader.have_columns) {
    std::size_t length = 0;
    bool first = true;
    for (const QuestionValue value : values) {
      const std::size_t own = reader.columns[static_cast<std::size_t>(value)].size();
      if (!first && own != length)
        return Fail(ErrorCode::kInvalidArgument, fmt::format("the columns are of unequal length ({} and {}).", length, own), "columns");
      length = own;
      first = false;
    }
    list.questions.resize(length);
    for (const QuestionValue value : values)
      for (std::size_t i = 0; i < length; ++i) list.questions[i].Set(value, reader.columns[static_cast<std::size_t>(value)][i]);
  } else {
    list.questions = std::move(reader.points);
  }
  for (std::size_t i = 0; i < kQuestionValues; ++i) {
    if (factors[i] == 1.0) continue;
    for (Question& question : list.questions)
      if (question.values[i]) question.values[i] = *question.values[i] * factors[i];
  }
  return list;
}

}  // namespace islebook
