#include "mapstore/find/find_maps.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <unordered_map>
#include <unordered_set>

#include <fmt/format.h>

#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/map_document.h"
#include "mapstore/query/compressor_query.h"

namespace islebook {
namespace {

constexpr std::int64_t kPortion = 64;  // index entries written at a time
constexpr std::size_t kSurfacesKept = 256;
constexpr double kNearEdgeError = 0.02;  // of an efficiency that the index takes from beside the map's edge

template <typename T>
std::unexpected<Error> Pass(const Result<T>& failed) {
  return std::unexpected(failed.error());
}

// What the index says about one map, gathered over the points.
struct Estimate {
  std::int64_t map = 0;
  std::size_t points = 0;  // covered so far
  double margin = 1e300, efficiency = 1e300, efficiency_sum = 0.0;
  double efficiency_error = 0.0;  // of the sum
  bool efficiency_known = true;
  bool sure = true;  // well inside everywhere and clear of both limits
};

bool Better(bool known_a, double efficiency_a, double margin_a, bool known_b, double efficiency_b, double margin_b) {
  if (known_a != known_b) return known_a;
  if (known_a && efficiency_a != efficiency_b) return efficiency_a > efficiency_b;
  return margin_a > margin_b;
}

}  // namespace

Result<void> CapabilityOptions::Check() const {
  if (points.empty()) return Fail(ErrorCode::kInvalidArgument, "give at least one operating point.");
  if (points.size() > 10000) return Fail(ErrorCode::kInvalidArgument, "a line has at most 10,000 points.");
  for (const JobPoint& point : points)
    if (!(point.flow > 0.0 && point.flow < 1e6) || !(point.pressure_ratio > 0.0 && point.pressure_ratio < 1000.0))
      return Fail(ErrorCode::kInvalidArgument, "flow and pressure ratio of a point are positive numbers.");
  if (!(surge_margin > -1.0 && surge_margin < 10.0))
    return Fail(ErrorCode::kInvalidArgument, "a surge margin is a fraction or in per cent, such as 0.15 or 15 %.");
  if (efficiency && !(*efficiency > 0.0 && *efficiency < 1.0))
    return Fail(ErrorCode::kInvalidArgument, "an efficiency is a fraction or in per cent, such as 0.72 or 72 %.");
  if (limit < 1) return Fail(ErrorCode::kInvalidArgument, "the number of maps to find must be at least 1.");
  return {};
}

struct MapFinder::Asked {
  std::unique_ptr<CompressorQuery> query;  // null: the map cannot be asked
  double factor = 1.0;                     // printed flow to kg/s
  bool total_to_static = false;
  bool reference_assumed = false;
};

struct MapFinder::Memory {
  std::unordered_map<std::string, Asked> asked;  // by revision
};

MapFinder::MapFinder(Shelf& shelf) : shelf_(shelf), memory_(std::make_unique<Memory>()) {}
MapFinder::~MapFinder() = default;

Result<std::int64_t> MapFinder::UpdateIndex(const std::function<bool(double)>& progress) {
  std::int64_t made = 0;
  const Result<std::vector<std::string>> all = shelf_.ReachDue(1000000000);
  if (!all) return Pass(all);
  for (std::size_t from = 0; from < all->size(); from += static_cast<std::size_t>(kPortion)) {
    if (progress && !progress(static_cast<double>(from) / static_cast<double>(all->size())))
      return Fail(ErrorCode::kCancelled, "the index is not finished; it goes on next time.");
    std::vector<ReachEntry> entries;
    for (std::size_t i = from; i < std::min(all->size(), from + static_cast<std::size_t>(kPortion)); ++i) {
      const Result<ShownRevision> shown = shelf_.Show((*all)[i]);
      if (!shown) {
        if (shown.error().code == ErrorCode::kNotFound || shown.error().code == ErrorCode::kShelfDamaged) continue;  // verify speaks of damage
        return Pass(shown);
      }
      const Result<PerformanceMap> map = ParseMapDocument(shown->document);
      entries.push_back(map ? MakeReachEntry(shown->name, shown->revision.id, *map) : ReachEntry{shown->name, shown->revision.id, {}, {}});
    }
    if (const Result<void> set = shelf_.SetReach(entries); !set) return Pass(set);
    made += static_cast<std::int64_t>(entries.size());
  }
  return made;
}

Result<const MapFinder::Asked*> MapFinder::Ask(const std::string& name, const std::string& revision) {
  if (const auto known = memory_->asked.find(revision); known != memory_->asked.end()) return &known->second;
  const Result<ShownRevision> shown = shelf_.ShowRevision(revision);
  if (!shown) return Pass(shown);
  const Result<PerformanceMap> map = ParseMapDocument(shown->document);
  if (!map) return Fail(map.error().code, map.error().message, name);
  if (memory_->asked.size() >= kSurfacesKept) memory_->asked.clear();
  Asked asked;
  const Result<double> factor = StandardFlowFactor(*map);
  Result<CompressorSurface> surface = CompressorSurface::Build(*map, {.estimate_sigma = false});
  if (factor && surface) {
    asked.query = std::make_unique<CompressorQuery>(std::move(*surface), CompressorQueryOptions{SurgeMargin::kConstantSpeed, false});
    asked.factor = *factor;
    for (const std::optional<Axis>* axis : {&map->x, &map->y})
      asked.total_to_static = asked.total_to_static || (*axis && (*axis)->quantity == Quantity::kPressureRatioTotalToStatic);
    asked.reference_assumed = !map->reference_conditions || map->reference_conditions->basis == ReferenceConditions::Basis::kAssumed;
  }
  return &memory_->asked.emplace(revision, std::move(asked)).first->second;
}

Result<CapableMaps> MapFinder::FindCapable(const CapabilityOptions& options) {
  if (const Result<void> good = options.Check(); !good) return Pass(good);
  CapableMaps found;
  const Result<std::vector<std::string>> due = shelf_.ReachDue(1000000000);
  if (!due) return Pass(due);
  found.not_searched = static_cast<std::int64_t>(due->size());

  const double wanted_efficiency = options.efficiency.value_or(0.0);
  std::unordered_map<std::int64_t, Estimate> estimates;
  for (std::size_t i = 0; i < options.points.size(); ++i) {
    const JobPoint& point = options.points[i];
    const Result<void> looked = shelf_.ReachAt(
        point.flow, point.pressure_ratio, options.efficiency ? wanted_efficiency : -1.0, options.surge_margin, [&](const ReachHit& hit) {
          auto known = estimates.find(hit.map);
          if (i > 0 && (known == estimates.end() || known->second.points < i)) return true;
          if (known != estimates.end() && known->second.points > i) return true;  // the point lies on the line between two bands
          const std::optional<GridAnswer> answer = LookInto(hit.bytes, point.flow, point.pressure_ratio);
          if (!answer) return true;
          const bool margin_fits =
              !answer->surge_margin || answer->near_edge || *answer->surge_margin >= options.surge_margin - answer->surge_margin_error;
          const bool efficiency_fits = !options.efficiency || answer->near_edge ||
                                       (answer->efficiency && *answer->efficiency >= wanted_efficiency - answer->efficiency_error) ||
                                       (answer->efficiency_at_most && *answer->efficiency_at_most >= wanted_efficiency);
          if (!margin_fits || !efficiency_fits) return true;
          Estimate& estimate = estimates[hit.map];
          estimate.map = hit.map;
          estimate.points = i + 1;
          estimate.margin = std::min(estimate.margin, answer->surge_margin.value_or(0.0));
          if (answer->efficiency) {
            estimate.efficiency = std::min(estimate.efficiency, *answer->efficiency);
            estimate.efficiency_sum += *answer->efficiency;
            estimate.efficiency_error += answer->near_edge ? kNearEdgeError : answer->efficiency_error;
          } else if (answer->efficiency_at_most) {
            estimate.efficiency = 0.0;
            estimate.efficiency_sum += *answer->efficiency_at_most;
          } else {
            estimate.efficiency_known = false;
          }
          if (answer->near_edge || !answer->surge_margin || *answer->surge_margin < options.surge_margin + answer->surge_margin_error ||
              (options.efficiency && (!answer->efficiency || *answer->efficiency < wanted_efficiency + answer->efficiency_error)))
            estimate.sure = false;
          return true;
        });
    if (!looked) return Pass(looked);
  }
  std::vector<Estimate> ranked;
  for (const auto& [map, estimate] : estimates)
    if (estimate.points == options.points.size()) ranked.push_back(estimate);
  const double count = static_cast<double>(options.points.size());
  // By the best that each can be: so those that turn out to be the best are asked before any that cannot be.
  const double hope = options.ask_maps ? 1.0 : 0.0;
  std::sort(ranked.begin(), ranked.end(), [&](const Estimate& a, const Estimate& b) {
    const double best_a = a.efficiency_sum + hope * a.efficiency_error, best_b = b.efficiency_sum + hope * b.efficiency_error;
    if (Better(a.efficiency_known, best_a, a.margin, b.efficiency_known, best_b, b.margin)) return true;
    if (Better(b.efficiency_known, best_b, b.margin, a.efficiency_known, best_a, a.margin)) return false;
    return a.map < b.map;
  });

  const std::unordered_set<std::string> among =
      options.among ? std::unordered_set<std::string>(options.among->begin(), options.among->end()) : std::unordered_set<std::string>{};
  // In a crowd of near equals no more than this many are asked for each one that is wanted; their order is then right to the index's error.
  constexpr std::size_t kAskedForEach = 3, kAskedAtLeast = 12;
  const auto wanted = static_cast<std::size_t>(options.limit);
  std::vector<double> best;  // means of those asked, best first
  std::size_t asked_so_far = 0;
  for (const Estimate& estimate : ranked) {
    bool enough = found.maps.size() >= wanted;
    if (enough && options.ask_maps) {
      const bool cannot_be_better =
          best.size() >= wanted && (!estimate.efficiency_known || best[wanted - 1] >= (estimate.efficiency_sum + estimate.efficiency_error) / count);
      enough = cannot_be_better || asked_so_far >= std::max(kAskedAtLeast, kAskedForEach * wanted);
    }
    if (enough && !options.among) {
      ++found.more;
      continue;
    }
    const Result<ReachName> name = shelf_.ReachNameOf(estimate.map);
    if (!name) {
      if (name.error().code == ErrorCode::kNotFound) continue;
      return Pass(name);
    }
    if (options.among && !among.contains(name->name)) continue;
    if (enough) {
      ++found.more;
      continue;
    }
    CapableMap map;
    map.name = name->name;
    map.revision = name->revision;
    if (!options.ask_maps) {
      map.least_surge_margin = estimate.margin;
      if (estimate.efficiency_known) {
        if (estimate.efficiency > 0.0) map.least_efficiency = estimate.efficiency;
        if (estimate.efficiency > 0.0) map.mean_efficiency = estimate.efficiency_sum / count;
      }
      map.from_index = true;
      if (!estimate.sure) map.doubts.emplace_back("The point is so near a limit that only the map itself can tell.");
      found.maps.push_back(std::move(map));
      continue;
    }
    ++asked_so_far;
    const Result<const Asked*> asked = Ask(name->name, name->revision);
    if (!asked) return Pass(asked);
    if ((*asked)->query == nullptr) continue;
    map.total_to_static = (*asked)->total_to_static;
    map.reference_assumed = (*asked)->reference_assumed;
    bool fits = true;
    double margin = 1e300, efficiency = 1e300, sum = 0.0;
    bool efficiency_known = true;
    std::uint32_t doubts = kNoDoubt;
    CompressorAnswer doubtful;
    for (const JobPoint& point : options.points) {
      const CompressorAnswer answer = (*asked)->query->AtFlowAndPressureRatio(point.flow / (*asked)->factor, point.pressure_ratio);
      fits = answer.inside && answer.surge_margin && *answer.surge_margin >= options.surge_margin &&
             (!options.efficiency || (answer.efficiency && *answer.efficiency >= wanted_efficiency));
      if (!fits) break;
      margin = std::min(margin, *answer.surge_margin);
      if (answer.efficiency) {
        efficiency = std::min(efficiency, *answer.efficiency);
        sum += *answer.efficiency;
      } else {
        efficiency_known = false;
      }
      if ((answer.doubts & ~doubts) != 0) {
        doubts |= answer.doubts;
        map.doubts.push_back(DoubtWords(answer, (*asked)->query->surface()));
      }
    }
    if (!fits) continue;
    std::sort(map.doubts.begin(), map.doubts.end());
    map.doubts.erase(std::unique(map.doubts.begin(), map.doubts.end()), map.doubts.end());
    map.least_surge_margin = margin;
    if (efficiency_known) {
      map.least_efficiency = efficiency;
      map.mean_efficiency = sum / count;
      best.insert(std::upper_bound(best.begin(), best.end(), sum / count, std::greater<>()), sum / count);
    }
    found.maps.push_back(std::move(map));
  }
  std::stable_sort(found.maps.begin(), found.maps.end(), [](const CapableMap& a, const CapableMap& b) {
    return Better(a.mean_efficiency.has_value(), a.mean_efficiency.value_or(0.0), a.least_surge_margin, b.mean_efficiency.has_value(),
                  b.mean_efficiency.value_or(0.0), b.least_surge_margin);
  });
  if (found.maps.size() > static_cast<std::size_t>(options.limit)) {
    found.more += static_cast<std::int64_t>(found.maps.size()) - options.limit;
    found.maps.resize(static_cast<std::size_t>(options.limit));
  }
  return found;
}

Result<std::vector<LikeMap>> MapFinder::FindLike(const std::string& name, int limit) {
  if (limit < 1) return Fail(ErrorCode::kInvalidArgument, "the number of maps to find must be at least 1.");
  const Result<ShownRevision> shown = shelf_.Show(name);
  if (!shown) return Pass(shown);
  const Result<PerformanceMap> map = ParseMapDocument(shown->document);
  if (!map) return Pass(map);
  const ReachEntry own = MakeReachEntry(shown->name, shown->revision.id, *map);
  if (own.outline.empty())
    return Fail(ErrorCode::kWrongKind, "only a compressor map with at least two labeled speed lines has others like it.", name);
  std::vector<std::pair<double, std::pair<std::int64_t, OutlineDifference>>> ranked;
  const Result<void> looked = shelf_.ReachOutlines([&](const ReachHit& hit) {
    if (const auto difference = CompareOutlines(own.outline, hit.bytes)) ranked.push_back({difference->Whole(), {hit.map, *difference}});
    return true;
  });
  if (!looked) return Pass(looked);
  std::sort(ranked.begin(), ranked.end(),
            [](const auto& a, const auto& b) { return std::tie(a.first, a.second.first) < std::tie(b.first, b.second.first); });
  std::vector<LikeMap> like;
  for (const auto& [whole, entry] : ranked) {
    if (like.size() >= static_cast<std::size_t>(limit)) break;
    const Result<ReachName> reach = shelf_.ReachNameOf(entry.first);
    if (!reach) continue;
    if (reach->name == shown->name) continue;
    like.push_back({reach->name, reach->revision, entry.second.flow, entry.second.pressure_ratio, entry.second.peak_efficiency});
  }
  return like;
}

}  // namespace islebook
