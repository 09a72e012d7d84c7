#pragma once
// Typed reading of a case file's sections. The first thing that is wrong is kept with its line; later calls then answer with nothing.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/toml_tree.h"
#include "mapstore/units/error.h"
#include "mapstore/units/unit.h"

namespace islebook {

// A number with its unit, as written: "12.5 L", "1,800 rpm", "16 °C", "92 %".
struct Measure {
  double si = 0.0;
  Unit unit;
  int line = 0;
};
// kInvalidArgument, kUnknownUnit or kIncompatibleUnit with a sentence.
Result<Measure> ParseMeasure(std::string_view text, Dimension dimension, const char* example);

class CaseReader {
 public:
  explicit CaseReader(std::string file) : file_(std::move(file)) {}
  void Refuse(int line, std::string message);  // keeps the first
  bool Failed() const { return error_.has_value(); }
  const Error& error() const { return *error_; }

 private:
  std::string file_;
  std::optional<Error> error_;
};

// What a key accepts.
struct MeasureSpec {
  Dimension dimension = Dimension::kRatio;
  const char* example = "";      // what to write, without quotes: "12.5 L"
  double low = 0.0, high = 0.0;  // SI, both ends allowed
  const char* range_words = "";  // "above 0 and at most 100 m3"
};

// One table; `node` may be null: the section is absent and everything in it is left out.
class CaseSection {
 public:
  CaseSection(CaseReader& reader, const TomlNode* node, std::string path);
  bool Has(std::string_view key) const { return Find(key) != nullptr; }
  int Line(std::string_view key) const;  // of the key, else of the section
  int line() const { return node_ ? node_->line : 0; }
  const std::string& path() const { return path_; }
  std::string Name(std::string_view key) const;  // "engine.displacement"

  std::optional<std::string> Text(std::string_view key) const;
  std::optional<Measure> Value(std::string_view key, const MeasureSpec& spec) const;
  std::optional<std::vector<Measure>> Values(std::string_view key, const MeasureSpec& spec) const;  // one or a list
  // One value, or a table of values over engine speed: { "1000 rpm" = "20 %", "2000 rpm" = "60 %" }. Pairs of (rev/s, value in SI); one value has the speed 0.
  std::optional<std::vector<std::pair<double, double>>> OverSpeed(std::string_view key, const MeasureSpec& spec) const;
  std::optional<int> Whole(std::string_view key, int low, int high) const;
  // Absolute pressure: a gauge unit is refused with what to write.
  std::optional<Measure> Absolute(std::string_view key, const MeasureSpec& spec, std::string_view gauge_key) const;
  // Gauge pressure: an absolute unit is refused with what to write.
  std::optional<Measure> Gauge(std::string_view key, const MeasureSpec& spec, std::string_view absolute_key) const;
  // "3 kPa", "2 %", "3 kPa at 0.5 kg/s".
  std::optional<PressureLoss> Loss(std::string_view key) const;

  // Refuses every key that is not among `known`, naming the nearest; `elsewhere` are (section, key) pairs for "belongs in".
  void CheckKeys(const std::vector<const char*>& known, const std::vector<std::pair<const char*, const char*>>& elsewhere) const;

 private:
  const TomlNode* Find(std::string_view key) const { return node_ ? node_->Find(key) : nullptr; }
  std::optional<Measure> Read(const TomlNode& node, std::string_view key, const MeasureSpec& spec) const;

  CaseReader& reader_;
  const TomlNode* node_;
  std::string path_;
};

// Notes a value that the case left out, once.
void Assume(std::vector<AssumedValue>& assumed, std::string key, std::string value, std::string why);

// Edits (insert, delete, replace, swap neighbors) from one word to another.
int EditDistance(std::string_view a, std::string_view b);

}  // namespace islebook
