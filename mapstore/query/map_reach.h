#pragma once
// How far a point on a compressor map is from the map's edges, and where a line through the map leaves it.
//
// Flows and pressure ratios in axis units, speeds in the unit of the labels. The edge is that of the labeled lines: what a surface extrapolates beyond them is outside.
// Thread-safe: a surface is only read.

#include <optional>
#include <span>
#include <vector>

#include "mapstore/surface/compressor_surface.h"

namespace islebook {

// Where one way from a point meets the edge.
struct EdgeHit {
  EdgePoint at;
  double speed = 0.0;   // of the surface there
  MapRegion beyond{};   // what lies on the other side
  double change = 0.0;  // of what changes on this way: flow, pressure ratio, or speed; with its sign
  double share = 0.0;   // straight distance to there, in parts of the map's extent in flow and in pressure ratio
};

struct EdgeDistances {
  std::optional<EdgeHit> less_flow, more_flow;                      // at constant pressure ratio; change of flow
  std::optional<EdgeHit> less_pressure_ratio, more_pressure_ratio;  // at constant flow; change of pressure ratio
  std::optional<EdgeHit> toward_surge, toward_choke;                // along the speed line; change of flow
  std::optional<EdgeHit> slower, faster;                            // along the beta line; change of speed
  EdgeHit nearest;                                                  // of the whole edge, to 1e-5 of the extent; change is the share
};

// nullopt: the point is not on the map.
std::optional<EdgeDistances> DistancesToEdges(const CompressorSurface& surface, double flow, double pressure_ratio);

// A place where a line crosses the edge.
struct EdgeCrossing {
  std::size_t piece = 0;  // between points `piece` and `piece` + 1 of the line
  double part = 0.0;      // 0..1 of the way between them
  EdgePoint at;
  bool leaves = false;  // true: the map ends there, going along the line; false: it begins
  MapRegion outside{};  // the side that it leaves to or comes from
};

// Every crossing, in order along the line (an operating line, a compressor's run-up); empty: it lies wholly on the map or wholly off it. Points that are no finite numbers
// break the line there.
std::vector<EdgeCrossing> CrossingsAlong(const CompressorSurface& surface, std::span<const EdgePoint> line);

}  // namespace islebook
