#pragma once
// The smooth surface of a turbine map: flow and efficiency over expansion ratio, one family of lines per speed or per vane opening.
//
// Flow is a nozzle's, W = A f(ER^x) with f the isentropic flow function, choked beyond the critical ratio, A an effective area and x the share of the expansion
// that the narrowest section takes (Payri et al., A physically based methodology to extrapolate performance maps of radial turbines, Math. Comput. Model.
// 55, 2012, as the guide), fitted to each line, times a smooth correction that makes it pass through the line's points. Across speeds or openings A, x and the correction are
// interpolated. Efficiency runs over the blade-jet speed ratio where lines are labeled with speeds.
//
// Axis units as in the map, efficiencies as fractions, parameter in the unit of the labels. Immutable; copies are cheap.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

enum class TurbineParameter { kSpeed, kVaneOpening, kNone };  // kNone: a single line without a label

struct TurbineValue {
  double value = 0.0;
  double sigma = 0.0;               // standard uncertainty
  bool extrapolated = false;        // outside the lines' own range of expansion ratio
  double by_expansion_ratio = 0.0;  // first derivatives; of EfficiencyAtVelocityRatio: by the velocity ratio
  double by_parameter = 0.0;
};

class TurbineSurface {
 public:
  // kWrongKind: not a turbine map; kNotEnoughCurves: no usable line; kMalformedDocument: an axis is missing or of a kind that no flow line can have.
  static Result<TurbineSurface> Build(const PerformanceMap& map);

  TurbineParameter Parameter() const;
  const std::string& ParameterUnit() const;
  const std::vector<double>& LineValues() const;  // ascending; all labeled lines, flow and efficiency
  bool HasFlow() const;
  bool HasEfficiency() const;                   // over expansion ratio
  bool HasEfficiencyOverVelocityRatio() const;  // a chart of efficiency over the velocity ratio U/C0
  const std::vector<std::string>& Notes() const;

  // The range of expansion ratio that the lines about that parameter cover.
  double MinExpansionRatio(double parameter) const;
  double MaxExpansionRatio(double parameter) const;

  // nullopt where nothing can be said: no such lines, a parameter outside the labeled ones, an expansion ratio at or below 1 or far outside the range.
  // Without slopes the derivatives are 0 and the answer comes three times as fast.
  std::optional<TurbineValue> Flow(double parameter, double expansion_ratio, bool slopes = true) const;
  std::optional<TurbineValue> Efficiency(double parameter, double expansion_ratio, bool slopes = true) const;

  // From a chart of efficiency over velocity ratio; nullopt where that has no line or no velocity ratio there.
  std::optional<TurbineValue> EfficiencyAtVelocityRatio(double parameter, double velocity_ratio) const;

  // Parameters at which that flow passes at that expansion ratio; ascending, often one, empty if none.
  std::vector<double> ParametersAt(double expansion_ratio, double flow) const;
  // The expansion ratio that passes that flow; nullopt outside the lines or where the flow is choked and no longer says.
  std::optional<double> ExpansionRatioAt(double parameter, double flow) const;

 private:
  struct Impl;
  explicit TurbineSurface(std::shared_ptr<const Impl> impl) : impl_(std::move(impl)) {}
  std::shared_ptr<const Impl> impl_;
};

}  // namespace islebook
