#include "tests/support/chart_plan.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tests/support/level_set.h"

namespace islebook::paint {
namespace {

constexpr double kPound = 0.45359237;

double FlowFactor(const std::string& unit, double density) {  // unit per kg/s
  if (unit == "kg/s") return 1;
  if (unit == "g/s") return 1000;
  if (unit == "kg/min") return 60;
  if (unit == "kg/h") return 3600;
  if (unit == "lb/min") return 60 / kPound;
  if (unit == "lb/s") return 1 / kPound;
  if (unit == "m3/s") return 1 / density;
  if (unit == "m3/min") return 60 / density;
  if (unit == "m3/h") return 3600 / density;
  if (unit == "ft3/min") return 60 / density / std::pow(0.3048, 3);
  return 1;
}

bool IsVolume(const std::string& unit) { return unit.starts_with("m3") || unit.starts_with("ft3"); }

struct Step {
  double size;
  int minor;
  int decimals;
};

Step DrawStep(double span, int fewest, int most, Random& random) {
  std::vector<Step> fitting;
  for (int power = -5; power <= 5; ++power) {
    for (const auto& [digit, minor, extra] : {std::tuple{1.0, 5, 0}, {2.0, 4, 0}, {2.5, 5, 1}, {5.0, 5, 0}}) {
      const double size = digit * std::pow(10.0, power), count = span / size;
      if (count >= fewest && count <= most) fitting.push_back({size, minor, std::max(0, -power + extra)});
    }
  }
  if (fitting.empty()) return {span / fewest, 2, 3};
  return random.Pick(fitting);
}

AxisPlan LinearAxis(Quantity quantity, const std::string& unit, double low, double high, bool between_ticks, Random& random, int fewest = 5,
                    int most = 12) {
  AxisPlan plan;
  const Step step = DrawStep(high - low, fewest, most, random);
  const double part = between_ticks ? step.size / 2 : step.size;
  plan.axis = {quantity, unit, AxisScale::kLinear, std::floor(low / step.size + 1e-9) * step.size, std::ceil(high / part - 1e-9) * part};
  plan.decimals = step.decimals;
  const int minor = random.Pick({step.minor, 2, step.minor});
  const double small = step.size / minor;
  for (long k = std::lround(plan.axis.min / small); k <= std::lround(std::floor(plan.axis.max / small + 1e-6)); ++k)
    (k % minor == 0 ? plan.major : plan.minor).push_back(static_cast<double>(k) * small);
  return plan;
}

AxisPlan LogAxis(Quantity quantity, const std::string& unit, double low, double high) {
  AxisPlan plan;
  const auto decade = [](double v) { return std::pow(10.0, std::floor(std::log10(v) + 1e-9)); };
  plan.axis = {quantity, unit, AxisScale::kLog, std::floor(low / decade(low) + 1e-9) * decade(low),
               std::ceil(high / decade(high) - 1e-9) * decade(high)};
  for (double d = decade(plan.axis.min); d <= plan.axis.max * 1.001; d *= 10) {
    for (int k = 1; k <= 9; ++k) {
      const double v = k * d;
      if (v < plan.axis.min * 0.9999 || v > plan.axis.max * 1.0001) continue;
      const bool is_end = std::abs(v / plan.axis.min - 1) < 1e-6 || std::abs(v / plan.axis.max - 1) < 1e-6;
      (k == 1 || k == 2 || k == 5 || is_end || plan.axis.max / plan.axis.min < 12 ? plan.major : plan.minor).push_back(v);
    }
  }
  return plan;
}

std::string EfficiencyLabel(double level, const SheetStyle& style) {
  if (style.efficiency_unit == "%") return PrintNumber(level * 100, 0, style.numbers) + (style.percent_sign ? "%" : "");
  return PrintNumber(level, 2, style.numbers);
}

std::string SpeedLabel(double value, const SheetStyle& style) {
  std::string text = PrintShort(value, style.numbers);
  if (style.speed_unit == "%" && style.percent_sign) text += "%";
  return text;
}

// Speeds of the lines, as fractions of the design speed, and their printed values.
struct SpeedChoice {
  double n, value;
};

std::vector<SpeedChoice> ChooseSpeeds(double low, double high, double per_unit, Random& random) {
  // `per_unit`: printed value at n = 1.
  const double span = (high - low) * per_unit;
  std::vector<double> steps;
  for (int power = -1; power <= 5; ++power)
    for (double digit : {1.0, 1.2, 1.25, 1.5, 2.0, 2.5, 5.0}) {
      const double step = digit * std::pow(10.0, power), digits = per_unit > 1000 ? 500 : per_unit > 300 ? 10 : 2.5;
      if (span / step >= 4.5 && span / step <= 9.5 && std::abs(step / digits - std::round(step / digits)) < 1e-9) steps.push_back(step);
    }
  if (steps.empty()) {  // an odd step is still a round number
    const double decade = std::pow(10.0, std::floor(std::log10(span / 6)));
    steps.push_back(std::max(1.0, std::round(span / 6 / decade)) * decade);
  }
  const double step = random.Pick(steps);
  std::vector<SpeedChoice> out;
  for (long k = std::lround(std::ceil(low * per_unit / step - 1e-9)); k * step <= high * per_unit * (1 + 1e-9); ++k)
    out.push_back({k * step / per_unit, k * step});
  return out;
}

void DrawReference(ChartPlan& plan, const SheetStyle& style, Random& random, ReferenceNote& note) {
  note = DrawReferenceNote(style.language, random);
  if (random.Chance(style.reference_note_part)) {
    plan.truth.notes.push_back(note.text);
    plan.truth.reference_conditions = note.conditions;
  }
}

std::vector<Point2> SamplePlaces(const std::function<Point2(double)>& place) {
  std::vector<Point2> out;
  for (int i = 0; i <= 700; ++i) out.push_back(place(i / 700.0));
  return out;
}

}  // namespace

double AxisPlan::Part(double value) const {
  if (axis.scale == AxisScale::kLog) return std::log(value / axis.min) / std::log(axis.max / axis.min);
  return (value - axis.min) / (axis.max - axis.min);
}

ChartPlan PlanCompressor(const CompressorModel& model, const SheetStyle& style, Random& random) {
  ChartPlan plan;
  ReferenceNote note;
  DrawReference(plan, style, random, note);
  TrueMap& truth = plan.truth;
  truth.kind = MapKind::kCompressor;
  truth.title = SheetTitle(model.wheel, MapKind::kCompressor, style.language, random);
  const std::string unit = random.Pick(style.flow_units);
  const double density = note.conditions.pressure_Pa / (287.05 * note.conditions.temperature_K);
  const double factor = FlowFactor(unit, density);

  const double per_unit = style.speed_unit == "%"      ? 100
                          : style.speed_unit == "m/s"  ? model.tip_speed
                          : style.speed_unit == "krpm" ? model.design_rpm / 1000
                                                       : model.design_rpm;
  const std::vector<SpeedChoice> speeds = ChooseSpeeds(model.low_speed, model.high_speed, per_unit, random);
  const double low = speeds.front().n, high = speeds.back().n;
  plan.low_speed = low, plan.high_speed = high;
  const auto place = [model, factor](double s, double n) {
    const Point2 p = model.At(s, n);
    return Point2{p.x * factor, p.y};
  };
  plan.place_at = place;
  plan.efficiency_at = [model](double s, double n) { return model.Efficiency(s, n); };

  double x_high = 0, x_low = 1e300, y_high = 0;
  for (const SpeedChoice& speed : speeds) {
    TrueCurve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = speed.value, curve.unit = style.speed_unit;
    curve.points = SamplePlaces([&](double s) { return place(s, speed.n); });
    for (const Point2& p : curve.points) x_high = std::max(x_high, p.x), x_low = std::min(x_low, p.x), y_high = std::max(y_high, p.y);
    truth.curves.push_back(std::move(curve));
    plan.labels.push_back(random.Chance(style.unlabeled_part) ? "" : SpeedLabel(speed.value, style));
    std::vector<Point2> marks;
    const int count = random.Whole(5, 8);
    for (int i = 0; i <= count; ++i) marks.push_back(place(static_cast<double>(i) / count, speed.n));
    plan.marker_places.push_back(std::move(marks));
  }
  if (style.unit_at_top_label && (style.speed_unit == "rpm" || style.speed_unit == "m/s") && !plan.labels.back().empty())
    plan.labels.back() += style.speed_unit == "rpm" ? (style.language == Language::kGerman   ? " 1/min"
                                                       : style.language == Language::kFrench ? " tr/min"
                                                                                             : " rpm")
                                                    : " m/s";

  double peak = 0;
  for (int i = 0; i <= 100; ++i)
    for (int k = 0; k <= 100; ++k) peak = std::max(peak, model.Efficiency(i / 100.0, low + (high - low) * k / 100));
  int top = static_cast<int>(std::floor(peak * 100 - 0.35));
  static const std::vector<std::vector<int>> kSteps = {
      {0, 1, 2, 4, 6, 9, 13}, {0, 2, 4, 6, 8, 12}, {0, 1, 2, 3, 5, 7, 10, 15}, {0, 3, 6, 10, 15}, {0, 2, 5, 8, 12}};
  const std::vector<int> steps = random.Pick(kSteps);
  const double span = high - low;
  for (int below : steps) {
    const double level = (top - below) / 100.0;
    plan.levels.push_back(level);
    for (const LevelLine& line : LevelLines([&](double u, double v) { return model.Efficiency(u, low + v * span); }, level)) {
      TrueCurve curve;
      curve.role = CurveRole::kEfficiencyIsland;
      curve.value = style.efficiency_unit == "%" ? level * 100 : level, curve.unit = style.efficiency_unit;
      curve.closed = line.closed;
      for (const Point2& p : line.points) curve.points.push_back(place(p.x, low + p.y * span));
      truth.curves.push_back(std::move(curve));
      plan.labels.push_back(EfficiencyLabel(level, style));
    }
  }
  if (style.surge != SurgeLook::kNone) {
    TrueCurve curve;
    curve.role = CurveRole::kSurgeLine;
    curve.points = SamplePlaces([&](double t) { return place(0, low + t * span); });
    truth.curves.push_back(std::move(curve));
    plan.labels.emplace_back();
  }
  if (style.choke_line) {
    TrueCurve curve;
    curve.role = CurveRole::kChokeLine;
    curve.points = SamplePlaces([&](double t) { return place(1, low + t * span); });
    truth.curves.push_back(std::move(curve));
    plan.labels.emplace_back();
  }

  const Quantity flow = IsVolume(unit) ? Quantity::kCorrectedVolumeFlow : Quantity::kCorrectedMassFlow;
  plan.x = style.log_x ? LogAxis(flow, unit, x_low * 0.9, x_high * 1.08)
                       : LinearAxis(flow, unit, style.from_zero ? 0 : x_low * 0.8, x_high * 1.07, style.ends_between_ticks, random);
  plan.y = LinearAxis(Quantity::kPressureRatioTotalToTotal, "1", 1.0, 1 + (y_high - 1) * 1.06, style.ends_between_ticks, random);
  plan.x.title = XTitle(plan.x.axis, style.language, random);
  plan.y.title = YTitle(plan.y.axis, style.language, random);
  if (style.second_x_unit && !style.log_x) {
    const std::string other = unit == "lb/min" ? "kg/s" : unit == "kg/s" ? "lb/min" : "kg/min";
    const double ratio = FlowFactor(other, density) / factor;
    AxisPlan second = LinearAxis(flow, other, plan.x.axis.min * ratio, plan.x.axis.max * ratio, false, random, 5, 10);
    second.axis.min = plan.x.axis.min * ratio, second.axis.max = plan.x.axis.max * ratio;
    std::erase_if(second.major, [&](double v) { return v > second.axis.max * 1.0001 || v < second.axis.min * 0.9999; });
    second.minor.clear();
    second.title = XTitle(second.axis, style.language, random);
    plan.top = std::move(second);
  }
  truth.x = plan.x.axis, truth.y = plan.y.axis, truth.x_title = plan.x.title, truth.y_title = plan.y.title;
  if (style.speed_note) truth.notes.push_back(SpeedNote(style.speed_unit, style.language));

  while (truth.field_samples.size() < 200) {
    const double s = random.Between(0.02, 0.98), n = random.Between(low, high);
    const Point2 p = place(s, n);
    truth.field_samples.push_back({p.x, p.y, n * per_unit, model.Efficiency(s, n)});
  }
  return plan;
}

ChartPlan PlanTurbine(const TurbineModel& model, const SheetStyle& style, Random& random) {
  ChartPlan plan;
  TrueMap& truth = plan.truth;
  truth.kind = MapKind::kTurbine;
  truth.title = SheetTitle(model.wheel, MapKind::kTurbine, style.language, random);
  const std::string unit = random.Pick(style.flow_units);
  const bool parameter = unit == "kg s-1 K0.5 kPa-1";
  ReferenceNote note;
  if (!parameter)
    DrawReference(plan, style, random, note);
  else
    note = DrawReferenceNote(style.language, random);
  // The flow parameter brought to reference conditions is a corrected flow.
  const double factor = parameter ? 1.0 : note.conditions.pressure_Pa / 1000 / std::sqrt(note.conditions.temperature_K) * FlowFactor(unit, 1.2);

  std::vector<SpeedChoice> lines;
  if (model.has_vanes) {
    const int first = random.Pick({20, 20, 10}), step = random.Pick({20, 15, 25});
    for (int opening = first; opening <= 100; opening += step) lines.push_back({opening / 100.0, static_cast<double>(opening)});
  } else {
    lines = ChooseSpeeds(random.Between(0.42, 0.5), random.Between(1.0, 1.08), model.design_rpm, random);
    while (lines.size() > 6) {  // every other line, the last one kept
      std::vector<SpeedChoice> fewer;
      for (std::size_t i = 0; i < lines.size(); ++i)
        if ((lines.size() - 1 - i) % 2 == 0) fewer.push_back(lines[i]);
      lines = std::move(fewer);
    }
  }
  const double scale = style.efficiency_unit == "%" ? 100 : 1;
  double x_low = 1e300, x_high = 0, y_low = 1e300, y_high = 0, e_low = 1e300, e_high = 0;
  for (const SpeedChoice& line : lines) {
    const double from = model.FirstRatio(line.n), to = model.LastRatio(line.n);
    if (to < from + 0.1) continue;
    const std::string label = SpeedLabel(line.value, style);
    TrueCurve flow;
    flow.role = CurveRole::kFlowLine;
    flow.value = line.value, flow.unit = style.speed_unit;
    flow.points = SamplePlaces([&](double t) {
      const double x = from + t * (to - from);
      return Point2{x, model.Flow(x, line.n) * factor};
    });
    for (const Point2& p : flow.points)
      x_low = std::min(x_low, p.x), x_high = std::max(x_high, p.x), y_low = std::min(y_low, p.y), y_high = std::max(y_high, p.y);
    truth.curves.push_back(flow);
    plan.labels.push_back(label);
    if (style.efficiency_place == EfficiencyPlace::kNone) continue;
    TrueCurve efficiency = flow;
    efficiency.role = CurveRole::kEfficiencyLine, efficiency.on_efficiency_axis = true;
    efficiency.points = SamplePlaces([&](double t) {
      const double x = from + t * (to - from);
      return Point2{x, model.Efficiency(x, line.n) * scale};
    });
    for (const Point2& p : efficiency.points) e_low = std::min(e_low, p.y), e_high = std::max(e_high, p.y);
    truth.curves.push_back(efficiency);
    plan.labels.push_back(label);
  }
  // A speed line's number carries its unit somewhere.
  if (!model.has_vanes && !style.speed_note && !plan.labels.empty()) {
    for (std::size_t i = plan.labels.size(); i-- > 0;) {
      if (truth.curves[i].role != CurveRole::kFlowLine) continue;
      plan.labels[i] += style.language == Language::kGerman ? " 1/min" : style.language == Language::kFrench ? " tr/min" : " rpm";
      break;
    }
  }
  if (model.has_vanes)
    truth.notes.push_back(style.language == Language::kGerman   ? "Leitschaufel\u00f6ffnung in %"
                          : style.language == Language::kFrench ? "Ouverture des aubes en %"
                                                                : "Vane opening in %");
  else if (style.speed_note)
    truth.notes.push_back(SpeedNote(style.speed_unit, style.language));

  plan.x = LinearAxis(Quantity::kExpansionRatioTotalToStatic, "1", 1.0, x_high + 0.16 * (x_high - x_low), style.ends_between_ticks, random);
  // With a second axis the flow lines keep to the lower part and the efficiency lines to the upper one.
  const bool shared = style.efficiency_place == EfficiencyPlace::kSecondAxis;
  const double span = y_high - y_low;
  const double y_from = model.has_vanes || y_low < 0.5 * y_high ? 0 : y_low - 0.2 * span;
  plan.y = LinearAxis(parameter ? Quantity::kTurbineFlowParameter : Quantity::kCorrectedMassFlow, unit, y_from,
                      y_from + (y_high - y_from) * (shared ? 1.75 : 1.1), style.ends_between_ticks, random, 4, 9);
  plan.x.title = XTitle(plan.x.axis, style.language, random);
  plan.y.title = YTitle(plan.y.axis, style.language, random);
  truth.x = plan.x.axis, truth.y = plan.y.axis, truth.x_title = plan.x.title, truth.y_title = plan.y.title;
  if (style.efficiency_place != EfficiencyPlace::kNone) {
    const double e_span = std::max(e_high - e_low, 0.05 * scale);
    const double low = std::max(0.0, shared ? e_low - 1.3 * e_span : e_low - 0.15 * e_span);
    plan.efficiency =
        LinearAxis(Quantity::kEfficiencyTotalToStatic, style.efficiency_unit, low, e_high + 0.1 * e_span, style.ends_between_ticks, random, 4, 9);
    plan.efficiency->title = EfficiencyTitle(plan.efficiency->axis, style.language, random);
    truth.efficiency = plan.efficiency->axis;
  }
  while (truth.field_samples.size() < 100 && !lines.empty()) {
    const SpeedChoice& line = lines[static_cast<std::size_t>(random.Whole(0, static_cast<int>(lines.size()) - 1))];
    const double from = model.FirstRatio(line.n), to = model.LastRatio(line.n);
    if (to < from + 0.1) continue;
    const double x = random.Between(from, to);
    truth.field_samples.push_back({x, model.Flow(x, line.n) * factor, line.value, model.Efficiency(x, line.n)});
  }
  return plan;
}

}  // namespace islebook::paint
