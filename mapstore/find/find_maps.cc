#include "mapstore/find/find_maps.h"

#include <algorithm>
#include <cmath>
#include <unordered_map>
#include <unordered_set>

#include <fmt/format.h>

#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/map_document.h"
#include "mapstore/query/compressor_query.h"
#include "mapstore/query/left_edge.h"

namespace islebook {
namespace {

constexpr std::int64_t kPortion = 64;  // index entries written at a time
constexpr std::size_t kSurfacesKept = 256;

template <typename T>
std::unexpected<Error> Pass(const Result<T>& failed) {
  return std::unexpected(failed.error());
}

// What the index says about one map, gathered over the points.
struct Estimate {
  std::int64_t map = 0;
  std::size_t points = 0;  // covered so far
  double margin = 1e300, efficiency = 1e300, efficiency_sum = 0.0;
  double best_margin = 1e300, best_efficiency_sum = 0.0;  // the best that they can be
  bool efficiency_known = true, efficiency_possible = true;
  bool sure = true;  // well inside everywhere and clear of both limits
};

// What maps are ranked by: mean efficiency, then the least surge margin; those without efficiency come last.
struct Rank {
  bool efficiency_known = false;
  double efficiency = 0.0, margin = 0.0;
  bool Before(const Rank& other) const {
    if (efficiency_known != other.efficiency_known) return efficiency_known;
    if (efficiency_known && efficiency != other.efficiency) return efficiency > other.efficiency;
    return margin > other.margin;
  }
};

Rank RankOf(const CapableMap& map) { return {map.mean_efficiency.has_value(), map.mean_efficiency.value_or(0.0), map.least_surge_margin}; }

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
  std::optional<KeptMap> map;  // nullopt: the map cannot be asked
};

struct MapFinder::Memory {
  std::unordered_map<std::string, Asked> asked;  // by revision
};

MapFinder::MapFinder(Shelf& shelf) : shelf_(shelf), memory_(std::make_unique<Memory>()) {}
MapFinder::~MapFinder() = default;

Result<std::int64_t> MapFinder::UpdateIndex(const std::function<bool(double)>& progress) {
  std::int64_t made = 0;
  const Result<std::vector<std::string>> all = shelf_.ReachDue(ReachVersion(), 1000000000);
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
      entries.push_back(map ? MakeReachEntry(shown->name, shown->revision.id, *map)
                            : ReachEntry{shown->name, shown->revision.id, {}, {}, {}, ReachVersion()});
    }
    if (const Result<void> set = shelf_.SetReach(entries); !set) return Pass(set);
    made += static_cast<std::int64_t>(entries.size());
  }
  return made;
}

Result<const MapFinder::Asked*> MapFinder::Ask(const ReachName& name) {
  if (const auto known = memory_->asked.find(name.revision); known != memory_->asked.end()) return &known->second;
  if (memory_->asked.size() >= kSurfacesKept) memory_->asked.clear();
  Asked asked;
  asked.map = OpenKeptMap(name.kept);
  if (!asked.map) {
    const Result<ShownRevision> shown = shelf_.ShowRevision(name.revision);
    if (!shown) return Pass(shown);
    const Result<PerformanceMap> map = ParseMapDocument(shown->document);
    if (!map) return Fail(map.error().code, map.error().message, name.name);
    if (Result<KeptMap> made = MakeKeptMap(*map)) asked.map = std::move(*made);
  }
  return &memory_->asked.emplace(name.revision, std::move(asked)).first->second;
}

namespace {

// Whether the map's own answers fit; what `map` says of it is filled in as far as they do.
enum class Verdict { kFits, kFails, kCannotTell };
Verdict Judge(const KeptMap& kept, const CapabilityOptions& options, CapableMap& map) {
  map.total_to_static = kept.total_to_static;
  map.reference_assumed = kept.reference_assumed;
  double margin = 1e300, efficiency = 1e300, sum = 0.0;
  bool efficiency_known = true, left_edge_open = false;
  std::uint32_t doubts = kNoDoubt;
  for (const JobPoint& point : options.points) {
    const CompressorAnswer answer = kept.query->AtFlowAndPressureRatio(point.flow / kept.factor, point.pressure_ratio);
    if (!answer.inside) return Verdict::kFails;
    if (options.efficiency && !(answer.efficiency && *answer.efficiency >= *options.efficiency)) return Verdict::kFails;
    if (LeftEdgeIsDoubtful(answer, kept.query->surface())) {
      if (!left_edge_open) map.doubts.push_back(DoubtfulEdgeWords(answer, kept.query->surface()));
      left_edge_open = true;
    } else if (!answer.surge_margin || !(*answer.surge_margin >= options.surge_margin)) {
      return Verdict::kFails;
    } else {
      margin = std::min(margin, *answer.surge_margin);
      if ((answer.doubts & ~doubts) != 0) map.doubts.push_back(DoubtWords(answer, kept.query->surface()));
      doubts |= answer.doubts;
    }
    if (answer.efficiency) {
      efficiency = std::min(efficiency, *answer.efficiency);
      sum += *answer.efficiency;
    } else {
      efficiency_known = false;
    }
  }
  std::sort(map.doubts.begin(), map.doubts.end());
  map.doubts.erase(std::unique(map.doubts.begin(), map.doubts.end()), map.doubts.end());
  if (efficiency_known) {
    map.least_efficiency = efficiency;
    map.mean_efficiency = sum / static_cast<double>(options.points.size());
  }
  if (left_edge_open) return Verdict::kCannotTell;
  map.least_surge_margin = margin;
  return Verdict::kFits;
}

// Takes a point of the job into an estimate; false: the map cannot fit.
bool TakeIn(const GridAnswer& answer, const CapabilityOptions& options, double band_efficiency, Estimate& estimate) {
  const double wanted = options.efficiency.value_or(0.0);
  const bool margin_known = answer.surge_margin && !answer.near_edge;
  if (margin_known && *answer.surge_margin < options.surge_margin - answer.surge_margin_error) return false;
  const std::optional<double> likely = answer.efficiency ? answer.efficiency : answer.efficiency_at_most;
  const double best = std::min(answer.efficiency ? *answer.efficiency + answer.efficiency_error : answer.efficiency_at_most.value_or(band_efficiency),
                               band_efficiency);
  if (options.efficiency && best < wanted) return false;
  estimate.margin = std::min(estimate.margin, answer.surge_margin.value_or(0.0));
  estimate.best_margin = std::min(estimate.best_margin, margin_known ? *answer.surge_margin + answer.surge_margin_error : 1e300);
  estimate.efficiency = std::min(estimate.efficiency, answer.efficiency.value_or(0.0));
  estimate.efficiency_sum += likely.value_or(0.0);
  estimate.best_efficiency_sum += best;
  estimate.efficiency_known = estimate.efficiency_known && likely;
  estimate.efficiency_possible = estimate.efficiency_possible && best > 0.0;
  estimate.sure = estimate.sure && margin_known && *answer.surge_margin >= options.surge_margin + answer.surge_margin_error &&
                  (!options.efficiency || (answer.efficiency && *answer.efficiency >= wanted + answer.efficiency_error));
  return true;
}

// What the index alone says of a map.
CapableMap FromIndex(const Estimate& estimate, std::size_t points) {
  CapableMap map;
  map.least_surge_margin = estimate.margin;
  if (estimate.efficiency_known && estimate.efficiency > 0.0) {
    map.least_efficiency = estimate.efficiency;
    map.mean_efficiency = estimate.efficiency_sum / static_cast<double>(points);
  }
  map.from_index = true;
  if (!estimate.sure) map.doubts.emplace_back("The point is so near a limit that only the map itself can tell.");
  return map;
}

// Every map that may fit, the one that may be best first.
Result<std::vector<Estimate>> GatherEstimates(Shelf& shelf, const CapabilityOptions& options) {
  std::unordered_map<std::int64_t, Estimate> estimates;
  for (std::size_t i = 0; i < options.points.size(); ++i) {
    const JobPoint& point = options.points[i];
    const Result<void> looked =
        shelf.ReachAt(point.flow, point.pressure_ratio, options.efficiency.value_or(-1.0), options.surge_margin, [&](const ReachHit& hit) {
          const auto known = estimates.find(hit.map);
          if (i > 0 && (known == estimates.end() || known->second.points < i)) return true;
          if (known != estimates.end() && known->second.points > i) return true;  // the point lies on the line between two bands
          const std::optional<GridAnswer> answer = LookInto(hit.bytes, point.flow, point.pressure_ratio);
          if (!answer) return true;
          Estimate estimate = known != estimates.end() ? known->second : Estimate{};
          if (!TakeIn(*answer, options, hit.efficiency_max, estimate)) return true;
          estimate.map = hit.map;
          estimate.points = i + 1;
          estimates[hit.map] = estimate;
          return true;
        });
    if (!looked) return Pass(looked);
  }
  std::vector<Estimate> ranked;
  for (const auto& [map, estimate] : estimates)
    if (estimate.points == options.points.size()) ranked.push_back(estimate);
  const auto key = [&](const Estimate& estimate) {
    return options.ask_maps ? Rank{estimate.efficiency_possible, estimate.best_efficiency_sum, estimate.best_margin}
                            : Rank{estimate.efficiency_known, estimate.efficiency_sum, estimate.margin};
  };
  std::sort(ranked.begin(), ranked.end(), [&](const Estimate& a, const Estimate& b) {
    if (key(a).Before(key(b))) return true;
    if (key(b).Before(key(a))) return false;
    return a.map < b.map;
  });
  return ranked;
}

}  // namespace

Result<CapableMaps> MapFinder::FindCapable(const CapabilityOptions& options) {
  if (const Result<void> good = options.Check(); !good) return Pass(good);
  CapableMaps found;
  const Result<std::vector<std::string>> due = shelf_.ReachDue(ReachVersion(), 1000000000);
  if (!due) return Pass(due);
  found.not_searched = static_cast<std::int64_t>(due->size());
  const Result<std::vector<Estimate>> ranked = GatherEstimates(shelf_, options);
  if (!ranked) return Pass(ranked);

  const std::unordered_set<std::string> among =
      options.among ? std::unordered_set<std::string>(options.among->begin(), options.among->end()) : std::unordered_set<std::string>{};
  const double count = static_cast<double>(options.points.size());
  const auto wanted = static_cast<std::size_t>(options.limit);
  std::vector<Rank> best;  // of those found, best first
  for (const Estimate& estimate : *ranked) {
    // The rest cannot be better than the last that is wanted.
    const bool enough = best.size() >= wanted &&
                        !(options.ask_maps &&
                          Rank{estimate.efficiency_possible, estimate.best_efficiency_sum / count, estimate.best_margin}.Before(best[wanted - 1]));
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
    Verdict verdict = Verdict::kFits;
    if (options.ask_maps) {
      const Result<const Asked*> asked = Ask(*name);
      if (!asked) return Pass(asked);
      verdict = (*asked)->map ? Judge(*(*asked)->map, options, map) : Verdict::kFails;
    } else {
      map = FromIndex(estimate, options.points.size());
    }
    if (verdict == Verdict::kFails) continue;
    map.name = name->name;
    map.revision = name->revision;
    if (verdict == Verdict::kCannotTell) {
      if (found.undecided.size() < wanted) found.undecided.push_back(std::move(map));
      continue;
    }
    best.insert(std::upper_bound(best.begin(), best.end(), RankOf(map), [](const Rank& a, const Rank& b) { return a.Before(b); }), RankOf(map));
    found.maps.push_back(std::move(map));
  }
  for (std::vector<CapableMap>* const maps : {&found.maps, &found.undecided})
    std::stable_sort(maps->begin(), maps->end(), [](const CapableMap& a, const CapableMap& b) { return RankOf(a).Before(RankOf(b)); });
  if (found.maps.size() > wanted) {
    found.more += static_cast<std::int64_t>(found.maps.size() - wanted);
    found.maps.resize(wanted);
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
