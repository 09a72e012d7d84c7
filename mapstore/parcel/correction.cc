#include "mapstore/parcel/correction.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/validate.h"
#include "mapstore/parcel/sheet_places.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr int kPointDigits = 8;  // as documents write them

std::unexpected<Error> Bad(std::string why, std::string place = {}) { return Fail(ErrorCode::kBadTable, std::move(why), std::move(place)); }

Point2 Rounded(Point2 p) { return {RoundToDigits(p.x, kPointDigits), RoundToDigits(p.y, kPointDigits)}; }

std::string UnitHere(const std::string& unit) { return unit.empty() || unit == "1" ? "" : " " + unit; }

std::string ValueInWords(const std::optional<double>& value, const std::string& unit) {
  return value ? NumberInWords(*value) + UnitHere(unit) : "no value";
}

std::string CountOf(std::size_t n, const char* one, const char* many) { return fmt::format("{} {}", n, n == 1 ? one : many); }

// What to multiply a table's values by to have them in the unit of the axis.
Result<double> FactorTo(const Axis& axis, const TableAxis& given, const char* name) {
  if (given.quantity && *given.quantity != axis.quantity)
    return Bad(fmt::format("its {} is {}, but the map's is {}; change the quantity on the sheet Map if it is wrong.", name,
                           QuantityInWords(*given.quantity), QuantityInWords(axis.quantity)));
  if (given.unit.empty() || given.unit == axis.unit) return 1.0;
  const Result<double> factor = ConvertValue(1.0, given.unit, axis.unit);
  if (!factor) return Bad(fmt::format("its {} is in {}, which cannot be turned into the map's {}.", name, given.unit, axis.unit));
  return *factor;
}

// The base's point that each given one is, in order, as long a run as possible; nullopt: a new or moved one. Equal counts are paired place by place where nothing
// else says better.
std::vector<std::optional<std::size_t>> SamePoints(const std::vector<Point2>& before, const std::vector<Point2>& after) {
  std::vector<std::optional<std::size_t>> same(after.size());
  if (before.size() == after.size()) {
    for (std::size_t i = 0; i < after.size(); ++i)
      if (before[i] == after[i]) same[i] = i;
    return same;
  }
  // A point's places in the base, taken in rising order.
  std::map<std::pair<double, double>, std::vector<std::size_t>> places;
  for (std::size_t i = 0; i < before.size(); ++i) places[{before[i].x, before[i].y}].push_back(i);
  std::size_t next = 0;
  for (std::size_t i = 0; i < after.size(); ++i) {
    const auto found = places.find({after[i].x, after[i].y});
    if (found == places.end()) continue;
    const auto place = std::lower_bound(found->second.begin(), found->second.end(), next);
    if (place == found->second.end()) continue;
    same[i] = *place;
    next = *place + 1;
  }
  return same;
}

// Distance from a point to a line of points, per direction in axis units, at the nearest place by frame fractions.
Point2 OffLine(const Point2& p, const std::vector<Point2>& line, const Axis& x, const Axis& y) {
  const double span_x = std::fabs(x.max - x.min), span_y = std::fabs(y.max - y.min);
  Point2 nearest{};
  double least = INFINITY;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Point2 a = line[i], b = line[std::min(i + 1, line.size() - 1)];
    const double dx = (b.x - a.x) / span_x, dy = (b.y - a.y) / span_y, px = (p.x - a.x) / span_x, py = (p.y - a.y) / span_y;
    const double length = dx * dx + dy * dy;
    const double t = length > 0 ? std::clamp((px * dx + py * dy) / length, 0.0, 1.0) : 0.0;
    const double ex = px - t * dx, ey = py - t * dy;
    if (ex * ex + ey * ey < least) {
      least = ex * ex + ey * ey;
      nearest = {std::fabs(ex) * span_x, std::fabs(ey) * span_y};
    }
  }
  return nearest;
}

class Corrector {
 public:
  Corrector(const PerformanceMap& base, const CurveTables& tables) : base_(base), tables_(tables) { out_.map = base; }

  Result<MapCorrection> Run() {
    CorrectFacts();
    if (const Result<void> good = FindFactors(); !good) return std::unexpected(good.error());
    if (const Result<void> matched = Match(); !matched) return std::unexpected(matched.error());
    places_ = SheetPlaces(base_);
    out_.map.curves.clear();
    for (std::size_t i = 0; i < base_.curves.size(); ++i) {
      if (!given_[i]) {
        out_.changes.push_back(fmt::format("{} is removed", CurveInWords(base_.curves[i])));
        out_.curves.push_back({CurveChange::What::kRemoved, base_.curves[i], std::nullopt});
        continue;
      }
      Result<Curve> curve = CorrectCurve(base_.curves[i], *given_[i]);
      if (!curve) return std::unexpected(curve.error());
      out_.map.curves.push_back(std::move(*curve));
    }
    for (const TableCurve* added : added_) {
      Curve curve;
      curve.role = added->role;
      curve.value = added->value;
      curve.unit = added->unit;
      curve.closed = added->closed.value_or(added->role == CurveRole::kEfficiencyIsland);
      curve.needs_review = added->needs_review.value_or(false);
      if (curve.role == CurveRole::kOther) curve.needs_review = true;
      if (curve.needs_review) curve.reasons = {"added by hand in a table"};
      TakePoints(nullptr, *added, curve);
      out_.changes.push_back(fmt::format("{} is added, with {}", CurveInWords(curve), CountOf(curve.points.size(), "point", "points")));
      out_.curves.push_back({CurveChange::What::kAdded, std::nullopt, curve});
      out_.map.curves.push_back(std::move(curve));
    }
    if (const Result<void> sane = CheckWritable(out_.map); !sane) return std::unexpected(sane.error());
    if (!out_.changes.empty()) FindDoubts();
    return std::move(out_);
  }

 private:
  void CorrectFacts() {
    PerformanceMap& map = out_.map;
    if (tables_.title && *tables_.title != map.title) {
      out_.changes.push_back(fmt::format("the title is \"{}\", was \"{}\"", *tables_.title, map.title));
      map.title = *tables_.title;
      out_.title_changed = true;
    }
    if (tables_.kind && tables_.kind != map.kind) {
      out_.changes.push_back(
          fmt::format("the map is of a {}, was {}", MapKindName(*tables_.kind), map.kind ? MapKindName(*map.kind) : "of no known kind"));
      map.kind = tables_.kind;
      out_.axes_changed = true;
    }
    if (tables_.reference_conditions && tables_.reference_conditions != map.reference_conditions) {
      const auto words = [](const ReferenceConditions& at) {
        return fmt::format("{} K, {} Pa ({})", NumberInWords(at.temperature_K), NumberInWords(at.pressure_Pa),
                           at.basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed");
      };
      std::string change = "the reference conditions are " + words(*tables_.reference_conditions);
      if (map.reference_conditions) {
        const ReferenceConditions &was = *map.reference_conditions, &is = *tables_.reference_conditions;
        // Corrected flow is W sqrt(T/T_ref) / (p/p_ref): the same printed number stands for another mass flow (definition of corrected flow, common practice).
        const double factor = is.pressure_Pa / was.pressure_Pa * std::sqrt(was.temperature_K / is.temperature_K);
        change += fmt::format(", were {}; flows read from the map stand for {:+.1f} % of mass", words(was), 100.0 * (factor - 1.0));
      }
      out_.changes.push_back(std::move(change));
      map.reference_conditions = tables_.reference_conditions;
      out_.reference_changed = true;
    }
    const auto axis = [&](const char* name, const std::optional<Axis>& given, std::optional<Axis>& here) {
      if (!given || given == here) return;
      const auto words = [](const Axis& one) {
        return fmt::format("{} {} to {}{}{}", QuantityInWords(one.quantity), NumberInWords(one.min), NumberInWords(one.max), UnitHere(one.unit),
                           one.scale == AxisScale::kLog ? ", log" : "");
      };
      out_.changes.push_back(fmt::format("the axis {} is {}, was {}", name, words(*given), here ? words(*here) : "not there"));
      here = given;
      out_.axes_changed = true;
    };
    axis("x", tables_.printed_x, map.x);
    axis("y", tables_.printed_y, map.y);
    axis("efficiency", tables_.printed_efficiency, map.efficiency);
  }

  Result<void> FindFactors() {
    // Points are in the units that the table's own headers give; where the sheet Map changes an axis's unit the points must follow, and FactorTo says if they do not.
    const std::tuple<const std::optional<Axis>*, const TableAxis*, const char*, double*> axes[] = {
        {&out_.map.x, &tables_.x, "x", &factor_x_},
        {&out_.map.y, &tables_.y, "y", &factor_y_},
        {&out_.map.efficiency, &tables_.efficiency, "efficiency", &factor_efficiency_}};
    for (const auto& [axis, given, name, factor] : axes) {
      if (!*axis) continue;
      const Result<double> found = FactorTo(**axis, *given, name);
      if (!found) return std::unexpected(found.error());
      *factor = *found;
    }
    return {};
  }

  Result<void> Match() {
    given_.assign(base_.curves.size(), nullptr);
    std::vector<const TableCurve*> loose;
    for (const TableCurve& curve : tables_.curves) {
      if (curve.number && *curve.number <= static_cast<std::int64_t>(base_.curves.size()))
        given_[static_cast<std::size_t>(*curve.number - 1)] = &curve;
      else if (curve.number)
        added_.push_back(&curve);
      else
        loose.push_back(&curve);
    }
    const bool numbered = std::any_of(given_.begin(), given_.end(), [](const TableCurve* curve) { return curve != nullptr; });
    for (const TableCurve* curve : loose) {
      std::vector<std::size_t> fits;
      if (!numbered)
        for (std::size_t i = 0; i < base_.curves.size(); ++i)
          if (given_[i] == nullptr && base_.curves[i].role == curve->role && base_.curves[i].value == curve->value) fits.push_back(i);
      if (fits.size() > 1)
        return Bad(
            fmt::format("the map has {} that could be this {}; export it again and keep the column curve.", fits.size(), CurveRoleName(curve->role)),
            curve->place);
      if (fits.empty())
        added_.push_back(curve);
      else
        given_[fits[0]] = curve;
    }
    return {};
  }

  // Points, their uncertainty and their places on the sheet. `before`: nullptr for a new curve.
  void TakePoints(const Curve* before, const TableCurve& given, Curve& curve) {
    const bool on_efficiency = given.role == CurveRole::kEfficiencyLine && out_.map.efficiency;
    std::vector<Point2> points;
    for (const Point2& p : given.points) points.push_back(Rounded({p.x * factor_x_, p.y * (on_efficiency ? factor_efficiency_ : factor_y_)}));
    std::vector<std::optional<std::size_t>> same(points.size());
    if (before != nullptr) {
      std::vector<Point2> old;
      for (const Point2& p : before->points) old.push_back(Rounded(p));
      same = SamePoints(old, points);
    }
    const bool wants_px = before != nullptr ? !before->points_px.empty() : !base_.curves.empty() && !base_.curves.front().points_px.empty();
    const bool wants_sigma = before != nullptr ? !before->sigma.empty() : true;
    std::vector<Point2> px, sigma;
    bool have_px = wants_px, have_sigma = wants_sigma;
    for (std::size_t i = 0; i < points.size(); ++i) {
      if (same[i] && have_px) {
        px.push_back(before->points_px[*same[i]]);
      } else if (have_px) {
        const std::optional<Point2> place = places_->PlaceOf(points[i], on_efficiency);
        have_px = place.has_value();
        if (place) px.push_back({RoundToPlaces(place->x, 3), RoundToPlaces(place->y, 3)});
      }
      if (!have_sigma) continue;
      const double factor_y = on_efficiency ? factor_efficiency_ : factor_y_;
      if (same[i])
        sigma.push_back(before->sigma[*same[i]]);
      else if (given.sigma[i])
        sigma.push_back({RoundToDigits(given.sigma[i]->x * factor_x_, 4), RoundToDigits(given.sigma[i]->y * factor_y, 4)});
      else if (before != nullptr)
        sigma.push_back(before->sigma[std::min(i, before->sigma.size() - 1)]);
      else
        have_sigma = false;
    }
    curve.points = std::move(points);
    curve.points_px = have_px ? std::move(px) : std::vector<Point2>();
    curve.sigma = have_sigma ? std::move(sigma) : std::vector<Point2>();
  }

  Result<Curve> CorrectCurve(const Curve& before, const TableCurve& given) {
    Curve curve = before;
    const std::string name = CurveInWords(before);
    if (given.role != before.role || given.value != before.value || (given.value && given.unit != before.unit)) {
      curve.role = given.role;
      curve.value = given.value;
      curve.unit = given.value ? given.unit : "";
      std::string change = name + " is";
      if (given.role != before.role) change = fmt::format("{} is a {}", name, CurveRoleName(given.role));
      if (given.value != before.value || (given.value && given.unit != before.unit))
        change += fmt::format("{} {}, was {}", given.role != before.role ? " with" : "", ValueInWords(given.value, given.unit),
                              ValueInWords(before.value, before.unit));
      out_.changes.push_back(std::move(change));
      out_.curves.push_back({CurveChange::What::kMeaning, before, curve});
    }
    if (given.closed && *given.closed != before.closed) {
      curve.closed = *given.closed;
      out_.changes.push_back(fmt::format("{} is {}", name, curve.closed ? "closed" : "open"));
    }
    const Curve as_before = curve;
    TakePoints(&before, given, curve);
    std::vector<Point2> old;
    for (const Point2& p : before.points) old.push_back(Rounded(p));
    if (curve.points == old) {
      curve.points = as_before.points;
      curve.points_px = as_before.points_px;
      curve.sigma = as_before.sigma;
    } else {
      SayPoints(before, old, curve, name);
      out_.curves.push_back({CurveChange::What::kPoints, before, curve});
    }
    if (given.needs_review && *given.needs_review != before.needs_review) {
      curve.needs_review = *given.needs_review;
      if (curve.needs_review) {
        if (curve.reasons.empty()) curve.reasons = {"doubted by hand in a table"};
        out_.changes.push_back(name + " is to be looked at");
      } else {
        curve.reasons.clear();
        out_.changes.push_back(name + " was looked at and found right");
      }
      out_.curves.push_back({curve.needs_review ? CurveChange::What::kDoubted : CurveChange::What::kAccepted, before, curve});
    }
    return curve;
  }

  void SayPoints(const Curve& before, const std::vector<Point2>& old, const Curve& curve, const std::string& name) {
    const std::optional<Axis>& y_axis = before.role == CurveRole::kEfficiencyLine && base_.efficiency ? base_.efficiency : base_.y;
    std::set<std::pair<double, double>> was;
    for (const Point2& p : old) was.insert({p.x, p.y});
    std::size_t moved = 0;
    Point2 most{};
    for (const Point2& p : curve.points) {
      if (was.contains({p.x, p.y})) continue;
      ++moved;
      if (!base_.x || !y_axis) continue;
      const Point2 off = OffLine(p, old, *base_.x, *y_axis);
      most = {std::max(most.x, off.x), std::max(most.y, off.y)};
    }
    std::string change = fmt::format("{}: ", name);
    if (curve.points.size() != old.size()) change += fmt::format("{}, had {}", CountOf(curve.points.size(), "point", "points"), old.size());
    if (moved > 0) {
      change += fmt::format("{}{} new or moved", curve.points.size() != old.size() ? "; " : "", CountOf(moved, "point", "points"));
      if (base_.x && y_axis)
        change += fmt::format(", by up to {}{} and {}{} off the line as it was", NumberInWords(most.x, 3), UnitHere(base_.x->unit),
                              NumberInWords(most.y, 3), UnitHere(y_axis->unit));
    }
    if (moved == 0 && curve.points.size() == old.size()) change += "its points are in another order";
    out_.changes.push_back(std::move(change));
  }

  // What the checks find now and did not before stands on the curve that it is about.
  void FindDoubts() {
    std::set<std::string> known;
    for (const Finding& finding : ValidateMap(base_)) known.insert(finding.sentence);
    for (const Finding& finding : ValidateMap(out_.map)) {
      if (finding.severity == Severity::kRemark || known.contains(finding.sentence)) continue;
      out_.doubts.push_back(finding.sentence);
      if (finding.curve) {
        Curve& curve = out_.map.curves[*finding.curve];
        curve.needs_review = true;
        if (std::find(curve.reasons.begin(), curve.reasons.end(), finding.sentence) == curve.reasons.end()) curve.reasons.push_back(finding.sentence);
      } else if (std::find(out_.map.needs_review.begin(), out_.map.needs_review.end(), finding.sentence) == out_.map.needs_review.end()) {
        out_.map.needs_review.push_back(finding.sentence);
      }
    }
  }

  const PerformanceMap& base_;
  const CurveTables& tables_;
  MapCorrection out_;
  double factor_x_ = 1.0, factor_y_ = 1.0, factor_efficiency_ = 1.0;
  std::vector<const TableCurve*> given_;  // by the base's curve
  std::vector<const TableCurve*> added_;
  std::optional<SheetPlaces> places_;
};

}  // namespace

Result<MapCorrection> CorrectMap(const PerformanceMap& base, const CurveTables& tables) { return Corrector(base, tables).Run(); }

}  // namespace islebook
