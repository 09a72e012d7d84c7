#include "mapstore/bench/verdicts.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/bench/shop_units.h"

namespace islebook {
namespace {

// Grade of a number that should be high: room from `room`, over below `over`. A number within two standard uncertainties of "over" is close at best.
Grade GradeHigh(double value, double sigma, double room, double over) {
  if (value < over) return Grade::kOver;
  return value < room || value - 2.0 * sigma < over ? Grade::kClose : Grade::kRoom;
}

Grade GradeLow(double value, double sigma, double room, double over) { return GradeHigh(-value, sigma, -room, -over); }

double Shortfall(double value, double room, double over) { return room == over ? (value < over ? 1.0 : 0.0) : (room - value) / (room - over); }

// A value with its uncertainty, as many digits as that allows and one decimal at most: "14 % ± 2 %", "14.3 % ± 0.4 %".
std::string WithSigma(double value, const std::optional<double>& sigma, const char* unit, const char* sigma_unit, int places_alone) {
  if (!sigma || !(*sigma > 0.0)) return fmt::format("{:.{}f} {}", value, places_alone, unit);
  if (*sigma < 0.05) return fmt::format("{:.1f} {} ± less than 0.1 {}", value, unit, sigma_unit);
  const int places = *sigma >= 0.95 ? 0 : 1;
  return fmt::format("{:.{}f} {} ± {:.{}f} {}", value, places, unit, *sigma, places, sigma_unit);
}

std::string Percent(double value, const std::optional<double>& sigma) {
  return WithSigma(100 * value, sigma ? std::optional<double>(100 * *sigma) : std::nullopt, "%", "%", 1);
}

std::string Temperature(double kelvin, const std::optional<double>& sigma, const UnitHabit& units) {
  const Shop shop(units);
  const std::string_view unit = shop.Unit(ShopQuantity::kTemperature);
  return WithSigma(shop.In(ShopQuantity::kTemperature, kelvin),
                   sigma ? std::optional<double>(shop.Difference(ShopQuantity::kTemperature, *sigma)) : std::nullopt, unit.data(),
                   unit == "°C" ? "K" : unit.data(), 0);
}

const char* RegionWords(const std::optional<MapRegion>& region) {
  if (!region) return "on the map or not, that cannot be told";
  switch (*region) {
    case MapRegion::kOnMap: return "on the map";
    case MapRegion::kLeftOfSurge: return "left of the surge line";
    case MapRegion::kPastChoke: return "past choke";
    case MapRegion::kOverSpeed: return "above the highest speed line";
    case MapRegion::kUnderSpeed: return "below the lowest speed line";
  }
  return "";
}

Verdict OnMap(const CompressorReading& reading) {
  Verdict verdict{.kind = VerdictKind::kOnMap, .words = RegionWords(reading.region)};
  if (!reading.region) {
    verdict.grade = Grade::kUnknown;
    verdict.shortfall = 0.9;  // the map does not say whether the wheel surges
    return verdict;
  }
  switch (*reading.region) {
    case MapRegion::kOnMap:
      verdict.grade = Grade::kRoom;
      verdict.shortfall = -1e3;  // says nothing that the margins do not say better
      break;
    case MapRegion::kUnderSpeed:
      verdict.grade = Grade::kUnknown;
      verdict.shortfall = 0.6;
      break;
    default: verdict.grade = Grade::kOver; verdict.shortfall = 1.0;
  }
  return verdict;
}

// A margin that the map cannot give: its side of the map tells what it must be.
Verdict Margin(VerdictKind kind, const char* name, const std::optional<double>& value, const std::optional<double>& sigma, double room, bool beyond) {
  Verdict verdict{.kind = kind, .value = value, .sigma = value ? sigma : std::nullopt};
  if (value && (*value < 0.0) == beyond) {
    verdict.grade = GradeHigh(*value, sigma.value_or(0.0), room, 0.0);
    verdict.shortfall = Shortfall(*value, room, 0.0);
    verdict.words = fmt::format("{} {}", name, Percent(*value, sigma));
  } else if (beyond) {
    verdict.value = verdict.sigma = std::nullopt;
    verdict.grade = Grade::kOver;
    verdict.shortfall = 1.0;
    verdict.words = fmt::format("{} below 0", name);
  } else {
    verdict.value = verdict.sigma = std::nullopt;
    verdict.grade = Grade::kUnknown;
    verdict.shortfall = 0.5;
    verdict.words = fmt::format("{} not known", name);
  }
  return verdict;
}

Verdict Speed(const StageResult& stage, const CompressorStage& asked, const CompressorFacts& map, const BenchLimits& limits) {
  Verdict verdict{.kind = VerdictKind::kSpeed};
  const CompressorReading& reading = stage.reading;
  std::optional<double> limit;  // physical, in the map's unit
  const char* of = "of the maker's limit";
  if (asked.speed_limit && map.speed_unit_si > 0.0) {
    limit = *asked.speed_limit / map.speed_unit_si;
  } else if (map.top_speed && reading.corrected_speed && reading.speed && *reading.corrected_speed > 0.0) {
    limit = *map.top_speed * *reading.speed / *reading.corrected_speed;
    of = "of the highest speed line (no limit was given)";
  }
  if (!limit || !reading.speed || !(*limit > 0.0)) {
    const bool above = reading.region == MapRegion::kOverSpeed;
    verdict.grade = above ? Grade::kOver : Grade::kUnknown;
    verdict.shortfall = above ? 1.0 : 0.5;
    verdict.words = above ? "speed above the highest speed line" : "speed not known";
    return verdict;
  }
  const double share = *reading.speed / *limit;
  verdict.value = share;
  if (reading.sigma_speed) verdict.sigma = *reading.sigma_speed / *limit;
  verdict.grade = GradeLow(share, asked.speed_limit ? verdict.sigma.value_or(0.0) : 0.0, limits.speed_room, 1.0);
  verdict.shortfall = Shortfall(-share, -limits.speed_room, -1.0);
  verdict.words = fmt::format("speed {} {}", Percent(share, verdict.sigma), of);
  return verdict;
}

// Whether the turbines bring what was asked, at what price before them.
void AddTurbineVerdicts(const PointResult& point, const BenchLimits& limits, const UnitHabit& units, std::vector<Verdict>& verdicts) {
  const PointResult::ExhaustSide& side = *point.exhaust;
  Verdict target{.kind = VerdictKind::kTarget, .value = side.target_ratio};
  const bool by_flow = point.input.target.air_flow_kg_s || point.input.target.power_W || point.input.target.fuel_flow_kg_s;
  const char* what = by_flow ? "air flow" : "manifold pressure";
  // Within a percent nobody feels the difference.
  if (std::abs(side.target_ratio - 1.0) <= 0.01) {
    target.grade = Grade::kRoom;
    target.shortfall = -1e3;
    target.words = "target reached";
  } else {
    const bool over = side.target_ratio > 1.0;
    target.grade = std::abs(side.target_ratio - 1.0) <= 0.03 ? Grade::kClose : Grade::kOver;
    target.shortfall = std::abs(side.target_ratio - 1.0) / 0.03;
    const char* ends = "";
    for (const StageResult& stage : point.stages) {
      if (stage.turbine->regulation == Regulation::kClosed) ends = ", with wastegate or vanes shut";
      if (stage.turbine->regulation == Regulation::kOpen) ends = ", with wastegate or vanes wide open";
      if (stage.turbine->regulation == Regulation::kMost) ends = ", with the vanes where they bring the most";
    }
    target.words = fmt::format("{} {:.0f} % {} the target{}", what, 100 * std::abs(side.target_ratio - 1.0), over ? "above" : "short of", ends);
  }
  verdicts.push_back(target);

  Verdict drive{.kind = VerdictKind::kDriveRatio};
  if (side.drive_ratio > 0.0) {
    drive.value = side.drive_ratio;
    const double boost = point.manifold_Pa - point.input.ambient.pressure_Pa;
    drive.sigma = std::hypot(side.sigma_drive_Pa, side.drive_ratio * side.sigma_manifold_Pa) / boost;
    drive.grade = GradeLow(side.drive_ratio, *drive.sigma, limits.drive_ratio_room, limits.drive_ratio_over);
    drive.shortfall = Shortfall(-side.drive_ratio, -limits.drive_ratio_room, -limits.drive_ratio_over);
    drive.words = fmt::format("drive pressure {:.2f} times the boost", side.drive_ratio);
  } else {
    drive.grade = Grade::kRoom;
    drive.shortfall = -1e3;
    drive.words = "no boost to compare the drive pressure with";
  }
  verdicts.push_back(drive);

  Verdict heat{.kind = VerdictKind::kTurbineTemperature, .value = side.engine.turbine_K};
  heat.grade = GradeLow(side.engine.turbine_K, 0.0, limits.turbine_K_room, limits.turbine_K_over);
  heat.shortfall = Shortfall(-side.engine.turbine_K, -limits.turbine_K_room, -limits.turbine_K_over);
  heat.words = fmt::format("exhaust before the turbine {}", Temperature(side.engine.turbine_K, std::nullopt, units));
  verdicts.push_back(heat);
}

}  // namespace

std::vector<Verdict> StageVerdicts(const StageResult& stage, const CompressorStage& asked, const CompressorFacts& map, const BenchLimits& limits,
                                   const UnitHabit& units) {
  const CompressorReading& reading = stage.reading;
  std::vector<Verdict> verdicts;
  verdicts.push_back(OnMap(reading));
  verdicts.push_back(Margin(VerdictKind::kSurge, "surge margin", reading.surge_margin,
                            stage.sigma_surge_margin ? stage.sigma_surge_margin : reading.sigma_surge_margin, limits.surge_margin_room,
                            reading.region == MapRegion::kLeftOfSurge));
  verdicts.push_back(Margin(VerdictKind::kChoke, "choke margin", reading.choke_margin, std::nullopt, limits.choke_margin_room,
                            reading.region == MapRegion::kPastChoke));
  verdicts.push_back(Speed(stage, asked, map, limits));

  Verdict efficiency{.kind = VerdictKind::kEfficiency};
  if (stage.efficiency_assumed) {
    efficiency.grade = asked.assumed_efficiency && !map.has_efficiency ? Grade::kRoom : Grade::kUnknown;
    efficiency.shortfall = efficiency.grade == Grade::kRoom ? 0.0 : 0.4;
    efficiency.words = fmt::format("efficiency not on the map, {} assumed", Percent(stage.efficiency, std::nullopt));
  } else {
    efficiency.value = stage.efficiency;
    efficiency.sigma = reading.sigma_efficiency;
    efficiency.grade = GradeHigh(stage.efficiency, 0.0, limits.efficiency_room, limits.efficiency_over);
    // Half: a poor efficiency costs fuel and heat, the edges cost the engine.
    efficiency.shortfall = 0.5 * Shortfall(stage.efficiency, limits.efficiency_room, limits.efficiency_over);
    efficiency.words = fmt::format("efficiency {}", Percent(stage.efficiency, reading.sigma_efficiency));
  }
  verdicts.push_back(efficiency);

  Verdict outlet{.kind = VerdictKind::kOutletTemperature, .value = stage.outlet_K, .sigma = stage.sigma_outlet_K};
  outlet.grade = GradeLow(stage.outlet_K, stage.sigma_outlet_K.value_or(0.0), limits.outlet_K_room, limits.outlet_K_over);
  outlet.shortfall = Shortfall(-stage.outlet_K, -limits.outlet_K_room, -limits.outlet_K_over);
  outlet.words = fmt::format("outlet {}", Temperature(stage.outlet_K, stage.sigma_outlet_K, units));
  verdicts.push_back(outlet);

  if (stage.turbine) {
    const bool beyond = stage.turbine->reading.flow_beyond || stage.turbine->reading.efficiency_beyond;
    const bool has_map = stage.turbine->reading.map_flow > 0.0;
    Verdict on{.kind = VerdictKind::kTurbineMap, .value = stage.turbine->expansion_ratio};
    on.grade = has_map && beyond ? Grade::kUnknown : Grade::kRoom;
    on.shortfall = on.grade == Grade::kRoom ? -1e3 : 0.3;
    on.words = fmt::format("turbine at expansion ratio {:.2f}{}", stage.turbine->expansion_ratio, has_map && beyond ? ", beyond its map" : "");
    verdicts.push_back(on);
  }
  return verdicts;
}

std::vector<Verdict> PointVerdicts(const PointResult& point, const BenchLimits& limits, const UnitHabit& units) {
  Verdict manifold{.kind = VerdictKind::kManifoldTemperature, .value = point.manifold_K, .sigma = point.sigma_manifold_K};
  manifold.grade = GradeLow(point.manifold_K, point.sigma_manifold_K.value_or(0.0), limits.manifold_K_room, limits.manifold_K_over);
  manifold.shortfall = Shortfall(-point.manifold_K, -limits.manifold_K_room, -limits.manifold_K_over);
  manifold.words = fmt::format("manifold {}", Temperature(point.manifold_K, point.sigma_manifold_K, units));
  std::vector<Verdict> verdicts{manifold};
  if (point.exhaust) AddTurbineVerdicts(point, limits, units, verdicts);
  return verdicts;
}

std::vector<Verdict> VerdictsThatMatter(const std::vector<Verdict>& verdicts) {
  const bool off_map = std::any_of(verdicts.begin(), verdicts.end(),
                                   [](const Verdict& verdict) { return verdict.kind == VerdictKind::kOnMap && verdict.grade != Grade::kRoom; });
  std::vector<Verdict> out;
  for (const Verdict& verdict : verdicts) {
    if (verdict.grade == Grade::kRoom) continue;
    const bool follows = verdict.grade == Grade::kUnknown && (verdict.kind == VerdictKind::kSurge || verdict.kind == VerdictKind::kChoke ||
                                                              verdict.kind == VerdictKind::kSpeed || verdict.kind == VerdictKind::kEfficiency);
    if (!(off_map && follows)) out.push_back(verdict);
  }
  return out;
}

std::vector<SharedDoubt> DoubtsOfPoints(const BenchResult& result) {
  std::vector<SharedDoubt> out;
  for (std::size_t i = 0; i < result.points.size(); ++i) {
    for (const std::string& words : result.points[i].doubts) {
      const auto known = std::find_if(out.begin(), out.end(), [&words](const SharedDoubt& doubt) { return doubt.words == words; });
      if (known == out.end()) {
        out.push_back({words, {i}});
      } else if (known->points.back() != i) {
        known->points.push_back(i);
      }
    }
  }
  return out;
}

std::string PointsInWords(const BenchResult& result, const std::vector<std::size_t>& points) {
  constexpr std::size_t kMostNamed = 4;
  if (points.size() == result.points.size() && points.size() > 1) return "(at every point)";
  std::string names;
  for (std::size_t i = 0; i < std::min(points.size(), kMostNamed); ++i) names += (i > 0 ? "; " : "") + result.points[points[i]].name;
  if (points.size() > kMostNamed) names += fmt::format(" and {} more", points.size() - kMostNamed);
  return "(at " + names + ")";
}

std::vector<LimitWords> DescribeLimits(const BenchLimits& limits, const UnitHabit& units, bool with_turbines) {
  const auto percent = [](double value) { return fmt::format("{:.3g} %", 100 * value); };
  const auto degrees = [&units](double kelvin) { return Temperature(kelvin, std::nullopt, units); };
  std::vector<LimitWords> words{
      {"surge margin", fmt::format("room from {}, over below 0", percent(limits.surge_margin_room))},
      {"choke margin", fmt::format("room from {}, over below 0", percent(limits.choke_margin_room))},
      {"speed", fmt::format("room up to {} of the limit, over above it", percent(limits.speed_room))},
      {"efficiency", fmt::format("room from {}, over below {}", percent(limits.efficiency_room), percent(limits.efficiency_over))},
      {"outlet temperature", fmt::format("room up to {}, over above {}", degrees(limits.outlet_K_room), degrees(limits.outlet_K_over))},
      {"manifold temperature", fmt::format("room up to {}, over above {}", degrees(limits.manifold_K_room), degrees(limits.manifold_K_over))},
  };
  if (with_turbines) {
    words.push_back({"target", "room within 1 %, over beyond 3 % of the manifold pressure or air flow asked for"});
    words.push_back(
        {"drive pressure over boost", fmt::format("room up to {:.3g}, over above {:.3g}", limits.drive_ratio_room, limits.drive_ratio_over)});
    words.push_back(
        {"exhaust before the turbine", fmt::format("room up to {}, over above {}", degrees(limits.turbine_K_room), degrees(limits.turbine_K_over))});
  }
  return words;
}

}  // namespace islebook
