#include "mapstore/map/compressor_map.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/frame_geometry.h"
#include "mapstore/map/map_lines.h"

namespace islebook {
namespace {

using frame_geometry::FrameScale;

bool IsFlow(Quantity q) { return q == Quantity::kCorrectedMassFlow || q == Quantity::kCorrectedVolumeFlow; }
bool IsPressureRatio(Quantity q) { return q == Quantity::kPressureRatioTotalToTotal || q == Quantity::kPressureRatioTotalToStatic; }

class Builder {
 public:
  Builder(const PerformanceMap& map, bool swap, const Axis& flow, const Axis& ratio) : map_(map), swap_(swap), scale_(flow, ratio) {
    out_.flow = flow;
    out_.pressure_ratio = ratio;
    out_.reference_conditions = map.reference_conditions;
  }

  CompressorMap Build() {
    SpeedLines();
    out_.surge_line = Limit(CurveRole::kSurgeLine);
    out_.choke_line = Limit(CurveRole::kChokeLine);
    Islands();
    return std::move(out_);
  }

 private:
  std::vector<std::size_t> CurvesOf(CurveRole role, std::size_t least_points) {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < map_.curves.size(); ++i) {
      if (map_.curves[i].role != role) continue;
      if (map_.curves[i].points.size() >= least_points)
        found.push_back(i);
      else
        LeaveOut(i, fmt::format("has {} of the {} points that it needs", map_.curves[i].points.size(), least_points));
    }
    return found;
  }
  void LeaveOut(std::size_t curve, const std::string& why) {
    out_.left_out.push_back(Capitalized(fmt::format("{} is left out: it {}.", CurveInWords(map_.curves[curve]), why)));
  }

  // Surge is up and to the left.
  MapLine FromSurge(std::size_t curve) const {
    MapLine line = map_lines::LineOf(map_, curve, swap_);
    const Point2 first = scale_.ToFrame(line.points.front()), last = scale_.ToFrame(line.points.back());
    if (first.x - first.y > last.x - last.y) map_lines::Reverse(line);
    return line;
  }

  void SpeedLines() {
    const std::vector<std::size_t> curves = CurvesOf(CurveRole::kSpeedLine, 2);
    out_.speed_unit = map_lines::CommonUnit(map_, curves);
    for (const std::size_t i : curves)
      if (!map_lines::ValueIn(map_.curves[i], out_.speed_unit))
        LeaveOut(i,
                 map_.curves[i].value ? fmt::format("has its speed in {}, the others in {}", map_.curves[i].unit, out_.speed_unit) : "has no speed");
    for (const auto& [speed, pieces] : map_lines::GroupByValue(map_, curves, out_.speed_unit)) {
      std::vector<MapLine> lines;
      for (const std::size_t i : pieces) lines.push_back(FromSurge(i));
      out_.speed_lines.push_back({speed, JoinOrKeepLongest(std::move(lines), 0)});
    }
  }

  // Two lines of one value that run side by side cannot both be right; the longer is kept.
  MapLine JoinOrKeepLongest(std::vector<MapLine> lines, int coordinate) {
    if (auto joined = map_lines::JoinPieces(lines, coordinate)) return *joined;
    const auto length = [&](const MapLine& line) { return frame_geometry::LengthOf(scale_.ToFrame(line.points)); };
    const auto longest = std::ranges::max_element(lines, {}, length);
    for (auto line = lines.begin(); line != lines.end(); ++line)
      if (line != longest) LeaveOut(line->curves.front(), "runs beside a longer one of the same name");
    return *longest;
  }

  std::optional<MapLine> Limit(CurveRole role) {
    std::vector<MapLine> lines;
    for (const std::size_t i : CurvesOf(role, 2)) {
      MapLine line = map_lines::LineOf(map_, i, swap_);
      if (line.points.front().y > line.points.back().y) map_lines::Reverse(line);
      lines.push_back(std::move(line));
    }
    if (lines.empty()) return std::nullopt;
    return JoinOrKeepLongest(std::move(lines), 1);
  }

  void Islands() {
    const std::vector<std::size_t> curves = CurvesOf(CurveRole::kEfficiencyIsland, 2);
    std::vector<std::size_t> usable;
    for (const std::size_t i : curves) {
      const Curve& curve = map_.curves[i];
      if (!curve.value)
        LeaveOut(i, "has no efficiency");
      else if (curve.unit == "1" || curve.unit == "%")
        usable.push_back(i);
      else
        LeaveOut(i, "has a value that is neither a fraction nor a percentage");
    }
    for (const auto& [efficiency, pieces] : map_lines::GroupByValue(map_, usable, "1")) {
      EfficiencyIsland island{efficiency, {}};
      for (const std::size_t i : pieces) island.pieces.push_back({map_lines::LineOf(map_, i, swap_), map_.curves[i].closed});
      out_.islands.push_back(std::move(island));
    }
  }

  const PerformanceMap& map_;
  bool swap_;
  FrameScale scale_;
  CompressorMap out_;
};

}  // namespace

Result<CompressorMap> AsCompressorMap(const PerformanceMap& map) {
  if (!map.kind) return Fail(ErrorCode::kWrongKind, "the map's kind is not known; say that it is a compressor before using it as one.");
  if (*map.kind != MapKind::kCompressor) return Fail(ErrorCode::kWrongKind, "this is a turbine map; a compressor map is needed.");
  if (!map.x || !map.y) return Fail(ErrorCode::kWrongKind, "the map has no axes, so its curves have no values; set the axes first.");
  const bool upright = IsFlow(map.x->quantity) && IsPressureRatio(map.y->quantity),
             turned = IsFlow(map.y->quantity) && IsPressureRatio(map.x->quantity);
  if (!upright && !turned)
    return Fail(ErrorCode::kWrongKind, fmt::format("the axes show {} and {}, not a flow and a pressure ratio; set the axes first.",
                                                   QuantityInWords(map.x->quantity), QuantityInWords(map.y->quantity)));
  return Builder(map, turned, turned ? *map.y : *map.x, turned ? *map.x : *map.y).Build();
}

}  // namespace islebook
