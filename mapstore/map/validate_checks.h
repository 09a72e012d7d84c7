#pragma once
// The parts of ValidateMap, one file a matter. For this folder's own use.

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/map/frame_geometry.h"
#include "mapstore/map/validate.h"

namespace islebook::validation {

// The map with what every check needs: its curves in frame coordinates, and where findings go.
struct Context {
  const PerformanceMap& map;
  std::vector<Finding>& findings;
  std::vector<std::vector<Point2>> frame;  // per curve, (0..1, 0..1); efficiency lines on their own axis; empty where there are no axes

  void Add(Severity severity, std::optional<std::size_t> curve, std::string sentence) const {
    findings.push_back({severity, curve, std::move(sentence)});
  }
  std::vector<std::size_t> CurvesOf(CurveRole role, std::size_t least_points = 2) const;
  bool IsDoubted(std::size_t curve) const { return map.curves[curve].needs_review || map.curves[curve].confidence < 0.5; }
  // A place in the frame in axis units: "23.4 lb/min, 2.15".
  std::string PlaceInWords(const Point2& frame_point) const;
};

void CheckAxes(const Context& context);
void CheckEachCurve(const Context& context);
void CheckSpeedLines(const Context& context);
void CheckLimits(const Context& context);  // surge and choke line
void CheckIslands(const Context& context);
void CheckTurbineLines(const Context& context);

// Lines of one family that have values, against the order in which they lie: the fewest lines whose values disagree with that order. `order(i, j)` is +1 where line i should
// carry the higher value, -1 the lower, 0 where it is not clear.
// `suspect` (may be empty): lines that are doubted anyway, blamed first.
std::vector<std::size_t> OutOfOrder(const std::vector<double>& values, const std::function<int(std::size_t, std::size_t)>& order,
                                    const std::vector<bool>& suspect = {});

// Pairs that cannot both be right, and who is to blame: one already doubted, else whoever has most such pairs, else both.
std::vector<std::size_t> ToBlame(const Context& context, const std::vector<std::pair<std::size_t, std::size_t>>& pairs);

// Above (+1) or below (-1) in the frame where both run over the same x; 0 where they share none or it is not clear.
int HigherOf(const std::vector<Point2>& a, const std::vector<Point2>& b);

}  // namespace islebook::validation
