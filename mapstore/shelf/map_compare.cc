#include "mapstore/shelf/map_compare.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/curve_words.h"
#include "mapstore/shelf/curve_motion.h"
#include "mapstore/units/correction.h"

namespace islebook {
namespace {

// Two digits are enough to judge a change.
std::string Amount(double value) { return NumberInWords(value, 2); }

std::string WithUnit(const std::string& number, const std::string& unit) { return unit.empty() || unit == "1" ? number : number + " " + unit; }

std::string Conditions(const std::optional<ReferenceConditions>& conditions) {
  if (!conditions) return "none";
  return fmt::format("{} K, {} Pa ({})", NumberInWords(conditions->temperature_K), NumberInWords(conditions->pressure_Pa),
                     conditions->basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed");
}

std::string Percent(double fraction) { return fmt::format("{:+.1f} %", 100.0 * fraction); }

// However it is spelled.
bool SameJson(const std::string& a, const std::string& b) {
  if (a == b) return true;
  const Result<std::string> first = CanonicalJson(a), second = CanonicalJson(b);
  return first && second && *first == *second;
}

std::string ValueWords(const Curve& curve) {
  return curve.value ? WithUnit(NumberInWords(*curve.value), curve.unit) : std::string("without a value");
}

std::string Quoted(const std::string& text) { return text.empty() ? std::string("no title") : "\"" + text + "\""; }

class Comparison {
 public:
  Comparison(const PerformanceMap& before, const PerformanceMap& after) : before_(before), after_(after) {}

  void Whole() {
    if (before_.kind != after_.kind)
      Add(ChangeKind::kMeaning, fmt::format("The map is now a {} map, not a {} one.", KindWord(after_.kind), KindWord(before_.kind)));
    if (before_.title != after_.title)
      Add(ChangeKind::kMeaning, fmt::format("The title is now {}, not {}.", Quoted(after_.title), Quoted(before_.title)));
    CompareAxis("x axis", before_.x, after_.x);
    CompareAxis("y axis", before_.y, after_.y);
    CompareAxis("efficiency axis", before_.efficiency, after_.efficiency);
    CompareReference();
    CompareCalibration();
    if (before_.source != after_.source) {
      const bool same_sheet = before_.source && after_.source && before_.source->sha256 == after_.source->sha256;
      Add(ChangeKind::kSource, same_sheet       ? "The sheet is the same, under another name, page or size."
                               : !after_.source ? "The map names no sheet any more."
                               : !before_.source
                                   ? "The map now names its sheet, " + after_.source->file + "."
                                   : fmt::format("The map is now from another sheet, {}, not {}.", after_.source->file, before_.source->file));
    }
    if (!SameJson(before_.recipe_json, after_.recipe_json))
      Add(ChangeKind::kRecipe, after_.recipe_json.empty()    ? "The recipe is gone."
                               : before_.recipe_json.empty() ? "There is a recipe now."
                                                             : "The recipe changed.");
    for (const std::string& doubt : after_.needs_review)
      if (std::find(before_.needs_review.begin(), before_.needs_review.end(), doubt) == before_.needs_review.end())
        Add(ChangeKind::kDoubts, "New doubt: " + doubt);
    for (const std::string& doubt : before_.needs_review)
      if (std::find(after_.needs_review.begin(), after_.needs_review.end(), doubt) == after_.needs_review.end())
        Add(ChangeKind::kDoubts, "No longer in doubt: " + doubt);
  }

  void Curves() {
    const auto matches = MatchCurves(before_, after_);
    for (std::size_t j = 0; j < after_.curves.size(); ++j) {
      const auto from = std::find(matches.begin(), matches.end(), std::optional(j));
      if (from == matches.end())
        Add(ChangeKind::kCurveAdded, Capitalized(CurveInWords(after_.curves[j])) + " is new.", std::nullopt, j);
      else
        OneCurve(static_cast<std::size_t>(from - matches.begin()), j);
    }
    for (std::size_t i = 0; i < before_.curves.size(); ++i)
      if (!matches[i]) Add(ChangeKind::kCurveRemoved, Capitalized(CurveInWords(before_.curves[i])) + " is gone.", i, std::nullopt);
  }

  void OneCurve(std::size_t i, std::size_t j) {
    const Curve& before = before_.curves[i];
    const Curve& after = after_.curves[j];
    const std::string name = Capitalized(CurveInWords(before));
    if (before.role != after.role) {
      Add(ChangeKind::kCurveRole, fmt::format("{} is now {}.", name, CurveInWords(after)), i, j);
    } else if (before.value != after.value || before.unit != after.unit) {
      Add(ChangeKind::kCurveValue, fmt::format("{} is now labeled {}, not {}.", name, ValueWords(after), ValueWords(before)), i, j);
    }
    const std::string now = Capitalized(CurveInWords(after));
    if (before.points != after.points || before.closed != after.closed) Motion(before, after, now, i, j);
    if (before.sigma != after.sigma || before.confidence != after.confidence) {
      const double was = MeanSigma(before), is = MeanSigma(after);
      if (before.confidence != after.confidence)
        Add(ChangeKind::kCurveUncertainty, fmt::format("{}: confidence {:.2g}, was {:.2g}.", now, after.confidence, before.confidence), i, j);
      else if (was > 0 && is > 0 && std::abs(is / was - 1.0) > 0.05)
        Add(ChangeKind::kCurveUncertainty, fmt::format("{}: its uncertainty is {:.2g} times what it was.", now, is / was), i, j);
      else if (before.points == after.points)
        Add(ChangeKind::kCurveUncertainty, fmt::format("{}: its uncertainty is stated anew.", now), i, j);
    }
    if (before.needs_review != after.needs_review || before.reasons != after.reasons) {
      std::string reasons;
      for (const std::string& reason : after.reasons) reasons += (reasons.empty() ? "" : "; ") + reason;
      Add(ChangeKind::kCurveReview,
          after.needs_review ? fmt::format("{} needs a look: {}", now, reasons) : fmt::format("{} no longer needs a look.", now), i, j);
    }
  }

  std::vector<MapChange> Take() { return std::move(changes_); }

 private:
  static const char* KindWord(const std::optional<MapKind>& kind) {
    return !kind ? "not known" : *kind == MapKind::kCompressor ? "compressor" : "turbine";
  }

  void Add(ChangeKind kind, std::string sentence, std::optional<std::size_t> before = std::nullopt, std::optional<std::size_t> after = std::nullopt,
           std::optional<double> amount = std::nullopt, std::string unit = {}, std::optional<Point2> at = std::nullopt) {
    changes_.push_back({kind, std::move(sentence), before, after, amount, std::move(unit), at});
  }

  void CompareAxis(const char* word, const std::optional<Axis>& before, const std::optional<Axis>& after) {
    if (before == after) return;
    if (!before || !after) {
      Add(ChangeKind::kMeaning, fmt::format("There is {} {} now.", after ? "an" : "no", word));
      return;
    }
    if (before->quantity != after->quantity)
      Add(ChangeKind::kMeaning, fmt::format("The {} is now {}, not {}.", word, QuantityInWords(after->quantity), QuantityInWords(before->quantity)));
    if (before->unit != after->unit)
      Add(ChangeKind::kAxis,
          fmt::format("The {} is now in {}, not in {}: the same printed number means another value.", word, after->unit, before->unit));
    if (before->scale != after->scale)
      Add(ChangeKind::kAxis, fmt::format("The {} now has a {} scale.", word, after->scale == AxisScale::kLog ? "logarithmic" : "linear"));
    if (before->min != after->min || before->max != after->max)
      Add(ChangeKind::kAxis, fmt::format("The {} now runs from {} to {}, not from {} to {}.", word, NumberInWords(after->min),
                                         WithUnit(NumberInWords(after->max), after->unit), NumberInWords(before->min),
                                         WithUnit(NumberInWords(before->max), before->unit)));
  }

  // What the printed numbers now mean, said at the earlier conditions.
  void CompareReference() {
    const auto& from = before_.reference_conditions;
    const auto& to = after_.reference_conditions;
    if (from == to) return;
    std::string sentence = fmt::format("Reference conditions changed from {} to {}", Conditions(from), Conditions(to));
    std::optional<double> flow_shift;
    if (from && to && (from->temperature_K != to->temperature_K || from->pressure_Pa != to->pressure_Pa)) {
      const Axis* flow = nullptr;
      for (const auto* axis : {&after_.x, &after_.y})
        if (*axis && ((*axis)->quantity == Quantity::kCorrectedMassFlow || (*axis)->quantity == Quantity::kCorrectedVolumeFlow)) flow = &**axis;
      if (flow != nullptr && flow->quantity == Quantity::kCorrectedMassFlow)
        flow_shift = ChangeReference(CorrectedMassFlow::KilogramsPerSecond(1.0), *to, *from).kilograms_per_second() - 1.0;
      else if (flow != nullptr)
        flow_shift = ChangeReference(CorrectedVolumeFlow::CubicMetersPerSecond(1.0), *to, *from).cubic_meters_per_second() - 1.0;
      const double speed_shift = std::sqrt(from->temperature_K / to->temperature_K) - 1.0;
      if (flow_shift) sentence += ": flows shift by " + Percent(*flow_shift);
      sentence += fmt::format("{} speeds by {}", flow_shift ? "," : ":", Percent(speed_shift));
    }
    Add(ChangeKind::kReference, sentence + ".", std::nullopt, std::nullopt, flow_shift ? std::optional(100.0 * *flow_shift) : std::nullopt,
        flow_shift ? "%" : "");
  }

  void CompareCalibration() {
    const auto& from = before_.calibration;
    const auto& to = after_.calibration;
    if (from == to) return;
    if (!from || !to) {
      Add(ChangeKind::kCalibration, to ? "There is a calibration now." : "The calibration is gone.");
      return;
    }
    double moved = 0.0;
    for (std::size_t i = 0; i < 4; ++i)
      moved = std::max(moved, std::hypot(to->frame_px[i].x - from->frame_px[i].x, to->frame_px[i].y - from->frame_px[i].y));
    Add(ChangeKind::kCalibration,
        fmt::format("The calibration changed: the frame's corners moved by up to {} px, the residual is {} px, was {} px.", Amount(moved),
                    Amount(to->residual_px), Amount(from->residual_px)),
        std::nullopt, std::nullopt, moved, "px");
  }

  static double MeanSigma(const Curve& curve) {
    double sum = 0.0;
    for (const Point2& sigma : curve.sigma) sum += std::hypot(sigma.x, sigma.y);
    return curve.sigma.empty() ? 0.0 : sum / static_cast<double>(curve.sigma.size());
  }

  void Motion(const Curve& before, const Curve& after, const std::string& name, std::size_t i, std::size_t j) {
    const CurveMotion motion = MotionOf(before_, before, after_, after);
    const auto amount_of = [&](const Shift& shift) {
      const bool along_x = std::abs(shift.frame_dx) >= std::abs(shift.frame_dy);
      const Axis* axis = along_x ? AxisX(after_) : AxisY(after_, after);
      const double amount = std::abs(along_x ? shift.to.x - shift.from.x : shift.to.y - shift.from.y);
      const std::string unit = axis == nullptr ? "" : axis->unit;
      return std::pair(amount, unit);
    };
    const auto words_of = [&](const Shift& shift) {
      const auto [amount, unit] = amount_of(shift);
      const bool along_x = std::abs(shift.frame_dx) >= std::abs(shift.frame_dy);
      const Axis* axis = along_x ? AxisX(after_) : AxisY(after_, after);
      std::string text = WithUnit(Amount(amount), unit);
      if ((unit.empty() || unit == "1") && axis != nullptr) text += fmt::format(" in {}", QuantityInWords(axis->quantity));
      return text;
    };
    std::string within;
    if (motion.moved && motion.moved->within_sigma) within = ", which is within its uncertainty";
    const bool area = motion.area_ratio && std::abs(*motion.area_ratio - 1.0) > 0.002;
    if (area) {
      const double percent = 100.0 * (*motion.area_ratio - 1.0);
      std::string sentence = fmt::format("{} {} by {} % of its area", name, percent > 0 ? "grew" : "shrank", Amount(std::abs(percent)));
      if (motion.moved) sentence += fmt::format("; its edge moved by up to {}{}", words_of(*motion.moved), within);
      Add(percent > 0 ? ChangeKind::kIslandGrew : ChangeKind::kIslandShrank, sentence + ".", i, j, std::abs(percent), "%",
          motion.moved ? std::optional(motion.moved->to) : std::nullopt);
      return;
    }
    bool said = false;
    if (motion.moved && std::hypot(motion.moved->frame_dx, motion.moved->frame_dy) > kStillInFrame) {
      const auto [amount, unit] = amount_of(*motion.moved);
      Add(ChangeKind::kCurveMoved, fmt::format("{} moved by up to {}{}.", name, words_of(*motion.moved), within), i, j, amount, unit,
          motion.moved->to);
      said = true;
    }
    for (const auto& [shift, word] : {std::pair(&motion.longer, "longer"), std::pair(&motion.shorter, "shorter")}) {
      if (!*shift || std::hypot((*shift)->frame_dx, (*shift)->frame_dy) <= kStillInFrame) continue;
      const auto [amount, unit] = amount_of(**shift);
      Add(ChangeKind::kCurveReach, fmt::format("{} is {} by {} at an end.", name, word, words_of(**shift)), i, j, amount, unit, (*shift)->to);
      said = true;
    }
    if (before.closed != after.closed)
      Add(ChangeKind::kCurveMoved, fmt::format("{} is now {}.", name, after.closed ? "closed" : "open"), i, j, 0.0);
    else if (!said)
      Add(ChangeKind::kCurveMoved, fmt::format("{} is drawn by other points and stays where it was.", name), i, j, 0.0);
  }

  static const Axis* AxisX(const PerformanceMap& map) { return map.x ? &*map.x : nullptr; }
  static const Axis* AxisY(const PerformanceMap& map, const Curve& curve) {
    if (curve.role == CurveRole::kEfficiencyLine && map.efficiency) return &*map.efficiency;
    return map.y ? &*map.y : nullptr;
  }

  const PerformanceMap& before_;
  const PerformanceMap& after_;
  std::vector<MapChange> changes_;
};

}  // namespace

const char* ChangeKindName(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::kMeaning: return "meaning";
    case ChangeKind::kAxis: return "axis";
    case ChangeKind::kReference: return "reference_conditions";
    case ChangeKind::kCalibration: return "calibration";
    case ChangeKind::kSource: return "source";
    case ChangeKind::kRecipe: return "recipe";
    case ChangeKind::kDoubts: return "doubts";
    case ChangeKind::kCurveAdded: return "curve_added";
    case ChangeKind::kCurveRemoved: return "curve_removed";
    case ChangeKind::kCurveMoved: return "curve_moved";
    case ChangeKind::kCurveReach: return "curve_reach";
    case ChangeKind::kIslandGrew: return "island_grew";
    case ChangeKind::kIslandShrank: return "island_shrank";
    case ChangeKind::kCurveValue: return "curve_value";
    case ChangeKind::kCurveRole: return "curve_role";
    case ChangeKind::kCurveUncertainty: return "curve_uncertainty";
    case ChangeKind::kCurveReview: return "curve_review";
  }
  return "other";
}

std::vector<MapChange> CompareMaps(const PerformanceMap& before, const PerformanceMap& after) {
  Comparison comparison(before, after);
  comparison.Whole();
  comparison.Curves();
  return comparison.Take();
}

std::vector<MapChange> CompareCurves(const PerformanceMap& before, std::size_t before_curve, const PerformanceMap& after, std::size_t after_curve) {
  Comparison comparison(before, after);
  comparison.OneCurve(before_curve, after_curve);
  return comparison.Take();
}

}  // namespace islebook
