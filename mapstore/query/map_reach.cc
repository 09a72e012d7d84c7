#include "mapstore/query/map_reach.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

bool OnMap(const CompressorSurface& surface, const EdgePoint& point) {
  const std::optional<MapPlace> place = surface.Locate(point.flow, point.pressure_ratio);
  return place && surface.IsOnMap(*place);
}

EdgePoint Between(const EdgePoint& a, const EdgePoint& b, double part) {
  return {a.flow + part * (b.flow - a.flow), a.pressure_ratio + part * (b.pressure_ratio - a.pressure_ratio)};
}

double Cross(const EdgePoint& a, const EdgePoint& b, const EdgePoint& c) {
  return (b.flow - a.flow) * (c.pressure_ratio - a.pressure_ratio) - (b.pressure_ratio - a.pressure_ratio) * (c.flow - a.flow);
}

// Parts of the way from a to b at which it meets the outline, ascending.
std::vector<double> Meetings(const std::vector<EdgePoint>& outline, const EdgePoint& a, const EdgePoint& b) {
  std::vector<double> parts;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const EdgePoint &c = outline[i], &d = outline[(i + 1) % outline.size()];
    const double at_c = Cross(a, b, c), at_d = Cross(a, b, d);
    if ((at_c < 0.0) == (at_d < 0.0)) continue;
    const double at_a = Cross(c, d, a), at_b = Cross(c, d, b);
    if (at_a == at_b || (at_a < 0.0) == (at_b < 0.0)) continue;
    parts.push_back(at_a / (at_a - at_b));
  }
  std::sort(parts.begin(), parts.end());
  return parts;
}

// The change from `on` (on the map) to `off` (not), to the last digits.
double EdgeBetween(const CompressorSurface& surface, const EdgePoint& a, const EdgePoint& b, double on, double off) {
  for (int i = 0; i < 60 && std::abs(off - on) > 1e-15; ++i) {
    const double middle = 0.5 * (on + off);
    (OnMap(surface, Between(a, b, middle)) ? on : off) = middle;
  }
  return on;
}

// What lies on the other side: looked at a little way out.
MapRegion RegionBeyond(const CompressorSurface& surface, const EdgePoint& a, const EdgePoint& b, double on, double off) {
  for (double step = 1e-9; step < 1e-2; step *= 10.0) {
    const EdgePoint out = Between(a, b, on + std::copysign(step, off - on));
    const MapRegion region = surface.RegionOf(out.flow, out.pressure_ratio);
    if (region != MapRegion::kOnMap) return region;
  }
  const EdgePoint out = Between(a, b, off);
  return surface.RegionOf(out.flow, out.pressure_ratio);
}

struct Extent {
  double flow = 1.0, ratio = 1.0;
  double Distance(const EdgePoint& a, const EdgePoint& b) const {
    return std::hypot((a.flow - b.flow) / flow, (a.pressure_ratio - b.pressure_ratio) / ratio);
  }
};

Extent ExtentOf(const std::vector<EdgePoint>& outline) {
  double flow_low = 1e300, flow_high = -1e300, ratio_low = 1e300, ratio_high = -1e300;
  for (const EdgePoint& point : outline) {
    flow_low = std::min(flow_low, point.flow), flow_high = std::max(flow_high, point.flow);
    ratio_low = std::min(ratio_low, point.pressure_ratio), ratio_high = std::max(ratio_high, point.pressure_ratio);
  }
  return {std::max(flow_high - flow_low, 1e-300), std::max(ratio_high - ratio_low, 1e-300)};
}

}  // namespace

std::optional<EdgeDistances> DistancesToEdges(const CompressorSurface& surface, double flow, double pressure_ratio) {
  const std::optional<MapPlace> place = surface.Locate(flow, pressure_ratio);
  if (!place || !surface.IsOnMap(*place)) return std::nullopt;
  const std::vector<EdgePoint> outline = surface.Outline();
  const Extent extent = ExtentOf(outline);
  const EdgePoint here{flow, pressure_ratio};
  EdgeDistances distances;
  const auto speed_at = [&](const EdgePoint& point) {
    const std::optional<MapPlace> there = surface.Locate(point.flow, point.pressure_ratio);
    return there ? std::clamp(there->speed, surface.MinSpeed(), surface.MaxSpeed()) : place->speed;
  };
  // Straight on to the outline, then to the last digits.
  const auto straight = [&](double flow_way, double ratio_way) -> std::optional<EdgeHit> {
    const EdgePoint far{flow + 1.5 * flow_way * extent.flow, pressure_ratio + 1.5 * ratio_way * extent.ratio};
    double on = 0.0, off = 1.0;
    for (const double part : Meetings(outline, here, far)) {
      const double past = std::min(part + 1e-3, 1.0);
      if (OnMap(surface, Between(here, far, past))) {
        on = past;
        continue;
      }
      off = past;
      break;
    }
    on = EdgeBetween(surface, here, far, on, off);
    EdgeHit hit;
    hit.at = Between(here, far, on);
    hit.speed = speed_at(hit.at);
    hit.beyond = RegionBeyond(surface, here, far, on, off);
    hit.change = flow_way != 0.0 ? hit.at.flow - flow : hit.at.pressure_ratio - pressure_ratio;
    hit.share = extent.Distance(here, hit.at);
    return hit;
  };
  distances.less_flow = straight(-1.0, 0.0);
  distances.more_flow = straight(1.0, 0.0);
  distances.less_pressure_ratio = straight(0.0, -1.0);
  distances.more_pressure_ratio = straight(0.0, 1.0);
  const auto along = [&](const MapPlace& end, MapRegion beyond, bool by_speed) {
    const SurfaceJet jet = surface.At(end);
    const EdgePoint at{jet.flow, jet.pressure_ratio};
    return EdgeHit{at, end.speed, beyond, by_speed ? end.speed - place->speed : at.flow - flow, extent.Distance(here, at)};
  };
  distances.toward_surge = along({place->speed, 0.0}, MapRegion::kLeftOfSurge, false);
  distances.toward_choke = along({place->speed, 1.0}, MapRegion::kPastChoke, false);
  distances.slower = along({surface.MinSpeed(), place->beta}, MapRegion::kUnderSpeed, true);
  distances.faster = along({surface.MaxSpeed(), place->beta}, MapRegion::kOverSpeed, true);
  // The nearest of the outline's pieces.
  distances.nearest.share = 1e300;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const EdgePoint &c = outline[i], &d = outline[(i + 1) % outline.size()];
    const double dx = (d.flow - c.flow) / extent.flow, dy = (d.pressure_ratio - c.pressure_ratio) / extent.ratio;
    const double length = dx * dx + dy * dy;
    const double part =
        length > 0.0 ? std::clamp(((flow - c.flow) / extent.flow * dx + (pressure_ratio - c.pressure_ratio) / extent.ratio * dy) / length, 0.0, 1.0)
                     : 0.0;
    const EdgePoint at = Between(c, d, part);
    const double distance = extent.Distance(here, at);
    if (distance < distances.nearest.share) distances.nearest = {at, 0.0, MapRegion::kOnMap, distance, distance};
  }
  distances.nearest.speed = speed_at(distances.nearest.at);
  distances.nearest.beyond = RegionBeyond(surface, here, distances.nearest.at, 1.0, 2.0);
  return distances;
}

std::vector<EdgeCrossing> CrossingsAlong(const CompressorSurface& surface, std::span<const EdgePoint> line) {
  std::vector<EdgeCrossing> crossings;
  const std::vector<EdgePoint> outline = surface.Outline();
  for (std::size_t piece = 0; piece + 1 < line.size(); ++piece) {
    const EdgePoint &a = line[piece], &b = line[piece + 1];
    if (!std::isfinite(a.flow) || !std::isfinite(a.pressure_ratio) || !std::isfinite(b.flow) || !std::isfinite(b.pressure_ratio)) continue;
    // Places at which to look whether the line is on the map: its ends, and between every two meetings with the outline.
    std::vector<double> looks{0.0};
    const std::vector<double> parts = Meetings(outline, a, b);
    double before = 0.0;
    for (const double part : parts) {
      looks.push_back(0.5 * (before + part));
      before = part;
    }
    if (!parts.empty()) looks.push_back(0.5 * (before + 1.0));
    looks.push_back(1.0);
    bool on = OnMap(surface, a);
    for (std::size_t i = 1; i < looks.size(); ++i) {
      const bool now = OnMap(surface, Between(a, b, looks[i]));
      if (now == on) continue;
      const double inner = now ? looks[i] : looks[i - 1], outer = now ? looks[i - 1] : looks[i];
      EdgeCrossing crossing;
      crossing.piece = piece;
      crossing.part = EdgeBetween(surface, a, b, inner, outer);
      crossing.at = Between(a, b, crossing.part);
      crossing.leaves = on;
      crossing.outside = RegionBeyond(surface, a, b, crossing.part, outer);
      crossings.push_back(crossing);
      on = now;
    }
  }
  return crossings;
}

}  // namespace islebook
