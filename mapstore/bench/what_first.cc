#include "mapstore/bench/what_first.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <memory>
#include <numbers>

#include <fmt/format.h>

#include "mapstore/bench/scaled_map.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr std::array<GoalDefinition, 4> kGoals{{
    {Goal::kPower, "power", "most power at this engine speed", true},
    {Goal::kLowSpeed, "low-speed", "lowest engine speed with this manifold pressure", false},
    {Goal::kDriveRatio, "drive-ratio", "drive pressure over boost", false},
    {Goal::kAltitude, "altitude", "highest altitude to which the point holds", true},
}};

// A step of size: about five millimeters in a 75 mm wheel.
constexpr double kSizeStep = 80.0 / 75.0;
constexpr double kBoreStep = 8.0 / 7.0;

// A rig with readers over its maps, ready to be run.
class Setup {
 public:
  static Result<Setup> Make(const BenchRig& rig) {
    Setup setup;
    setup.asked_ = rig.asked;
    for (std::size_t i = 0; i < rig.asked.stages.size(); ++i) {
      auto compressor = MakeCompressorReader(*rig.compressors[i], rig.asked.stages[i], {}, rig.surge_margin);
      if (!compressor) return std::unexpected(compressor.error());
      setup.compressors_.push_back(std::move(*compressor));
      if (!rig.asked.HasTurbines()) continue;
      auto turbine = MakeTurbineReader(rig.turbines[i], *rig.asked.stages[i].turbine, rig.asked.stages[i].name);
      if (!turbine) return std::unexpected(turbine.error());
      setup.turbines_.push_back(std::move(*turbine));
    }
    return setup;
  }

  std::vector<PointResult> Run(std::vector<OperatingPoint> points) const {
    BenchCase asked = asked_;
    asked.points = std::move(points);
    std::vector<const CompressorReader*> compressors;
    std::vector<const TurbineReader*> turbines;
    for (const auto& reader : compressors_) compressors.push_back(reader.get());
    for (const auto& reader : turbines_) turbines.push_back(reader.get());
    auto result = RunBench(asked, compressors, turbines);
    return result ? std::move(result->points) : std::vector<PointResult>{};
  }
  const BenchCase& asked() const { return asked_; }

 private:
  BenchCase asked_;
  std::vector<std::unique_ptr<CompressorReader>> compressors_;
  std::vector<std::unique_ptr<TurbineReader>> turbines_;
};

// The largest flow that a map's lines reach; 0 without lines.
double Reach(const PerformanceMap& map) {
  const bool x = map.x && map.kind == MapKind::kCompressor;
  double reach = 0.0;
  for (const Curve& curve : map.curves)
    if (curve.role == CurveRole::kSpeedLine || curve.role == CurveRole::kFlowLine)
      for (const Point2& point : curve.points) reach = std::max(reach, x ? point.x : point.y);
  const Axis* axis = x ? &*map.x : map.y ? &*map.y : nullptr;
  const auto unit = axis != nullptr ? ParseUnit(axis->unit) : Fail(ErrorCode::kInvalidArgument, "");
  if (!unit) return 0.0;
  const double density = unit->dimension == Dimension::kVolumeFlow ? 1.2 : 1.0;
  return reach * unit->factor * density;
}

// Nobody puts a wheel of half or twice the flow in a stage's place. What cannot be compared is tried.
bool NearInSize(const PerformanceMap& a, const PerformanceMap* b) {
  if (b == nullptr) return true;
  const double ratio = Reach(a) / Reach(*b);
  return !std::isfinite(ratio) || ratio == 0.0 || a.kind != b->kind || (ratio > 0.5 && ratio < 2.0) ||
         (a.y && b->y && a.y->quantity != b->y->quantity);
}

// What keeps a point from holding; empty: it holds.
std::string OverBy(const PointResult& point) {
  if (!point.failure.empty()) return point.failure;
  std::string words;
  double worst = -1e300;
  const auto look = [&](const Verdict& verdict, const std::string& where) {
    if (verdict.grade != Grade::kOver || verdict.shortfall <= worst) return;
    // Signs of a poor match, not ends: the engine runs. More than the target is fuel left out, not air that fails.
    if (verdict.kind == VerdictKind::kEfficiency || verdict.kind == VerdictKind::kDriveRatio) return;
    if (verdict.kind == VerdictKind::kTarget && verdict.value.value_or(0.0) > 1.0) return;
    worst = verdict.shortfall;
    words = where + verdict.words;
  };
  for (const StageResult& stage : point.stages)
    for (const Verdict& verdict : stage.verdicts) look(verdict, point.stages.size() > 1 ? stage.name + ": " : "");
  for (const Verdict& verdict : point.verdicts) look(verdict, "");
  return words;
}

struct Reached {
  std::optional<double> value;
  std::string limited_by;
};

// The last value that holds on the way from `from` to `to`, with what stops the next; steps first, then halves between. `at` makes the point of a value.
Reached LastThatHolds(const Setup& setup, double from, double to, bool geometric, const std::function<OperatingPoint(double)>& at) {
  constexpr int kSteps = 20;
  const auto step = [&](double share) { return geometric ? from * std::pow(to / from, share) : from + (to - from) * share; };
  std::vector<OperatingPoint> points;
  for (int k = 0; k <= kSteps; ++k) points.push_back(at(step(static_cast<double>(k) / kSteps)));
  const std::vector<PointResult> results = setup.Run(points);
  if (results.size() != points.size()) return {std::nullopt, "the case cannot be worked out"};
  // Where it begins to hold may lie on the way: below it a wheel surges, say.
  int last = -1;
  for (int k = 0; k <= kSteps; ++k)
    if (OverBy(results[static_cast<std::size_t>(k)]).empty()) last = k;
  if (last < 0) return {std::nullopt, OverBy(results.front())};
  if (last == kSteps) return {step(1.0), "nothing within the range looked at"};
  double good = static_cast<double>(last) / kSteps, bad = static_cast<double>(last + 1) / kSteps;
  std::string limit = OverBy(results[static_cast<std::size_t>(last + 1)]);
  for (int k = 0; k < 9; ++k) {
    const double half = 0.5 * (good + bad);
    const std::vector<PointResult> result = setup.Run({at(step(half))});
    const std::string over = result.empty() ? "the case cannot be worked out" : OverBy(result[0]);
    if (over.empty()) {
      good = half;
    } else {
      bad = half;
      limit = over;
    }
  }
  return {step(good), limit};
}

OperatingTarget PowerTarget(const OperatingTarget& from, double watts) {
  OperatingTarget target;
  target.air_fuel_ratio = from.air_fuel_ratio;
  target.fuel_consumption_kg_J = from.fuel_consumption_kg_J;
  if (!target.fuel_consumption_kg_J && from.power_W && from.fuel_flow_kg_s) target.fuel_consumption_kg_J = *from.fuel_flow_kg_s / *from.power_W;
  target.power_W = watts;
  return target;
}

// The goal's value for a rig, from the base point's solved state.
Reached Reach(const Setup& setup, const OperatingPoint& base, const PointResult& solved, Goal goal) {
  switch (goal) {
    case Goal::kPower: {
      const double about = solved.power_W.value_or(1e5);
      return LastThatHolds(setup, 0.3 * about, 4.0 * about, true, [&](double watts) {
        OperatingPoint point = base;
        point.target = PowerTarget(base.target, watts);
        return point;
      });
    }
    case Goal::kLowSpeed:
      return LastThatHolds(setup, 1.6 * base.speed_rev_s, 0.3 * base.speed_rev_s, true, [&](double speed) {
        OperatingPoint point = base;
        point.speed_rev_s = speed;
        point.target.power_W = point.target.fuel_flow_kg_s = point.target.air_flow_kg_s = point.target.boost_Pa = std::nullopt;
        // What was asked, or what a power or flow target came to.
        const OperatingTarget& asked = base.target;
        if (!asked.manifold_Pa) point.target.manifold_Pa = asked.boost_Pa ? base.ambient.pressure_Pa + *asked.boost_Pa : solved.manifold_Pa;
        return point;
      });
    case Goal::kAltitude:
      return LastThatHolds(setup, 0.0, 6000.0, false, [&](double altitude) {
        OperatingPoint point = base;
        const auto here = AmbientAtAltitude(altitude), there = AmbientAtAltitude(base.altitude_m.value_or(0.0));
        point.altitude_m = altitude;
        point.ambient.pressure_Pa = here->pressure_Pa;
        point.ambient.temperature_K = base.ambient.temperature_K + here->temperature_K - there->temperature_K;
        return point;
      });
    case Goal::kDriveRatio: {
      const std::vector<PointResult> result = setup.Run({base});
      if (result.empty() || !result[0].failure.empty()) return {std::nullopt, result.empty() ? "the case cannot be worked out" : result[0].failure};
      if (!(result[0].exhaust->drive_ratio > 0.0)) return {std::nullopt, "no boost is reached"};
      // A lower drive pressure that misses the target is no gain.
      for (const Verdict& verdict : result[0].verdicts)
        if (verdict.kind == VerdictKind::kTarget && verdict.grade == Grade::kOver && result[0].exhaust->target_ratio < 1.0)
          return {std::nullopt, verdict.words};
      return {result[0].exhaust->drive_ratio, OverBy(result[0])};
    }
  }
  return {};
}

struct Candidate {
  ChangedElement element;
  int stage;
  std::string words;
  bool estimated;
  BenchRig rig;
  std::unique_ptr<PerformanceMap> own_map;  // a scaled wheel's, kept while it is tried
  std::vector<CaseValue> takes;

  void Take(const char* key, std::string written) { takes.push_back({{"stage", static_cast<std::size_t>(stage), key}, std::move(written)}); }
};

class CandidateList {
 public:
  CandidateList(const BenchRig& rig, const PointResult& solved, std::span<const ShelfWheel> shelf) : rig_(rig), solved_(solved), shelf_(shelf) {}
  std::vector<Candidate> Make() {
    const bool turbines = rig_.asked.HasTurbines();
    CoolerAndSplit();
    for (std::size_t i = 0; i < rig_.asked.stages.size(); ++i) {
      if (turbines) {
        Wastegate(i);
        Openings(i);
        OtherTurbineSizes(i);
      }
      OtherCompressorSizes(i);
    }
    for (std::size_t i = 0; i < rig_.asked.stages.size(); ++i) {
      if (turbines) Turbines(i);
      Compressors(i);
    }
    return std::move(candidates_);
  }

 private:
  std::string Where(std::size_t stage) const { return rig_.asked.stages.size() > 1 ? rig_.asked.stages[stage].name + " stage: " : ""; }
  Candidate& Add(ChangedElement element, int stage, std::string words, bool estimated) {
    candidates_.push_back({element, stage, std::move(words), estimated, rig_, nullptr, {}});
    return candidates_.back();
  }
  // Another wheel has another maker's limit.
  static void ForgetLimits(CompressorStage& stage) {
    stage.speed_limit.reset();
    stage.speed_limit_is_tip_speed = false;
    stage.reference_K.reset();
    stage.reference_Pa.reset();
  }

  void Compressors(std::size_t i) {
    const std::string here = rig_.asked.stages[i].map;
    for (const ShelfWheel& wheel : shelf_) {
      if (wheel.map->kind != MapKind::kCompressor || wheel.name == here || !NearInSize(*wheel.map, rig_.compressors[i])) continue;
      Candidate& candidate =
          Add(ChangedElement::kCompressor, static_cast<int>(i), fmt::format("{}compressor {} instead of {}", Where(i), wheel.name, here), false);
      candidate.rig.compressors[i] = wheel.map;
      candidate.rig.asked.stages[i].map = wheel.name;
      ForgetLimits(candidate.rig.asked.stages[i]);
      if (wheel.speed_limit_rpm) candidate.rig.asked.stages[i].speed_limit = *wheel.speed_limit_rpm / 60.0;
      candidate.Take("compressor", wheel.name);
      for (const char* key : {"speed_limit", "reference_temperature", "reference_pressure"}) candidate.Take(key, "");
    }
  }

  void OtherCompressorSizes(std::size_t i) {
    const std::string here = rig_.asked.stages[i].map;
    for (const double size : {kSizeStep, 1.0 / kSizeStep}) {
      Candidate& candidate = Add(ChangedElement::kCompressor, static_cast<int>(i),
                                 fmt::format("{}compressor one size {}, {} at {:.3g} %", Where(i), size > 1 ? "up" : "down", here, 100 * size), true);
      candidate.own_map = std::make_unique<PerformanceMap>(ScaledWheel(*rig_.compressors[i], size));
      candidate.rig.compressors[i] = candidate.own_map.get();
      CompressorStage& stage = candidate.rig.asked.stages[i];
      if (stage.speed_limit && !stage.speed_limit_is_tip_speed) *stage.speed_limit /= size;  // the same tip speed
    }
  }

  void Turbines(std::size_t i) {
    const TurbineStage& now = *rig_.asked.stages[i].turbine;
    for (const ShelfWheel& wheel : shelf_) {
      if (wheel.map->kind != MapKind::kTurbine || wheel.name == now.map || !NearInSize(*wheel.map, rig_.turbines[i])) continue;
      Candidate& candidate =
          Add(ChangedElement::kTurbine, static_cast<int>(i),
              fmt::format("{}turbine {} instead of {}", Where(i), wheel.name, now.map.empty() ? "the area given" : now.map), false);
      candidate.rig.turbines[i] = wheel.map;
      TurbineStage& turbine = *candidate.rig.asked.stages[i].turbine;
      turbine.map = wheel.name;
      turbine.effective_area_m2.reset();
      turbine.vane_opening.reset();
      turbine.reference_K.reset();
      turbine.reference_Pa.reset();
      turbine.map_air_K.reset();
      candidate.Take("turbine", wheel.name);
      for (const char* key : {"turbine_effective_area", "turbine_reference_temperature", "turbine_reference_pressure", "turbine_map_gas",
                              "turbine_map_gas_temperature", "vane_opening"})
        candidate.Take(key, "");
      // Vanes and a free port would both regulate: the port is shut.
      const auto vanes = VaneRange(*wheel.map);
      if (!vanes) continue;
      if (turbine.wastegate_area_m2 > 0.0) {
        turbine.wastegate_opening = 0.0;
        candidate.Take("wastegate_opening", "0 %");
      }
      // Only one stage can hold the target: on the others vanes stand in the middle.
      if (i + 1 < rig_.asked.stages.size()) {
        const double middle = 0.5 * (vanes->first + vanes->second);
        turbine.vane_opening = middle;
        candidate.words += fmt::format(", vanes at {:.3g} %", 100 * middle);
        candidate.Take("vane_opening", fmt::format("{:.4g} %", 100 * middle));
      }
    }
  }

  void OtherTurbineSizes(std::size_t i) {
    const TurbineStage& now = *rig_.asked.stages[i].turbine;
    for (const double size : {kSizeStep, 1.0 / kSizeStep}) {
      const char* way = size > 1 ? "up" : "down";
      if (now.map.empty()) {
        const double area = *now.effective_area_m2 * size * size;
        Candidate& candidate = Add(
            ChangedElement::kTurbine, static_cast<int>(i),
            fmt::format("{}turbine one size {}, {:.3g} cm2 instead of {:.3g} cm2", Where(i), way, area * 1e4, *now.effective_area_m2 * 1e4), true);
        candidate.rig.asked.stages[i].turbine->effective_area_m2 = area;
        candidate.Take("turbine_effective_area", fmt::format("{:.4g} cm2", area * 1e4));
      } else {
        Candidate& candidate = Add(ChangedElement::kTurbine, static_cast<int>(i),
                                   fmt::format("{}turbine one size {}, {} at {:.3g} %", Where(i), way, now.map, 100 * size), true);
        candidate.own_map = std::make_unique<PerformanceMap>(ScaledWheel(*rig_.turbines[i], size));
        candidate.rig.turbines[i] = candidate.own_map.get();
      }
    }
  }

  // The outermost openings that a map's lines are labeled with, SI; nullopt for lines of speed.
  static std::optional<std::pair<double, double>> VaneRange(const PerformanceMap& map) {
    std::optional<std::pair<double, double>> range;
    for (const Curve& curve : map.curves) {
      if (curve.role != CurveRole::kFlowLine || !curve.value) continue;
      const auto unit = ParseUnit(curve.unit);
      if (!unit || unit->dimension != Dimension::kRatio) continue;
      const double opening = *curve.value * unit->factor;
      range = range ? std::pair{std::min(range->first, opening), std::max(range->second, opening)} : std::pair{opening, opening};
    }
    return range;
  }

  void Wastegate(std::size_t i) {
    const TurbineStage& now = *rig_.asked.stages[i].turbine;
    if (now.wastegate_area_m2 > 0.0) {
      const double bore = std::sqrt(4 / std::numbers::pi * now.wastegate_area_m2);
      for (const double step : {kBoreStep, kBoreStep * kBoreStep}) {
        Candidate& candidate = Add(ChangedElement::kWastegate, static_cast<int>(i),
                                   fmt::format("{}wastegate port {:.3g} mm instead of {:.3g} mm", Where(i), bore * step * 1e3, bore * 1e3), false);
        candidate.rig.asked.stages[i].turbine->wastegate_area_m2 *= step * step;
        candidate.Take("wastegate_diameter", fmt::format("{:.4g} mm", bore * step * 1e3));
      }
    }
  }

  void Openings(std::size_t i) {
    const TurbineStage& now = *rig_.asked.stages[i].turbine;
    const double speed = solved_.input.speed_rev_s;
    const auto add = [&](const char* what, const char* key, const HeldOpening& from, double step,
                         std::optional<HeldOpening> TurbineStage::* opening) {
      const double here = from.At(speed);
      Candidate& candidate = Add(ChangedElement::kOpening, static_cast<int>(i),
                                 fmt::format("{}{} {:.3g} % open instead of {:.3g} %{}", Where(i), what, 100 * (here + step), 100 * here,
                                             from.IsSchedule() ? ", and so much at every speed of its schedule" : ""),
                                 false);
      (*candidate.rig.asked.stages[i].turbine).*opening = from.Moved(step);
      if (!from.IsSchedule()) candidate.Take(key, fmt::format("{:.4g} %", 100 * (here + step)));
    };
    for (const double step : {-0.1, 0.1}) {
      if (now.wastegate_opening && now.wastegate_area_m2 > 0.0 && now.wastegate_opening->Lowest() + step >= 0.0 &&
          now.wastegate_opening->Highest() + step <= 1.0)
        add("wastegate", "wastegate_opening", *now.wastegate_opening, step, &TurbineStage::wastegate_opening);
      if (now.vane_opening) add("vanes", "vane_opening", *now.vane_opening, step, &TurbineStage::vane_opening);
    }
  }

  void CoolerAndSplit() {
    const Cooler& cooler = solved_.input.cooler;
    if (cooler.effectiveness < 0.9) {
      Candidate& candidate = Add(
          ChangedElement::kCooler, -1,
          fmt::format("cooler of {:.3g} % instead of {:.3g} %", 100 * std::min(cooler.effectiveness + 0.1, 0.95), 100 * cooler.effectiveness), false);
      for (OperatingPoint& point : candidate.rig.asked.points) point.cooler.effectiveness = std::min(point.cooler.effectiveness + 0.1, 0.95);
      candidate.takes.emplace_back(CasePlace{"air_path", 0, "cooler_effectiveness"},
                                   fmt::format("{:.4g} %", 100 * std::min(cooler.effectiveness + 0.1, 0.95)));
    }
    if (rig_.asked.HasTurbines() || rig_.asked.stages.size() < 2) return;
    for (std::size_t i = 0; i + 1 < rig_.asked.stages.size(); ++i)
      for (const double share : {0.9, 1.1}) {
        const double now = solved_.stages[i].pressure_ratio, ratio = 1.0 + share * (now - 1.0);
        Candidate& candidate =
            Add(ChangedElement::kSplit, static_cast<int>(i), fmt::format("{}pressure ratio {:.3g} instead of {:.3g}", Where(i), ratio, now), false);
        for (std::size_t k = 0; k + 1 < rig_.asked.stages.size(); ++k) {
          CompressorStage& stage = candidate.rig.asked.stages[k];
          stage.outlet_Pa.reset();
          stage.pressure_ratio = k == i ? ratio : solved_.stages[k].pressure_ratio;
          candidate.takes.emplace_back(CasePlace{"stage", k, "outlet_pressure"}, "");
          candidate.takes.emplace_back(CasePlace{"stage", k, "pressure_ratio"}, fmt::format("{:.4g}", *stage.pressure_ratio));
        }
      }
  }

  const BenchRig& rig_;
  const PointResult& solved_;
  std::span<const ShelfWheel> shelf_;
  std::vector<Candidate> candidates_;
};

}  // namespace

std::span<const GoalDefinition> GoalDefinitions() { return kGoals; }

const GoalDefinition& DefinitionOf(Goal goal) {
  return *std::find_if(kGoals.begin(), kGoals.end(), [goal](const GoalDefinition& definition) { return definition.goal == goal; });
}

std::optional<Goal> ParseGoal(std::string_view name) {
  for (const GoalDefinition& definition : kGoals)
    if (name == definition.name) return definition.goal;
  return std::nullopt;
}

const char* ChangedElementName(ChangedElement element) {
  switch (element) {
    case ChangedElement::kSplit: return "split";
    case ChangedElement::kOpening: return "opening";
    case ChangedElement::kWastegate: return "wastegate";
    case ChangedElement::kCooler: return "cooler";
    case ChangedElement::kTurbine: return "turbine";
    case ChangedElement::kCompressor: return "compressor";
  }
  return "";
}

Result<WhatFirst> FindWhatFirst(const BenchRig& whole, std::size_t index, Goal goal, std::span<const ShelfWheel> shelf,
                                const WhatFirstProgress& progress) {
  if (index >= whole.asked.points.size()) return Fail(ErrorCode::kInvalidArgument, "the case has no such point.");
  // Every candidate holds a case of its own: of one point.
  BenchRig rig = whole;
  rig.asked.points = {whole.asked.points[index]};
  if (goal == Goal::kDriveRatio && !rig.asked.HasTurbines())
    return Fail(ErrorCode::kBadCase, "drive pressure needs turbines; give each stage a turbine or turbine_effective_area.");
  const OperatingPoint& base = rig.asked.points.front();
  const OperatingTarget target = PowerTarget(base.target, 1.0);
  if (goal == Goal::kPower && !(target.air_fuel_ratio && target.fuel_consumption_kg_J))
    return Fail(ErrorCode::kBadCase, "the most power needs air_fuel_ratio and brake_specific_fuel_consumption in [engine].");
  const auto setup = Setup::Make(rig);
  if (!setup) return std::unexpected(setup.error());
  const std::vector<PointResult> solved = setup->Run({base});
  if (solved.empty() || !solved[0].failure.empty())
    return Fail(ErrorCode::kBadCase, fmt::format("{} cannot be worked out as it stands: {}", base.name, solved.empty() ? "" : solved[0].failure));

  WhatFirst out;
  out.goal = goal;
  out.point = base.name;
  const Reached now = Reach(*setup, base, solved[0], goal);
  out.now = now.value;
  out.limited_by = now.limited_by;
  std::vector<Candidate> candidates = CandidateList(rig, solved[0], shelf).Make();
  for (std::size_t done = 0; done < candidates.size(); ++done) {
    Candidate& candidate = candidates[done];
    const SearchStep step = progress ? progress(done, candidates.size()) : SearchStep::kGoOn;
    if (step == SearchStep::kCancel) return Fail(ErrorCode::kCancelled, "the search for what to change first was stopped.");
    if (step == SearchStep::kEnd) {
      out.not_tried = candidates.size() - done;
      break;
    }
    const auto changed = Setup::Make(candidate.rig);
    if (!changed) {
      out.left_out.push_back(fmt::format("{}: {}", candidate.words, changed.error().message));
      continue;
    }
    RankedChange change{candidate.element, candidate.stage, candidate.words, candidate.estimated, {}, {}, {}, std::move(candidate.takes)};
    const Reached reached = Reach(*changed, candidate.rig.asked.points.front(), solved[0], goal);
    change.value = reached.value;
    change.limited_by = reached.limited_by;
    if (change.value && out.now) change.gain = DefinitionOf(goal).more_is_better ? *change.value - *out.now : *out.now - *change.value;
    out.changes.push_back(std::move(change));
  }
  // What holds before what does not; then the gain, in steps that nobody would pay for apart; then what it costs.
  const double scale = out.now ? std::max(std::abs(*out.now), 1e-9) : 1.0;
  const auto rank = [&](const RankedChange& change) {
    if (!change.value) return -1e300;
    const double better = DefinitionOf(goal).more_is_better ? *change.value : -*change.value;
    return std::round(better / scale * 500.0);
  };
  std::stable_sort(out.changes.begin(), out.changes.end(), [&](const RankedChange& a, const RankedChange& b) {
    if (rank(a) != rank(b)) return rank(a) > rank(b);
    if (a.element != b.element) return a.element < b.element;
    return !a.estimated && b.estimated;
  });
  return out;
}

}  // namespace islebook
