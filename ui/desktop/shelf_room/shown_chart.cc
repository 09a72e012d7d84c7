#include "ui/desktop/shelf_room/shown_chart.h"

#include <algorithm>
#include <cmath>

#include <QCoreApplication>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/map_compare.h"
#include "ui/chart/chart_files.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/difference_overlay.h"
#include "ui/chart/said.h"
#include "ui/chart/ticks.h"
#include "ui/desk/answer_words.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(ShownChart)
};

constexpr double kLeastWithKey = 430.0;  // px: in a lower window the curves have all of the room

QString Text(const std::string& text) { return QString::fromStdString(text); }

const Axis* FlowAxis(const PerformanceMap& map) { return (RatioAlongX(map) ? map.y : map.x) ? &*(RatioAlongX(map) ? map.y : map.x) : nullptr; }

// The unit that a flow is drawn in by the person's habit; empty: as printed. A flow parameter and a volume flow stay as they are.
std::string HabitUnit(const PerformanceMap& map, const UnitHabit& units) {
  const Axis* flow = FlowAxis(map);
  if (flow == nullptr || flow->quantity != Quantity::kCorrectedMassFlow) return "";
  const std::string wanted = units.Of(ShopQuantity::kFlow).document;
  return wanted == flow->unit ? "" : wanted;
}

struct Read {
  ShownRevision shown;
  PerformanceMap map;
};

Result<Read> ReadMap(Shelf& shelf, const std::string& spec) {
  Result<ShownRevision> shown = shelf.Show(spec);
  if (!shown) return std::unexpected(shown.error());
  Result<PerformanceMap> map = ParseMapDocument(shown->document);
  if (!map) return std::unexpected(map.error());
  if (map->title.empty()) map->title = shown->name;
  return Read{std::move(*shown), std::move(*map)};
}

ShownMap Ready(Read read) {
  ShownMap map;
  map.name = read.shown.name;
  map.revision = read.shown.revision.id;
  map.printed = std::move(read.map);
  Result<AskableMap> askable = AskableMap::Make(map.printed, map.name, map.revision);
  if (askable)
    map.askable = std::make_shared<const AskableMap>(std::move(*askable));
  else
    map.cannot = askable.error().message;
  return map;
}

// A chart of one map, in the person's unit where that can be done.
void PutOnAxes(ShownChart& chart, const UnitHabit& units) {
  ShownMap& map = chart.maps.front();
  map.on_axes.map = map.printed;
  const std::string unit = HabitUnit(map.printed, units);
  if (unit.empty()) return;
  Result<std::vector<MapOnAxes>> brought = BringToCommonAxes({map.printed}, {.flow_unit = unit});
  if (brought) map.on_axes = std::move(brought->front());
}

QString SpeedLine(const AskableMap& map, const MapAnswer& answer, double factor, const UnitHabit& units) {
  std::string unit = map.speed_unit();
  if (unit == "rpm" || unit == "krpm") {  // a speed at the wheel's tip, or a share of the design's, stays as the map prints it
    const ShopUnit& shop = units.Of(ShopQuantity::kSpeed);
    factor *= (unit == "rpm" ? 1.0 / 60 : 1000.0 / 60) / shop.factor;
    unit = shop.document;
  }
  const auto scaled = [factor](std::optional<double> value) { return value ? std::optional(*value * factor) : std::nullopt; };
  if (answer.speed)
    return Words::tr("Speed %1")
        .arg(Text(WithUnit(map.is_turbine() ? AsGiven(scaled(answer.speed)) : WithSigma(*scaled(answer.speed), scaled(answer.sigma_speed), 6, 5),
                           UnitWords(unit))));
  if (answer.vane_opening) return Words::tr("Vane opening %1").arg(Text(WithUnit(AsGiven(answer.vane_opening), map.vane_opening_unit())));
  return {};
}

}  // namespace

ChartOptions ShownChart::Options(const QRectF& area, bool night, double text_size) const {
  ChartOptions options;
  options.night = night;
  options.text_size = text_size;
  options.caption = caption;
  options.show_doubts = show_doubts;
  options.show_key = text_size == 0.0 || area.height() > kLeastWithKey;
  return options;
}

void ShownChart::Draw(QPainter& painter, const QRectF& area, bool night, double text_size) const {
  if (!compared.empty())
    DrawComparison(painter, area, compared, Options(area, night, text_size));
  else if (!maps.empty())
    DrawChart(painter, area, maps.front().on_axes.map, overlay, Options(area, night, text_size));
}

ChartFrame ShownChart::Frame(const QRectF& area, bool night, double text_size) const {
  if (!compared.empty()) return FrameOfComparison(area, compared, Options(area, night, text_size));
  if (!maps.empty()) return FrameOfChart(area, maps.front().on_axes.map, overlay, Options(area, night, text_size));
  return {};
}

Result<void> ShownChart::Write(const std::filesystem::path& file, bool night) const {
  const std::string end = file.extension().string();
  const ChartOptions options = Options({}, night, 0.0);
  if (end != ".svg" && end != ".png" && end != ".pdf")
    return Fail(ErrorCode::kInvalidArgument, "A chart is written as .svg, .png or .pdf.", file.string());
  if (!compared.empty())
    return end == ".svg"   ? WriteComparisonSvg(file, compared, options)
           : end == ".png" ? WriteComparisonPng(file, compared, options)
                           : WriteComparisonPdf(file, compared, options);
  if (maps.empty()) return Fail(ErrorCode::kInvalidArgument, "No map is chosen.", file.string());
  const PerformanceMap& map = maps.front().on_axes.map;
  return end == ".svg"   ? WriteChartSvg(file, map, overlay, options)
         : end == ".png" ? WriteChartPng(file, map, overlay, options)
                         : WriteChartPdf(file, map, overlay, options);
}

Result<ShownChart> OpenShownChart(Shelf& shelf, const std::vector<std::string>& specs, const UnitHabit& units) {
  ShownChart chart;
  chart.units = units;
  std::vector<PerformanceMap> printed;
  std::vector<std::string> names;
  for (const std::string& spec : specs) {
    Result<Read> read = ReadMap(shelf, spec);
    if (!read) return std::unexpected(read.error());
    printed.push_back(read->map);
    names.push_back(read->shown.name);
    chart.maps.push_back(Ready(std::move(*read)));
  }
  if (chart.maps.size() == 1) {
    PutOnAxes(chart, units);
    return chart;
  }
  if (chart.maps.empty()) return chart;
  Result<std::vector<ComparedMap>> compared = PrepareComparison(names, printed, {.flow_unit = HabitUnit(printed.front(), units)});
  if (!compared) return std::unexpected(compared.error());
  chart.compared = std::move(*compared);
  for (std::size_t i = 0; i < chart.maps.size(); ++i) chart.maps[i].on_axes = chart.compared[i].on_axes;
  return chart;
}

Result<ShownChart> OpenDifference(Shelf& shelf, const std::string& name, const std::string& before, const std::string& after,
                                  const UnitHabit& units) {
  Result<Read> old_state = ReadMap(shelf, name + "@" + before), new_state = ReadMap(shelf, name + "@" + after);
  if (!old_state) return std::unexpected(old_state.error());
  if (!new_state) return std::unexpected(new_state.error());
  const std::vector<MapChange> changes = CompareMaps(old_state->map, new_state->map);
  PerformanceMap earlier = old_state->map;
  ShownChart chart;
  chart.units = units;
  for (const MapChange& change : changes) chart.changes << Text(change.sentence);
  chart.maps.push_back(Ready(std::move(*new_state)));
  chart.show_doubts = false;
  chart.caption = before.substr(0, 12) + " to " + after.substr(0, 12) + "; dashed: as it was";
  PutOnAxes(chart, units);
  // Both states in one unit, whichever the sheet was said to have.
  const PerformanceMap& drawn = chart.maps.front().on_axes.map;
  if (const Axis* flow = FlowAxis(drawn))
    if (auto brought = BringToCommonAxes({earlier}, {.flow_unit = flow->unit}); brought) earlier = std::move(brought->front().map);
  std::vector<MapChange> placed = changes;
  const double factor = chart.maps.front().on_axes.flow_factor;
  for (MapChange& change : placed) {
    if (!change.at) continue;
    (RatioAlongX(drawn) ? change.at->y : change.at->x) *= factor;
  }
  chart.overlay = DifferenceOverlay(earlier, placed, drawn);
  chart.is_difference = true;
  for (const MapChange& change : changes)
    if (std::none_of(chart.overlay.points.begin(), chart.overlay.points.end(), [&](const ChartPoint& p) { return p.words == change.sentence; }))
      chart.unplaced << Text(change.sentence);
  return chart;
}

Reading ReadAt(const ShownChart& chart, const ChartPanel& panel, Point2 at) {
  Reading reading;
  const auto value = [&panel](double v, const Axis& axis) {
    const double pixel = std::max(axis.max - axis.min, 1e-12) / std::max(panel.plot.width(), 1.0);
    return Text(WithUnit(NumberOnChart(v, std::clamp(static_cast<int>(std::ceil(-std::log10(pixel))), 0, 6)), UnitWords(axis.unit)));
  };
  reading.lines << Words::tr("%1: %2").arg(Said(QuantityWords(panel.x.quantity)), value(at.x, panel.x))
                << Words::tr("%1: %2").arg(Said(QuantityWords(panel.y.quantity)), value(at.y, panel.y));
  if (panel.is_efficiency) return reading;
  reading.off_map = true;
  for (std::size_t i = 0; i < chart.maps.size(); ++i) {
    const ShownMap& map = chart.maps[i];
    if (chart.maps.size() > 1) reading.lines << QString() << Words::tr("%1 %2").arg(Text(ComparisonLetter(i)), Text(map.name));
    if (map.askable == nullptr) {
      reading.lines << Words::tr("It cannot be asked: %1").arg(Text(map.cannot));
      continue;
    }
    const bool ratio_along_x = RatioAlongX(map.on_axes.map);
    const double flow = (ratio_along_x ? at.y : at.x) / map.on_axes.flow_factor, ratio = ratio_along_x ? at.x : at.y;
    Question question;
    question.Set(QuestionValue::kFlow, flow);
    if (!map.askable->is_turbine())
      question.Set(QuestionValue::kPressureRatio, ratio);
    else if (map.askable->has_parameter())
      question.Set(QuestionValue::kExpansionRatio, ratio);
    else
      question = {}, question.Set(QuestionValue::kExpansionRatio, ratio);
    const MapAnswer answer = map.askable->Ask(question);
    reading.off_map = reading.off_map && !answer.inside;
    if (!answer.inside) {
      const QString where = Said(WhereWords(*map.askable, answer));
      reading.lines << where.left(1).toUpper() + where.mid(1);
    }
    if (const QString speed = SpeedLine(*map.askable, answer, map.on_axes.speed_factor, chart.units); !speed.isEmpty()) reading.lines << speed;
    if (answer.efficiency) reading.lines << Words::tr("Efficiency %1").arg(Text(WithSigma(*answer.efficiency, answer.sigma_efficiency, 3, 3)));
    if (answer.surge_margin)
      reading.lines << Words::tr("Surge margin %1").arg(Text(PercentWithSigma(answer.surge_margin, answer.sigma_surge_margin)));
    if (answer.choke_margin && answer.inside)
      reading.lines << Words::tr("Choke margin %1").arg(Text(PercentWithSigma(answer.choke_margin, std::nullopt)));
  }
  return reading;
}

}  // namespace islebook
