#include "ui/report/bench_report.h"

#include <algorithm>
#include <cmath>

#include <QPainter>
#include <QSaveFile>
#include <QString>

#include <fmt/format.h>

#include "mapstore/bench/shop_units.h"
#include "mapstore/bench/verdicts.h"
#include "ui/chart/strip.h"
#include "ui/report/pressure_strip.h"
#include "ui/report/report_pages.h"
#include "ui/report/report_table.h"
#include "ui/report/stage_overlay.h"

namespace islebook {
namespace {

QString Html(const std::string& html) { return QString::fromStdString(html); }

std::string Rpm(double rev_s) { return GroupThousands(std::lround(rev_s * 60)) + " rpm"; }
std::string Percent(const std::optional<double>& value) { return value ? fmt::format("{:.1f} %", 100 * *value) : "-"; }

std::string InBrackets(bool assumed, const std::string& text) { return assumed ? "(" + text + ")" : text; }

Grade GradeOf(const std::vector<Verdict>& verdicts, VerdictKind kind) {
  const auto found = std::find_if(verdicts.begin(), verdicts.end(), [kind](const Verdict& verdict) { return verdict.kind == kind; });
  return found == verdicts.end() ? Grade::kRoom : found->grade;
}

std::string PointsTable(const BenchResult& result, const Shop& shop) {
  const bool turbines = !result.turbines.empty();
  std::vector<std::string> heads{"point", "engine", "grade", "air", "manifold", "at", "boost", "pressure ratio"};
  if (turbines) heads.insert(heads.end(), {"drive pressure", "over boost", "target"});
  heads.emplace_back("power");
  ReportTable table(heads);
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) {
      table.Add({point.name, Rpm(point.input.speed_rev_s), {"not worked out", Grade::kOver}});
      continue;
    }
    std::vector<ReportCell> cells{point.name,
                                  Rpm(point.input.speed_rev_s),
                                  {GradeName(point.grade), point.grade},
                                  shop.Flow(point.air_flow_kg_s),
                                  shop.Pressure(point.manifold_Pa),
                                  {shop.Temperature(point.manifold_K), GradeOf(point.verdicts, VerdictKind::kManifoldTemperature)},
                                  shop.Pressure(point.manifold_Pa - point.input.ambient.pressure_Pa),
                                  fmt::format("{:.3f}", point.overall_pressure_ratio)};
    if (turbines) {
      const double target = point.exhaust->target_ratio;
      cells.emplace_back(shop.Pressure(point.exhaust->drive_Pa));
      cells.emplace_back(point.exhaust->drive_ratio > 0.0 ? fmt::format("{:.2f}", point.exhaust->drive_ratio) : "-",
                         GradeOf(point.verdicts, VerdictKind::kDriveRatio));
      cells.emplace_back(std::abs(target - 1.0) < 1e-6 ? "reached" : fmt::format("{:+.1f} %", 100 * (target - 1.0)),
                         GradeOf(point.verdicts, VerdictKind::kTarget));
    }
    cells.emplace_back(point.power_W ? shop.Power(*point.power_W) : "-");
    table.Add(std::move(cells));
  }
  return table.Html();
}

const char* SideWords(const std::optional<MapRegion>& region) {
  if (!region) return "not known";
  switch (*region) {
    case MapRegion::kOnMap: return "yes";
    case MapRegion::kLeftOfSurge: return "in surge";
    case MapRegion::kPastChoke: return "past choke";
    case MapRegion::kOverSpeed: return "too fast";
    case MapRegion::kUnderSpeed: return "too slow";
  }
  return "";
}

// In brackets: what the map does not say and is assumed.
std::string StageTable(const BenchResult& result, std::size_t i, const Shop& shop) {
  const CompressorFacts& map = result.maps[i];
  ReportTable table({"point", "on the map", "flow on map", "pressure ratio", "speed", "efficiency", "outlet", "surge margin", "choke margin"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const StageResult& stage = point.stages[i];
    const auto graded = [&stage](std::string text, VerdictKind kind) { return ReportCell(std::move(text), GradeOf(stage.verdicts, kind)); };
    table.Add({point.name, graded(SideWords(stage.reading.region), VerdictKind::kOnMap),
               fmt::format("{:.4g} {}", stage.reading.map_flow, map.flow_unit), fmt::format("{:.3f}", stage.pressure_ratio),
               graded(stage.reading.speed ? fmt::format("{} {}", GroupThousands(std::lround(*stage.reading.speed)), map.speed_unit) : "-",
                      VerdictKind::kSpeed),
               graded(InBrackets(stage.efficiency_assumed, Percent(stage.efficiency)), VerdictKind::kEfficiency),
               graded(shop.Temperature(stage.outlet_K), VerdictKind::kOutletTemperature),
               graded(Percent(stage.reading.surge_margin), VerdictKind::kSurge), graded(Percent(stage.reading.choke_margin), VerdictKind::kChoke)});
  }
  std::string html = table.Html();
  if (result.turbines.empty()) return html;
  ReportTable turbine({"its turbine", "before", "at", "behind", "at", "expansion ratio", "through", "past it",
                       result.turbines[i].has_vanes ? "vanes" : "port open", "efficiency", "shaft"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const TurbineState& at = *point.stages[i].turbine;
    const bool beyond = at.reading.map_flow > 0.0 && (at.reading.flow_beyond || at.reading.efficiency_beyond);
    turbine.Add(
        {point.name, shop.Pressure(at.inlet_Pa), shop.Temperature(at.inlet_K), shop.Pressure(at.outlet_Pa), shop.Temperature(at.outlet_K),
         fmt::format("{:.3f}", at.expansion_ratio), shop.Flow(at.flow_kg_s), at.wastegate_flow_kg_s > 0.0 ? shop.Flow(at.wastegate_flow_kg_s) : "-",
         at.vane_opening ? fmt::format("{:.3g} {}", *at.vane_opening, result.turbines[i].parameter_unit) : fmt::format("{:.3g} %", 100 * at.opening),
         InBrackets(beyond, Percent(at.reading.efficiency)), at.speed_rev_s ? Rpm(*at.speed_rev_s) : "-"});
  }
  return html + "<br>" + turbine.Html();
}

void Verdicts(ReportPages& pages, const BenchResult& result) {
  for (const PointResult& point : result.points) {
    std::string html =
        fmt::format("<p><b>{}</b>: {}", EscapedHtml(point.name),
                    point.failure.empty() ? GradeHtml(point.grade, GradeName(point.grade)) : "not worked out: " + EscapedHtml(point.failure));
    const auto list = [&html](const std::vector<Verdict>& verdicts, const std::string& where) {
      for (const Verdict& verdict : VerdictsThatMatter(verdicts))
        html += fmt::format("<br>&nbsp;&nbsp;{}: {}", GradeHtml(verdict.grade, GradeName(verdict.grade)), EscapedHtml(where + verdict.words));
    };
    for (const StageResult& stage : point.stages) list(stage.verdicts, point.stages.size() > 1 ? stage.name + ", " : "");
    list(point.verdicts, "");
    pages.Text(Html(html + "</p>"));
  }
}

std::string ListHtml(const std::string& head, const std::vector<std::string>& lines) {
  if (lines.empty()) return "";
  std::string html = "<h3>" + head + "</h3>";
  for (const std::string& line : lines) html += "<p>" + EscapedHtml(line) + "</p>";
  return html;
}

void Maps(ReportPages& pages, const BenchResult& result, const std::vector<const PerformanceMap*>& maps, const Shop& shop) {
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const CompressorFacts& facts = result.maps[i];
    pages.NewPage();
    pages.Text(Html(fmt::format(
        "<h2>{}{}</h2><p>{}{}</p>", EscapedHtml(result.asked.stages[i].name), facts.title.empty() ? "" : ": " + EscapedHtml(facts.title),
        fmt::format("Corrected to {} and {:.2f} kPa{}.", shop.Temperature(facts.reference.temperature_K), facts.reference.pressure_Pa / 1000,
                    facts.reference.basis == ReferenceConditions::Basis::kAssumed ? " (assumed)" : ""),
        facts.revision.empty() ? "" : " Revision " + facts.revision.substr(0, 12) + " of the shelf.")));
    // The list of points below the chart takes its part.
    pages.Drawing(std::min(130.0 + 2.5 * static_cast<double>(result.points.size()), 200.0), [&](QPainter& painter, const QRectF& area) {
      ChartOptions options;
      options.show_title = false;
      options.show_doubts = false;
      options.text_size = 0.85 * pages.TextSize();
      DrawChart(painter, area, *maps[i], StageOverlay(result, i), options);
    });
    pages.Text(Html(StageTable(result, i, shop)));
  }
}

std::string TitleOf(const BenchResult& result) { return result.asked.title.empty() ? "Operating points on their maps" : result.asked.title; }
std::string FooterOf(const BenchResult& result) { return TitleOf(result) + (result.asked.file.empty() ? "" : ", from " + result.asked.file); }

void FillReport(ReportPages& pages, const BenchResult& result, const std::vector<const PerformanceMap*>& maps) {
  const Shop shop(result.asked.units);
  pages.Text(Html(fmt::format("<h1>{}</h1><p><b>{}</b></p>", EscapedHtml(TitleOf(result)), EscapedHtml(result.summary))));
  pages.Text(Html(PointsTable(result, shop)));
  if (const std::vector<StripLine> lines = PressureLines(result); !lines.empty())
    pages.Drawing(70.0, [&](QPainter& painter, const QRectF& area) {
      StripOptions options = PressureStrip(result);
      options.text_size = pages.TextSize();
      DrawStrip(painter, area, lines, options);
    });
  Maps(pages, result, maps, shop);

  pages.NewPage();
  pages.Text(Html("<h2>Verdicts</h2>"));
  Verdicts(pages, result);
  std::vector<std::string> lines;
  for (const LimitWords& limit : DescribeLimits(result.asked.limits, result.asked.units, result.asked.HasTurbines()))
    lines.push_back(fmt::format("{}: {}", limit.name, limit.words));
  lines.emplace_back(
      "Common practice, no source: the makers' own limits come first. ± is what the maps' own uncertainty makes, one standard deviation. In the "
      "tables bold is close or over; a value in brackets is beyond its map and assumed.");
  if (!result.maps.empty() && !result.maps.front().surge_margin_definition.empty())
    lines.push_back("Surge margin: " + result.maps.front().surge_margin_definition + ".");
  pages.Text(Html(ListHtml("Graded by", lines)));
  lines.clear();
  for (const AssumedValue& value : result.asked.assumed) lines.push_back(fmt::format("{} = {} ({})", value.key, value.value, value.why));
  pages.Text(Html(ListHtml("Left out in the case and taken as", lines)));
  lines = result.doubts;
  for (const SharedDoubt& doubt : DoubtsOfPoints(result)) lines.push_back(doubt.words + " " + PointsInWords(result, doubt.points));
  pages.Text(Html(ListHtml("Look at", lines)));
  pages.Text(Html(ListHtml("Cautions", BenchCautions())));
}

}  // namespace

Result<void> DrawBenchReport(QPagedPaintDevice& device, const BenchResult& result, const std::vector<const PerformanceMap*>& maps) {
  ReportPages pages(device, FooterOf(result));
  FillReport(pages, result, maps);
  if (const auto done = pages.Finish(); !done) return std::unexpected(done.error());
  return {};
}

Result<void> WriteBenchReportPdf(const std::filesystem::path& file, const BenchResult& result, const std::vector<const PerformanceMap*>& maps) {
  ReportPages pages(TitleOf(result), FooterOf(result));
  FillReport(pages, result, maps);
  const auto bytes = pages.Finish();
  if (!bytes) return std::unexpected(bytes.error());
  QSaveFile out(QString::fromStdString(file.string()));
  if (!out.open(QIODevice::WriteOnly) || out.write(*bytes) != bytes->size() || !out.commit())
    return Fail(ErrorCode::kCannotWrite,
                "The report cannot be written: " + out.errorString().toStdString() + ". Check that the folder exists, is writable and has room.",
                file.string());
  return {};
}

}  // namespace islebook
