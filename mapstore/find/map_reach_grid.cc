#include "mapstore/find/map_reach_grid.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <utility>

#include "mapstore/query/compressor_query.h"
#include "mapstore/query/left_edge.h"
#include "mapstore/surface/packed_bytes.h"
#include "mapstore/units/correction.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr int kBands = 8;
constexpr int kRows = 4;      // of a band, its two sides included
constexpr int kColumns = 11;  // from the surge side to the choke side
constexpr std::uint16_t kNotKnown = 0xffff;
constexpr std::uint8_t kGridVersion = 3;

template <typename T>
T Get(std::string_view bytes, std::size_t at) {
  T value;
  std::memcpy(&value, bytes.data() + at, sizeof(T));
  return value;
}

std::uint16_t Pack(const std::optional<double>& value, double offset, double scale) {
  if (!value || !std::isfinite(*value)) return kNotKnown;
  return static_cast<std::uint16_t>(std::clamp(std::round((*value + offset) * scale), 0.0, 65534.0));
}

constexpr double kEfficiencyScale = 60000.0;
constexpr double kBesideKnown = 0.02;                          // how much more an efficiency may be than those known beside it
constexpr double kMarginOffset = 0.5, kMarginScale = 10000.0;  // -0.5 to 6

struct Row {
  float left = 0, right = 0;
  std::array<std::uint16_t, kColumns> efficiency{}, margin{};
};

// One band as it is written: version, span, errors, how far off the sides may be between two rows, rows.
struct Grid {
  float low = 0, high = 0;
  float efficiency_error = 0, margin_error = 0, edge_efficiency_error = 0;
  std::array<float, kRows - 1> left_slack{}, right_slack{};
  std::array<Row, kRows> rows;
};
constexpr std::size_t kRowBytes = 2 * sizeof(float) + 2 * kColumns * sizeof(std::uint16_t);
constexpr std::size_t kSlackAt = 1 + 5 * sizeof(float);
constexpr std::size_t kHeadBytes = kSlackAt + 2 * (kRows - 1) * sizeof(float);
constexpr std::size_t kGridBytes = kHeadBytes + kRows * kRowBytes;

std::string Write(const Grid& grid) {
  PackedWriter to;
  to.bytes().reserve(kGridBytes);
  to.Put(kGridVersion);
  for (const float value : {grid.low, grid.high, grid.efficiency_error, grid.margin_error, grid.edge_efficiency_error}) to.Put(value);
  for (const auto* slack : {&grid.left_slack, &grid.right_slack})
    for (const float value : *slack) to.Put(value);
  for (const Row& row : grid.rows) {
    to.Put(row.left);
    to.Put(row.right);
    for (const std::uint16_t value : row.efficiency) to.Put(value);
    for (const std::uint16_t value : row.margin) to.Put(value);
  }
  return std::move(to.bytes());
}

Row ReadRow(std::string_view grid, std::size_t row) {
  const std::size_t at = kHeadBytes + row * kRowBytes;
  Row out;
  out.left = Get<float>(grid, at);
  out.right = Get<float>(grid, at + sizeof(float));
  std::memcpy(out.efficiency.data(), grid.data() + at + 2 * sizeof(float), kColumns * sizeof(std::uint16_t));
  std::memcpy(out.margin.data(), grid.data() + at + 2 * sizeof(float) + kColumns * sizeof(std::uint16_t), kColumns * sizeof(std::uint16_t));
  return out;
}

// The flows between which the map covers a pressure ratio, its own units.
std::optional<std::pair<double, double>> SpanAt(const CompressorQuery& query, double pressure_ratio, double flow_min, double flow_max, int looks) {
  const auto inside = [&](double flow) { return query.AtFlowAndPressureRatio(flow, pressure_ratio).inside; };
  const auto flow_of = [&](int i) { return flow_min + (flow_max - flow_min) * (i + 0.5) / looks; };
  int first = -1, last = -1;
  for (int i = 0; i < looks; ++i) {
    if (!inside(flow_of(i))) continue;
    if (first < 0) first = i;
    last = i;
  }
  if (first < 0) return std::nullopt;
  const auto edge = [&](double in, double out) {
    for (int i = 0; i < 14; ++i) {
      const double middle = 0.5 * (in + out);
      (inside(middle) ? in : out) = middle;
    }
    return in;
  };
  return std::pair(edge(flow_of(first), std::max(0.0, flow_of(first - 1))), edge(flow_of(last), flow_of(last + 1)));
}

// The sides at a part of the way from one row to the next; where only one of them covers anything, its sides.
std::optional<std::pair<double, double>> SidesBetween(const Row& a, const Row& b, double part) {
  const bool a_covers = a.right > a.left, b_covers = b.right > b.left;
  if (!a_covers && !b_covers) return std::nullopt;
  if (!a_covers) return std::pair<double, double>(b.left, b.right);
  if (!b_covers) return std::pair<double, double>(a.left, a.right);
  return std::pair(a.left + (b.left - a.left) * part, a.right + (b.right - a.right) * part);
}

constexpr CompressorQueryOptions kQueryOptions{SurgeMargin::kConstantSpeed, false};
constexpr int kOutlineLevels = 8;
constexpr std::size_t kOutlineBytes = 1 + (2 * kOutlineLevels + 3) * sizeof(float);

}  // namespace

Result<double> StandardFlowFactor(const PerformanceMap& map) {
  const ReferenceConditions standard{288.15, 101325.0, ReferenceConditions::Basis::kAssumed};
  const ReferenceConditions own = map.reference_conditions.value_or(standard);
  for (const std::optional<Axis>* axis : {&map.x, &map.y}) {
    if (!*axis) continue;
    const Axis& flow = **axis;
    if (flow.quantity == Quantity::kCorrectedMassFlow) {
      const Result<double> si = ConvertValue(1.0, flow.unit, "kg/s");
      if (!si) return std::unexpected(si.error());
      return ChangeReference(CorrectedMassFlow::KilogramsPerSecond(*si), own, standard).kilograms_per_second();
    }
    if (flow.quantity == Quantity::kCorrectedVolumeFlow) {
      const Result<double> si = ConvertValue(1.0, flow.unit, "m3/s");
      if (!si) return std::unexpected(si.error());
      return ChangeReference(ToMassFlow(CorrectedVolumeFlow::CubicMetersPerSecond(*si), own), own, standard).kilograms_per_second();
    }
  }
  return Fail(ErrorCode::kWrongKind, "the map has no flow axis.");
}

std::int64_t ReachVersion() { return kGridVersion * 1000 + CompressorSurface::kPackedVersion; }

Result<KeptMap> MakeKeptMap(const PerformanceMap& map) {
  if (map.kind != MapKind::kCompressor) return Fail(ErrorCode::kWrongKind, "this is no compressor map.");
  const Result<double> factor = StandardFlowFactor(map);
  if (!factor) return std::unexpected(factor.error());
  if (!(*factor > 0.0)) return Fail(ErrorCode::kWrongKind, "the map's flow cannot be brought to the standard day.");
  Result<CompressorSurface> surface = CompressorSurface::Build(map);
  if (!surface) return std::unexpected(surface.error());
  KeptMap kept;
  kept.query = std::make_unique<CompressorQuery>(std::move(*surface), kQueryOptions);
  kept.factor = *factor;
  for (const std::optional<Axis>* axis : {&map.x, &map.y})
    kept.total_to_static = kept.total_to_static || (*axis && (*axis)->quantity == Quantity::kPressureRatioTotalToStatic);
  kept.reference_assumed = !map.reference_conditions || map.reference_conditions->basis == ReferenceConditions::Basis::kAssumed;
  return kept;
}

std::optional<KeptMap> OpenKeptMap(std::string_view bytes) {
  constexpr std::size_t kHead = 1 + sizeof(double) + 1, kSum = sizeof(std::uint64_t);
  if (bytes.size() < kHead + kSum) return std::nullopt;
  const std::uint64_t sum = PackedReader(bytes.substr(bytes.size() - kSum)).Get<std::uint64_t>();
  bytes.remove_suffix(kSum);
  if (sum != SumOf(bytes)) return std::nullopt;
  PackedReader head(bytes.substr(0, kHead));
  if (head.Get<std::uint8_t>() != kGridVersion) return std::nullopt;
  KeptMap kept;
  kept.factor = head.Get<double>();
  const int flags = head.Get<std::uint8_t>();
  std::optional<CompressorSurface> surface = CompressorSurface::Unpack(bytes.substr(kHead));
  if (!head.good() || !(kept.factor > 0.0) || !surface) return std::nullopt;
  kept.total_to_static = (flags & 1) != 0;
  kept.reference_assumed = (flags & 2) != 0;
  kept.query = std::make_unique<CompressorQuery>(std::move(*surface), kQueryOptions);
  return kept;
}

ReachEntry MakeReachEntry(const std::string& name, const std::string& revision, const PerformanceMap& map) {
  ReachEntry entry;
  entry.name = name;
  entry.revision = revision;
  entry.version = ReachVersion();
  const Result<KeptMap> kept = MakeKeptMap(map);
  if (!kept) return entry;
  const CompressorQuery& query = *kept->query;
  const double factor = kept->factor;

  double flow_min = 1e300, flow_max = 0.0, ratio_min = 1e300, ratio_max = 0.0;
  for (const EdgePoint& p : query.surface().Outline()) {
    if (!std::isfinite(p.flow) || !std::isfinite(p.pressure_ratio)) return entry;
    flow_min = std::min(flow_min, p.flow);
    flow_max = std::max(flow_max, p.flow);
    ratio_min = std::min(ratio_min, p.pressure_ratio);
    ratio_max = std::max(ratio_max, p.pressure_ratio);
  }
  if (!(flow_max > flow_min) || !(ratio_max > ratio_min)) return entry;

  double peak_efficiency = 0.0;
  std::vector<std::pair<float, float>> sides;
  for (int b = 0; b < kBands; ++b) {
    const double low = ratio_min + (ratio_max - ratio_min) * b / kBands, high = ratio_min + (ratio_max - ratio_min) * (b + 1) / kBands;
    const double edge = 0.002 * (ratio_max - ratio_min);  // the very lowest and highest points are corners; a row just inside says more
    ReachBand band;
    band.flow_min = 1e300;
    Grid grid;
    grid.low = static_cast<float>(low);
    grid.high = static_cast<float>(high);
    bool covers = false;
    const auto widen = [&](double left, double right) {
      covers = true;
      band.flow_min = std::min(band.flow_min, left);
      band.flow_max = std::max(band.flow_max, right);
    };
    for (std::size_t r = 0; r < kRows; ++r) {
      const double ratio = std::clamp(low + (high - low) * static_cast<double>(r) / (kRows - 1), ratio_min + edge, ratio_max - edge);
      const auto span = SpanAt(query, ratio, flow_min, flow_max, 32);
      const double left = span ? span->first : 0.0, right = span ? span->second : 0.0;
      Row& row = grid.rows[r];
      row.left = static_cast<float>(left * factor);
      row.right = static_cast<float>(right * factor);
      if (r == 0) sides.emplace_back(row.left, row.right);
      for (std::size_t k = 0; k < kColumns; ++k) {
        row.efficiency[k] = row.margin[k] = kNotKnown;
        if (!span) continue;
        const CompressorAnswer answer = query.AtFlowAndPressureRatio(left + (right - left) * static_cast<double>(k) / (kColumns - 1), ratio);
        if (!answer.inside) continue;
        // What is left open is not known either.
        const std::optional<double> margin = LeftEdgeIsDoubtful(answer, query.surface()) ? std::nullopt : answer.surge_margin;
        row.efficiency[k] = Pack(answer.efficiency, 0.0, kEfficiencyScale);
        row.margin[k] = Pack(margin, kMarginOffset, kMarginScale);
        band.efficiency_max = std::max(band.efficiency_max, answer.efficiency.value_or(0.0));
        // A margin that is not known may be any.
        band.surge_margin_max = std::max(band.surge_margin_max, margin.value_or(1e6));
      }
      if (span) widen(left * factor, right * factor);
    }
    // Between the rows: how far the sides are off, then how far the values are.
    for (std::size_t r = 0; r + 1 < kRows; ++r)
      for (const double part : {0.2, 0.5, 0.8}) {
        const double ratio = low + (high - low) * (static_cast<double>(r) + part) / (kRows - 1);
        const auto sides_at = SidesBetween(grid.rows[r], grid.rows[r + 1], part);
        std::optional<std::pair<double, double>> span;
        if (sides_at) {  // near where it is looked for
          const double left = sides_at->first / factor, right = sides_at->second / factor, around = 0.15 * (right - left);
          span = SpanAt(query, ratio, std::max(0.0, left - around), right + around, 13);
        }
        if (!span) span = SpanAt(query, ratio, flow_min, flow_max, 32);
        if (!span) continue;
        const double left = span->first * factor, right = span->second * factor;
        widen(left, right);
        const double width = right - left;
        const double left_off = sides_at ? std::abs(sides_at->first - left) : width,
                     right_off = sides_at ? std::abs(sides_at->second - right) : width;
        grid.left_slack[r] = std::max(grid.left_slack[r], static_cast<float>(2.0 * left_off + 0.015 * width));
        grid.right_slack[r] = std::max(grid.right_slack[r], static_cast<float>(2.0 * right_off + 0.015 * width));
      }
    if (!covers) continue;
    // Looked into between its points: nothing that the map covers may be missed, and how far the values are off is measured.
    double efficiency_error = 0.0, margin_error = 0.0, edge_error = 0.0;
    for (int round = 0; round < 4; ++round) {
      const std::string draft = Write(grid);
      bool missed = false;
      efficiency_error = margin_error = edge_error = 0.0;
      for (std::size_t r = 0; r + 1 < kRows; ++r)
        for (const double part : {0.04, 0.2, 0.5, 0.8, 0.96}) {
          const double ratio = low + (high - low) * (static_cast<double>(r) + part) / (kRows - 1);
          for (int k = 0; k < 2 * (kColumns - 1); ++k) {
            const double flow = band.flow_min + (band.flow_max - band.flow_min) * (k + 0.37) / (2 * (kColumns - 1));
            const CompressorAnswer answer = query.AtFlowAndPressureRatio(flow / factor, ratio);
            if (!answer.inside) continue;
            const auto looked = LookInto(draft, flow, ratio);
            if (!looked) {
              const auto sides_at = SidesBetween(grid.rows[r], grid.rows[r + 1], part);
              const double width = band.flow_max - band.flow_min;
              const double left = sides_at ? std::max(sides_at->first - flow, 0.0) : width,
                           right = sides_at ? std::max(flow - sides_at->second, 0.0) : width;
              grid.left_slack[r] = std::max(grid.left_slack[r], static_cast<float>(1.5 * left + 0.01 * width));
              grid.right_slack[r] = std::max(grid.right_slack[r], static_cast<float>(1.5 * right + 0.01 * width));
              missed = true;
              continue;
            }
            if (looked->efficiency && answer.efficiency) {
              double& error = looked->near_edge ? edge_error : efficiency_error;
              error = std::max(error, std::abs(*looked->efficiency - *answer.efficiency));
            }
            if (!looked->near_edge && looked->surge_margin && answer.surge_margin)
              margin_error = std::max(margin_error, std::abs(*looked->surge_margin - *answer.surge_margin));
          }
        }
      if (!missed) break;
    }
    grid.efficiency_error = static_cast<float>(1.5 * efficiency_error + 0.001);
    grid.margin_error = static_cast<float>(1.5 * margin_error + 0.002);
    grid.edge_efficiency_error = static_cast<float>(std::max(1.5 * edge_error, 1.5 * efficiency_error) + 0.01);
    peak_efficiency = std::max(peak_efficiency, band.efficiency_max);
    const double slack = 0.02 * (band.flow_max - band.flow_min);
    band.flow_min -= slack;
    band.flow_max += slack;
    band.pressure_ratio_min = low;
    band.pressure_ratio_max = high;
    if (band.efficiency_max > 0.0) band.efficiency_max += std::max(2.0F * grid.efficiency_error, 0.01F);
    band.surge_margin_max += 2.0 * grid.margin_error;
    band.grid = Write(grid);
    entry.bands.push_back(std::move(band));
  }
  if (entry.bands.empty()) return entry;
  PackedWriter outline;
  outline.Put(kGridVersion);
  for (const double value : {ratio_min, ratio_max, peak_efficiency}) outline.Put(static_cast<float>(value));
  for (const auto& [left, right] : sides) {
    outline.Put(left);
    outline.Put(right);
  }
  entry.outline = std::move(outline.bytes());
  PackedWriter kept_map;
  kept_map.Put(kGridVersion);
  kept_map.Put(factor);
  kept_map.Put(static_cast<std::uint8_t>((kept->total_to_static ? 1 : 0) | (kept->reference_assumed ? 2 : 0)));
  kept_map.bytes() += query.surface().Pack();
  kept_map.Put(SumOf(kept_map.bytes()));
  entry.kept = std::move(kept_map.bytes());
  return entry;
}

std::optional<GridAnswer> LookInto(std::string_view grid, double flow, double pressure_ratio) {
  if (grid.size() != kGridBytes || Get<std::uint8_t>(grid, 0) != kGridVersion) return std::nullopt;
  const double low = Get<float>(grid, 1), high = Get<float>(grid, 1 + sizeof(float));
  if (!(high > low)) return std::nullopt;
  const double place = std::clamp((pressure_ratio - low) / (high - low), 0.0, 1.0) * (kRows - 1);
  const auto below = static_cast<std::size_t>(std::min(static_cast<int>(place), kRows - 2));
  const double part = place - static_cast<double>(below);
  const Row a = ReadRow(grid, below), b = ReadRow(grid, below + 1);
  const bool a_covers = a.right > a.left, b_covers = b.right > b.left;
  const auto sides = SidesBetween(a, b, part);
  const double left_slack = Get<float>(grid, kSlackAt + below * sizeof(float)),
               right_slack = Get<float>(grid, kSlackAt + (kRows - 1 + below) * sizeof(float));
  GridAnswer answer;
  if (!sides) {
    // The map reaches in between two rows that it does not cover, if it is here at all.
    if (!(left_slack > 0.0)) return std::nullopt;
    answer.near_edge = true;
    return answer;
  }
  const auto [left, right] = *sides;
  if (flow < left - left_slack || flow > right + right_slack) return std::nullopt;
  answer.near_edge = !a_covers || !b_covers || flow < left + left_slack || flow > right - right_slack;
  answer.efficiency_error = Get<float>(grid, 1 + (answer.near_edge ? 4 : 2) * sizeof(float));
  answer.surge_margin_error = Get<float>(grid, 1 + 3 * sizeof(float));
  const double u = (flow - left) / (right - left);

  // Across by a parabola through the three nearest columns, so that the crest of efficiency is not cut off; from row to row straight.
  const double column = std::clamp(u, 0.0, 1.0) * (kColumns - 1);
  const int middle = std::clamp(static_cast<int>(std::lround(column)), 1, kColumns - 2);
  const double t = column - middle;
  const double weights[3] = {0.5 * t * (t - 1.0), 1.0 - t * t, 0.5 * t * (t + 1.0)};
  const auto read = [&](const std::array<std::uint16_t, kColumns> Row::* values, double offset, double scale) -> std::optional<double> {
    double sum = 0.0;
    for (const auto& [row, share, covers] : {std::tuple(&a, 1.0 - part, a_covers), std::tuple(&b, part, b_covers)}) {
      if (!covers) continue;
      for (int k = 0; k < 3; ++k) {
        const std::uint16_t value = (row->*values)[static_cast<std::size_t>(middle - 1 + k)];
        if (value == kNotKnown) return std::nullopt;
        sum += (a_covers && b_covers ? share : 1.0) * weights[k] * (value / scale - offset);
      }
    }
    return sum;
  };
  answer.efficiency = read(&Row::efficiency, 0.0, kEfficiencyScale);
  if (!answer.efficiency) {
    for (const Row* row : {&a, &b})
      for (int k = 0; k < 3; ++k) {
        const std::uint16_t value = row->efficiency[static_cast<std::size_t>(middle - 1 + k)];
        if (value == kNotKnown) continue;
        answer.efficiency_at_most =
            std::max(answer.efficiency_at_most.value_or(0.0), value / kEfficiencyScale + answer.efficiency_error + kBesideKnown);
      }
  }
  answer.surge_margin = read(&Row::margin, kMarginOffset, kMarginScale);
  return answer;
}

double OutlineDifference::Whole() const {
  const double efficiency = 5.0 * peak_efficiency.value_or(0.0);  // a point of efficiency counts as five per cent of flow
  return std::sqrt(flow * flow + pressure_ratio * pressure_ratio + efficiency * efficiency);
}

std::optional<OutlineDifference> CompareOutlines(std::string_view a, std::string_view b) {
  for (const std::string_view outline : {a, b})
    if (outline.size() != kOutlineBytes || Get<std::uint8_t>(outline, 0) != kGridVersion) return std::nullopt;
  const auto at = [](std::string_view outline, std::size_t i) { return static_cast<double>(Get<float>(outline, 1 + i * sizeof(float))); };
  OutlineDifference difference;
  double sum = 0.0;
  int count = 0;
  for (std::size_t level = 0; level < kOutlineLevels; ++level)
    for (std::size_t side = 0; side < 2; ++side) {
      const double x = at(a, 3 + 2 * level + side), y = at(b, 3 + 2 * level + side);
      if (!(x > 0.0) || !(y > 0.0)) continue;
      const double ratio = std::log(x / y);
      sum += ratio * ratio;
      ++count;
    }
  if (count == 0 || !(at(a, 1) > 1.0) || !(at(b, 1) > 1.0)) return std::nullopt;
  difference.flow = std::sqrt(sum / count);
  difference.pressure_ratio = std::abs(std::log((at(a, 1) - 1.0) / (at(b, 1) - 1.0)));
  if (at(a, 2) > 0.0 && at(b, 2) > 0.0) difference.peak_efficiency = std::abs(at(a, 2) - at(b, 2));
  return difference;
}

}  // namespace islebook
