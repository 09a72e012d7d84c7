#pragma once
// A turbine with variable vanes whose makers print one map per vane opening, each with its own speed lines: vane opening as a further coordinate.
//
// Between openings the answers of the single maps are interpolated at the same speed and expansion ratio by a cubic that keeps their order (a nozzle's throat opens
// steadily with its vanes), beyond the outermost openings nothing is said. Immutable; copies are cheap; any number of threads may read one.

#include <memory>
#include <optional>
#include <vector>

#include "mapstore/surface/turbine_surface.h"

namespace islebook {

struct TurbineAtOpening {
  double opening = 0.0;  // in the unit of all: %, degrees, or a fraction
  TurbineSurface surface;
};

class TurbineOpenings {
 public:
  // kNotEnoughCurves: fewer than two different openings; kWrongKind: a map whose lines are not labeled with speeds; kInvalidArgument: an opening that is no number, or twice
  // the same, or maps whose speeds are in different units.
  static Result<TurbineOpenings> Build(std::vector<TurbineAtOpening> maps);

  const std::vector<double>& Openings() const;  // ascending
  const TurbineSurface& MapAt(std::size_t index) const;

  // nullopt outside the openings, or where a map next to the opening says nothing. TurbineValue::by_parameter is by speed.
  std::optional<TurbineValue> Flow(double opening, double speed, double expansion_ratio) const;
  std::optional<TurbineValue> Efficiency(double opening, double speed, double expansion_ratio) const;

  // Openings that pass that flow, ascending; often one, empty if none.
  std::vector<double> OpeningsFor(double speed, double expansion_ratio, double flow) const;

 private:
  struct Impl;
  explicit TurbineOpenings(std::shared_ptr<const Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<const Impl> impl_;
};

}  // namespace islebook
