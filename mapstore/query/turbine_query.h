#pragma once
// Questions to a turbine map and their answers: two of expansion ratio, flow and parameter (the speed or vane opening that its lines are labeled with), in the map's units.
// No NaN: what cannot be known is nullopt with a reason.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mapstore/query/compressor_query.h"
#include "mapstore/surface/turbine_surface.h"

namespace islebook {

struct TurbineQuestion {
  std::optional<double> expansion_ratio;
  std::optional<double> flow;
  std::optional<double> parameter;
};

struct TurbineAnswer {
  std::optional<double> expansion_ratio;
  std::optional<double> flow;
  std::optional<double> efficiency;  // fraction
  std::optional<double> parameter;   // speed or vane opening
  std::optional<double> sigma_flow;
  std::optional<double> sigma_efficiency;
  bool inside = false;  // within the lines' range of expansion ratio and between labeled lines
  std::string reason;   // in words; empty: nothing to say
  std::vector<TurbineAnswer> alternatives;
};

// How each value changes with the two asked with, in the order flow, expansion ratio, parameter; a map with a single line is asked with one, and by_second is 0.
struct TurbineSlopes {
  std::optional<Slope> expansion_ratio, flow, parameter;  // of what was not asked with
  std::optional<Slope> efficiency;
};

class TurbineQuery {
 public:
  explicit TurbineQuery(TurbineSurface surface) : surface_(std::move(surface)) {}
  const TurbineSurface& surface() const { return surface_; }
  TurbineAnswer Ask(const TurbineQuestion& question) const;
  // First derivatives of Ask's answer (of the first, where there are several); nullopt where it is not known, or the flow stands still (choked, or the same at
  // every speed).
  std::optional<TurbineSlopes> Slopes(const TurbineQuestion& question) const;

 private:
  TurbineSurface surface_;
};

}  // namespace islebook
