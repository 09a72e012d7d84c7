#pragma once
// A bench result as a table: one row a point and wheel, one column a quantity. The same columns are the CSV's and the arrays of C and Python. SI.

#include <optional>
#include <span>
#include <string>

#include "mapstore/bench/bench.h"

namespace islebook {

struct BenchColumn {
  const char* role;      // "engine", "compressor", "turbine"
  const char* quantity;  // "surge_margin"
  const char* unit;      // "kg/s"; "1": a pure number
};

// Never reordered; later versions add at the end.
std::span<const BenchColumn> BenchColumns();

// A row is a point and one of its stages: rows = points * stages, the stages of a point together, in the order of the air.
std::size_t BenchRows(const BenchResult& result);
// Nullopt: not known, or the case has no such thing.
std::optional<double> BenchValue(const BenchResult& result, std::size_t row, std::size_t column);

// RFC 4180. Header: point, wheel, then each column as role_quantity [unit], then grade, region, regulation, failure, needs_review. What is not known is an empty field.
std::string WriteBenchCsv(const BenchResult& result);

}  // namespace islebook
