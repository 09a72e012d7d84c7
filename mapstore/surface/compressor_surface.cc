#include "mapstore/surface/compressor_surface.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/surface/compressor_surface_impl.h"

namespace islebook {

namespace {

bool IsPressureRatio(Quantity quantity) {
  return quantity == Quantity::kPressureRatioTotalToTotal || quantity == Quantity::kPressureRatioTotalToStatic;
}
bool IsFlow(Quantity quantity) { return quantity == Quantity::kCorrectedMassFlow || quantity == Quantity::kCorrectedVolumeFlow; }

// A sheet with pressure ratio along x, turned round.
PerformanceMap Turned(PerformanceMap map) {
  std::swap(map.x, map.y);
  for (Curve& curve : map.curves) {
    for (Point2& point : curve.points) std::swap(point.x, point.y);
    for (Point2& sigma : curve.sigma) std::swap(sigma.x, sigma.y);
  }
  return map;
}

std::optional<double> FractionOf(const Curve& curve) {
  if (!curve.value || !std::isfinite(*curve.value)) return std::nullopt;
  const double fraction = curve.unit == "%" || *curve.value > 1.5 ? *curve.value / 100.0 : *curve.value;
  if (fraction <= 0.05 || fraction >= 1.0) return std::nullopt;
  return fraction;
}

std::vector<Island> PlaceIslands(const PerformanceMap& map, const SurfaceTable& table, double x_start, double x_per_n,
                                 std::vector<std::string>& notes) {
  std::vector<Island> islands;
  int unlabeled = 0;
  for (const Curve& curve : map.curves) {
    if (curve.role != CurveRole::kEfficiencyIsland) continue;
    const std::optional<double> level = FractionOf(curve);
    if (!level) {
      ++unlabeled;
      continue;
    }
    if (curve.needs_review) notes.push_back(fmt::format("The {:g} % island is flagged for review.", std::round(*level * 1e4) / 100.0));
    Island island;
    island.level = *level;
    island.closed = curve.closed;
    island.doubtful = curve.needs_review;
    island.confidence = curve.confidence;
    // Every point of a densely drawn island is more than its shape needs.
    const std::size_t stride = std::max<std::size_t>(1, curve.points.size() / 160);
    std::optional<TablePlace> last;
    for (std::size_t i = 0; i < curve.points.size(); i += stride) {
      const Point2& at = curve.points[i];
      if (!(at.y > 0.0) || !std::isfinite(at.x) || !std::isfinite(at.y)) continue;
      const double head = HeadOf(at.y);
      std::optional<TablePlace> place;
      if (last) place = table.LocateFrom(*last, at.x, head);
      if (!place) place = table.Locate(at.x, head);
      last = place;
      if (!place) continue;
      IslandPoint point{(place->n - x_start) * x_per_n, place->beta, 0.0, 0.0, 1.0};
      if (point.x < -0.09 || point.x > 1.09 || point.y < -0.09 || point.y > 1.09) continue;
      if (i < curve.sigma.size()) {
        const TableJet jet = table.At(place->n, place->beta);
        const double determinant = jet.by_n[0] * jet.by_beta[1] - jet.by_n[1] * jet.by_beta[0];
        if (determinant != 0.0) {
          const double sw = std::abs(curve.sigma[i].x), sh = std::abs(curve.sigma[i].y) / PressureRatioByHead(head);
          point.sigma_x = std::hypot(sw * jet.by_beta[1], sh * jet.by_beta[0]) / std::abs(determinant) * x_per_n;
          point.sigma_y = std::hypot(sh * jet.by_n[0], sw * jet.by_n[1]) / std::abs(determinant);
          if (!std::isfinite(point.sigma_x) || !std::isfinite(point.sigma_y)) point.sigma_x = point.sigma_y = 0.0;
        }
      }
      island.points.push_back(point);
    }
    if (island.closed && island.points.size() > 2) island.points.push_back(island.points.front());
    if (island.points.size() >= 3) islands.push_back(std::move(island));
  }
  if (unlabeled > 0)
    notes.push_back(fmt::format("{} without a readable value {} left out.",
                                unlabeled == 1 ? "An efficiency island" : fmt::format("{} efficiency islands", unlabeled),
                                unlabeled == 1 ? "is" : "are"));
  return islands;
}

// Single efficiencies: the options' own, and islands of the map that are no more than a mark.
std::vector<EfficiencySpot> PlaceSpots(const PerformanceMap& map, const CompressorSurfaceOptions& options, const SurfaceTable& table, double x_start,
                                       double x_per_n, std::vector<std::string>& notes) {
  std::vector<EfficiencyPoint> points = options.efficiency_points;
  for (const Curve& curve : map.curves) {
    if (curve.role != CurveRole::kEfficiencyIsland || curve.points.size() > 2 || curve.needs_review) continue;
    const std::optional<double> level = FractionOf(curve);
    if (level)
      for (const Point2& point : curve.points) points.push_back({point.x, point.y, *level, 0.0});
  }
  std::vector<EfficiencySpot> spots;
  std::size_t off = 0;
  for (const EfficiencyPoint& point : points) {
    std::optional<TablePlace> place;
    if (point.efficiency > 0.05 && point.efficiency < 1.0 && point.pressure_ratio > 0.0)
      place = table.Locate(point.flow, HeadOf(point.pressure_ratio));
    const double x = place ? (place->n - x_start) * x_per_n : -1.0;
    if (x < -0.09 || x > 1.09 || place->beta < -0.09 || place->beta > 1.09) {
      ++off;
      continue;
    }
    spots.push_back({x, place->beta, point.efficiency, std::isfinite(point.sigma) && point.sigma > 0.0 ? point.sigma : 0.0});
  }
  if (off > 0)
    notes.push_back(fmt::format("{} of {} single efficiencies lie off the speed lines or are no fractions, and are left out.", off, points.size()));
  return spots;
}

}  // namespace

const char* MapRegionName(MapRegion region) {
  switch (region) {
    case MapRegion::kOnMap: return "on_map";
    case MapRegion::kLeftOfSurge: return "left_of_surge";
    case MapRegion::kPastChoke: return "past_choke";
    case MapRegion::kOverSpeed: return "over_speed";
    case MapRegion::kUnderSpeed: return "under_speed";
  }
  return "on_map";
}

Result<void> CompressorSurfaceOptions::Check() const {
  if (beta_intervals < 8 || beta_intervals > 200) return Fail(ErrorCode::kInvalidArgument, "beta_intervals must be between 8 and 200.");
  if (rows_between_lines < 0 || rows_between_lines > 16) return Fail(ErrorCode::kInvalidArgument, "rows_between_lines must be between 0 and 16.");
  if (!(extrapolate_below >= 0.0 && extrapolate_below <= 0.9))
    return Fail(ErrorCode::kInvalidArgument, "extrapolate_below must be between 0 and 0.9.");
  if (!(extrapolate_above >= 0.0 && extrapolate_above <= 0.3))
    return Fail(ErrorCode::kInvalidArgument, "extrapolate_above must be between 0 and 0.3.");
  return {};
}

Result<CompressorSurface> CompressorSurface::Build(const PerformanceMap& map, const CompressorSurfaceOptions& options) {
  if (Result<void> checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (map.kind == MapKind::kTurbine) return Fail(ErrorCode::kWrongKind, "this is a turbine map; a compressor map is needed here.");
  if (!map.kind) return Fail(ErrorCode::kWrongKind, "this document holds no compressor map.");
  if (!map.x || !map.y)
    return Fail(ErrorCode::kMalformedDocument, "the map lacks an axis, so its curves mean nothing; give both axes in the recipe.");
  if (IsPressureRatio(map.x->quantity) && IsFlow(map.y->quantity)) return Build(Turned(map), options);
  if (!IsFlow(map.x->quantity)) return Fail(ErrorCode::kMalformedDocument, "one axis of a compressor map must be a flow.", "axes.x");
  if (!IsPressureRatio(map.y->quantity))
    return Fail(ErrorCode::kMalformedDocument, "one axis of a compressor map must be a pressure ratio.", "axes.y");

  auto impl = std::make_shared<Impl>();
  PreparedMap prepared = PrepareSpeedLines(map);
  if (prepared.lines.size() < 2) {
    return Fail(ErrorCode::kNotEnoughCurves,
                fmt::format("at least two speed lines with values are needed and the map has {}; label them in the recipe.", prepared.lines.size()));
  }
  CompleteShortLines(prepared, options.beta_intervals);
  for (const SpeedLine& line : prepared.lines) impl->line_speeds.push_back(line.speed);
  if (std::any_of(prepared.lines.begin(), prepared.lines.end(), [](const SpeedLine& line) { return line.flagged; }))
    for (const SpeedLine& line : prepared.lines) impl->line_flagged.push_back(line.flagged);
  impl->speed_unit = prepared.speed_unit;
  impl->surge_printed = !prepared.surge.empty();
  impl->choke_printed = prepared.choke_printed;
  impl->surge_flow_sigma = prepared.surge.sigma_flow();

  impl->family = LineFamily(prepared, options.beta_intervals);
  const LineFamily& family = impl->family;
  impl->max_speed = family.max_speed();
  const int gaps = static_cast<int>(prepared.lines.size()) - 1;
  const int between = options.rows_between_lines > 0 ? options.rows_between_lines : std::clamp(24 / gaps, 2, 8);
  impl->rows_between = between;
  impl->lowest = family.lines().front() * (1.0 - options.extrapolate_below);
  impl->highest = family.lines().back() * (1.0 + options.extrapolate_above);
  impl->table = SurfaceTable(family, options.beta_intervals, between, impl->lowest, impl->highest);
  impl->notes = std::move(prepared.notes);
  if (impl->table.folds()) {
    const auto [low, high] = impl->table.fold_speeds();
    impl->notes.push_back(fmt::format("Speed lines between {} and {} cross or are out of order; a point there may have several answers.",
                                      SpeedWords(low * impl->max_speed, impl->speed_unit), SpeedWords(high * impl->max_speed, impl->speed_unit)));
  }
  impl->edge = MapEdge(impl->table, prepared.surge);
  impl->x_start = impl->table.MinN();
  impl->x_per_n = 1.0 / (impl->table.MaxN() - impl->table.MinN());
  const std::vector<Island> islands = PlaceIslands(map, impl->table, impl->x_start, impl->x_per_n, impl->notes);
  const std::vector<EfficiencySpot> spots = PlaceSpots(map, options, impl->table, impl->x_start, impl->x_per_n, impl->notes);
  if (islands.empty() && spots.size() >= EfficiencyPoints::kFewest) {
    EfficiencyPoints points(spots, [&](double x, double y) {
      const double n = impl->x_start + x / impl->x_per_n;
      const Pair at = impl->table.Value(n, y);
      return SimilarPlace{n, at[0] / n, at[1] / (n * n)};
    });
    double gap = 0.0;
    for (std::size_t i = 0; i + 1 < family.lines().size(); ++i) gap = std::max(gap, (family.lines()[i + 1] - family.lines()[i]) * impl->x_per_n);
    impl->efficiency = EfficiencyField::FromPoints(points, spots, gap, options.estimate_sigma);
  } else if (!islands.empty()) {
    impl->efficiency = EfficiencyField(islands, spots, options.estimate_sigma);
    impl->notes.insert(impl->notes.end(), impl->efficiency.notes().begin(), impl->efficiency.notes().end());
  }
  if (options.estimate_sigma) impl->speed_sigma = SpeedSigma(family, impl->table);
  return CompressorSurface(std::move(impl));
}

double CompressorSurface::MinSpeed() const { return impl_->line_speeds.front(); }
double CompressorSurface::MaxSpeed() const { return impl_->line_speeds.back(); }
double CompressorSurface::LowestSpeed() const { return impl_->table.LowestN() * impl_->max_speed; }
double CompressorSurface::HighestSpeed() const { return impl_->table.HighestN() * impl_->max_speed; }
const std::vector<double>& CompressorSurface::LineSpeeds() const { return impl_->line_speeds; }
const std::string& CompressorSurface::SpeedUnit() const { return impl_->speed_unit; }
bool CompressorSurface::HasEfficiency() const { return !impl_->efficiency.empty(); }
double CompressorSurface::LowestIsland() const { return impl_->efficiency.lowest_level(); }
bool CompressorSurface::SurgeLinePrinted() const { return impl_->surge_printed; }
bool CompressorSurface::ChokeLinePrinted() const { return impl_->choke_printed; }
const std::vector<std::string>& CompressorSurface::Notes() const { return impl_->notes; }

std::vector<EdgePoint> CompressorSurface::Outline() const {
  std::vector<EdgePoint> outline;
  for (const LinePoint& point : impl_->edge.Outline()) outline.push_back({point.flow, PressureRatioOf(point.head)});
  return outline;
}

SurfaceJet CompressorSurface::At(const MapPlace& place) const {
  const SurfaceTable& table = impl_->table;
  const double n = std::clamp(place.speed / impl_->max_speed, table.MarginLow(), table.MarginHigh());
  const double beta = std::clamp(place.beta, -SurfaceTable::kMarginBeta, 1.0 + SurfaceTable::kMarginBeta);
  const TableJet jet = table.At(n, beta);
  const double slope = PressureRatioByHead(jet.value[1]), per_speed = 1.0 / impl_->max_speed;
  return {jet.value[0],          jet.by_n[0] * per_speed, jet.by_beta[0], PressureRatioOf(jet.value[1]), slope * jet.by_n[1] * per_speed,
          slope * jet.by_beta[1]};
}

EfficiencyJet CompressorSurface::EfficiencyAt(const MapPlace& place) const {
  const double x = impl_->X(place.speed / impl_->max_speed);
  const EfficiencyField::Jet jet = impl_->efficiency.At(x, place.beta);
  return {jet.value, jet.by_x * impl_->x_per_n / impl_->max_speed, jet.by_y, impl_->efficiency.ExtrapolatedAt(x, place.beta)};
}

std::optional<PlaceSigma> CompressorSurface::SigmaAt(const MapPlace& place) const {
  if (impl_->speed_sigma.empty()) return std::nullopt;
  const double n = place.speed / impl_->max_speed;
  PlaceSigma sigma;
  sigma.speed = impl_->speed_sigma.At(n, place.beta) * impl_->max_speed;
  if (!impl_->efficiency.empty()) sigma.efficiency = impl_->efficiency.SigmaAt(impl_->X(n), place.beta);
  return sigma;
}

bool CompressorSurface::SpeedFlaggedAt(const MapPlace& place) const {
  if (impl_->line_flagged.empty()) return false;
  const std::vector<double>& speeds = impl_->line_speeds;
  const std::size_t above = static_cast<std::size_t>(std::upper_bound(speeds.begin(), speeds.end(), place.speed) - speeds.begin());
  // On a line it is that line alone that counts.
  constexpr double kOnLine = 1e-6;
  if (above > 0 && place.speed - speeds[above - 1] < kOnLine * speeds.back()) return impl_->line_flagged[above - 1];
  if (above < speeds.size() && speeds[above] - place.speed < kOnLine * speeds.back()) return impl_->line_flagged[above];
  return (above > 0 && impl_->line_flagged[above - 1]) || (above < speeds.size() && impl_->line_flagged[above]);
}

bool CompressorSurface::EfficiencyFlaggedAt(const MapPlace& place) const {
  return !impl_->efficiency.empty() && impl_->efficiency.DoubtfulAt(impl_->X(place.speed / impl_->max_speed), place.beta);
}

double CompressorSurface::EfficiencySigmaAt(const MapPlace& place) const {
  return impl_->efficiency.empty() ? 0.0 : impl_->efficiency.SigmaAt(impl_->X(place.speed / impl_->max_speed), place.beta);
}

std::optional<MapPlace> CompressorSurface::Locate(double flow, double pressure_ratio) const {
  if (!(pressure_ratio > 0.0)) return std::nullopt;
  const std::optional<TablePlace> place = impl_->table.Locate(flow, HeadOf(pressure_ratio));
  if (!place) return std::nullopt;
  return MapPlace{place->n * impl_->max_speed, place->beta};
}

std::vector<MapPlace> CompressorSurface::LocateAll(double flow, double pressure_ratio) const {
  std::vector<MapPlace> places;
  if (!(pressure_ratio > 0.0)) return places;
  for (const TablePlace& place : impl_->table.LocateAll(flow, HeadOf(pressure_ratio))) places.push_back({place.n * impl_->max_speed, place.beta});
  return places;
}

bool CompressorSurface::Folds() const { return impl_->table.folds(); }

std::vector<MapPlace> CompressorSurface::AtFlow(double speed, double flow) const {
  std::vector<MapPlace> places;
  for (const double beta : impl_->table.Crossings(speed / impl_->max_speed, 0, flow)) places.push_back({speed, beta});
  return places;
}

std::optional<MapPlace> CompressorSurface::OnlyAtFlow(double speed, double flow) const {
  const std::optional<double> beta = impl_->table.SingleFlow(speed / impl_->max_speed, flow);
  if (!beta) return std::nullopt;
  return MapPlace{speed, *beta};
}

std::optional<double> CompressorSurface::PressureRatioAt(double speed, double flow) const {
  const double n = speed / impl_->max_speed;
  if (const std::optional<double> head = impl_->table.SingleHead(n, flow)) return PressureRatioOf(*head);
  std::optional<double> best;
  for (const double beta : impl_->table.Crossings(n, 0, flow)) best = std::max(best.value_or(0.0), PressureRatioOf(impl_->table.HeadAt(n, beta)));
  return best;
}

std::vector<MapPlace> CompressorSurface::AtPressureRatio(double speed, double pressure_ratio) const {
  std::vector<MapPlace> places;
  if (!(pressure_ratio > 0.0)) return places;
  for (const double beta : impl_->table.Crossings(speed / impl_->max_speed, 1, HeadOf(pressure_ratio))) places.push_back({speed, beta});
  return places;
}

bool CompressorSurface::IsOnMap(const MapPlace& place) const {
  // A point given with the digits of a printed end must not fall off the map by rounding.
  constexpr double kRounding = 1e-9;
  const double n = place.speed / impl_->max_speed;
  return n >= impl_->table.MinN() - kRounding && n <= impl_->table.MaxN() + kRounding && place.beta >= -kRounding && place.beta <= 1.0 + kRounding;
}

bool CompressorSurface::IsExtrapolated(const MapPlace& place) const {
  if (impl_->table.LowestN() == impl_->table.MinN() && impl_->table.HighestN() == impl_->table.MaxN()) return false;
  constexpr double kRounding = 1e-9;
  const double n = place.speed / impl_->max_speed;
  return (n < impl_->table.MinN() - kRounding || n > impl_->table.MaxN() + kRounding) && n >= impl_->table.LowestN() - kRounding &&
         n <= impl_->table.HighestN() + kRounding && place.beta >= -kRounding && place.beta <= 1.0 + kRounding;
}

MapRegion CompressorSurface::RegionOf(double flow, double pressure_ratio) const {
  if (!(pressure_ratio > 0.0)) return MapRegion::kUnderSpeed;
  const double head = HeadOf(pressure_ratio);
  if (const std::optional<TablePlace> place = impl_->table.Locate(flow, head)) {
    const bool on_map = IsOnMap({place->n * impl_->max_speed, place->beta});
    if (on_map) return MapRegion::kOnMap;
    const double under = impl_->table.MinN() - place->n, over = place->n - impl_->table.MaxN();
    if (under <= 0.0 && over <= 0.0) return place->beta < 0.0 ? MapRegion::kLeftOfSurge : MapRegion::kPastChoke;
    if (place->beta >= 0.0 && place->beta <= 1.0) return under > 0.0 ? MapRegion::kUnderSpeed : MapRegion::kOverSpeed;
  }
  return impl_->edge.RegionOutside(flow, head);
}

EdgePoint CompressorSurface::SurgePoint(double speed) const {
  const Pair surge = impl_->table.SurgeEdge(speed / impl_->max_speed);
  return {surge[0], PressureRatioOf(surge[1])};
}

EdgePoint CompressorSurface::ChokePoint(double speed) const {
  if (impl_->table.one_way_flow()) {
    const Pair choke = impl_->table.ChokeEdge(speed / impl_->max_speed);
    return {choke[0], PressureRatioOf(choke[1])};
  }
  const Pair top = impl_->table.Value(speed / impl_->max_speed, ChokePlace(speed).beta);
  return {top[0], PressureRatioOf(top[1])};
}

MapPlace CompressorSurface::ChokePlace(double speed) const {
  const double n = speed / impl_->max_speed;
  if (impl_->table.one_way_flow()) return {speed, 1.0};
  const TableJet jet = impl_->table.At(n, 1.0);
  if (jet.by_beta[0] >= 0.0) return {speed, 1.0};
  // A line that bends back: its largest flow lies before its end.
  double best_beta = 1.0, best = jet.value[0];
  for (int k = 0; k <= 40; ++k) {
    const double beta = k / 40.0, flow = impl_->table.Value(n, beta)[0];
    if (flow > best) best = flow, best_beta = beta;
  }
  double low = std::max(best_beta - 0.025, 0.0), high = std::min(best_beta + 0.025, 1.0);
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    (impl_->table.At(n, middle).by_beta[0] > 0.0 ? low : high) = middle;
  }
  return {speed, 0.5 * (low + high)};
}

std::optional<double> CompressorSurface::SurgePressureRatioAtFlow(double flow) const {
  const std::optional<double> head = impl_->edge.surge().HeadAt(flow);
  if (!head) return std::nullopt;
  return PressureRatioOf(*head);
}

std::optional<double> CompressorSurface::SurgeFlowAtPressureRatio(double pressure_ratio) const {
  if (!(pressure_ratio > 0.0)) return std::nullopt;
  return impl_->edge.surge().FlowWithin(HeadOf(pressure_ratio));
}

std::optional<double> CompressorSurface::SurgeFlowByPressureRatio(double pressure_ratio) const {
  if (!SurgeFlowAtPressureRatio(pressure_ratio)) return std::nullopt;
  const double head = HeadOf(pressure_ratio);
  return impl_->edge.surge().FlowSlope(head) / PressureRatioByHead(head);
}

double CompressorSurface::SurgeFlowSigma() const { return impl_->surge_flow_sigma; }

}  // namespace islebook
