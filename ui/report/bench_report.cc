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
#include "ui/report/stage_overlay.h"

namespace islebook {
namespace {

std::string Escaped(const std::string& text) { return QString::fromStdString(text).toHtmlEscaped().toStdString(); }
QString Html(const std::string& html) { return QString::fromStdString(html); }

std::string GradeCell(Grade grade) {
  const char* kind = grade == Grade::kOver ? "over" : grade == Grade::kClose ? "close" : "";
  return fmt::format("<span class=\"{}\">{}</span>", kind, GradeName(grade));
}

class HtmlTable {
 public:
  explicit HtmlTable(const std::vector<std::string>& heads) { Row(heads, "th"); }
  void Add(const std::vector<std::string>& cells) { Row(cells, "td"); }
  std::string Done() const { return "<table width=\"100%\" cellspacing=\"0\" cellpadding=\"2\">" + rows_ + "</table>"; }

 private:
  void Row(const std::vector<std::string>& cells, const char* tag) {
    rows_ += "<tr>";
    for (std::size_t i = 0; i < cells.size(); ++i)
      rows_ += fmt::format("<{0} align=\"{1}\" style=\"white-space: nowrap; font-size: 80%\">{2}</{0}>", tag, i == 0 ? "left" : "right", cells[i]);
    rows_ += "</tr>";
  }
  std::string rows_;
};

std::string Rpm(double rev_s) { return GroupThousands(std::lround(rev_s * 60)) + " rpm"; }
std::string Percent(const std::optional<double>& value) { return value ? fmt::format("{:.1f} %", 100 * *value) : "-"; }

std::string PointsTable(const BenchResult& result, const Shop& shop) {
  const bool turbines = !result.turbines.empty();
  std::vector<std::string> heads{"point", "engine", "grade", "air", "manifold", "boost", "pressure ratio"};
  if (turbines) heads.insert(heads.end(), {"drive pressure", "over boost", "target"});
  heads.emplace_back("power");
  HtmlTable table(heads);
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) {
      table.Add({Escaped(point.name), Rpm(point.input.speed_rev_s), "not worked out"});
      continue;
    }
    std::vector<std::string> cells{Escaped(point.name),
                                   Rpm(point.input.speed_rev_s),
                                   GradeCell(point.grade),
                                   shop.Flow(point.air_flow_kg_s),
                                   fmt::format("{}, {}", shop.Pressure(point.manifold_Pa), shop.Temperature(point.manifold_K)),
                                   shop.Pressure(point.manifold_Pa - point.input.ambient.pressure_Pa),
                                   fmt::format("{:.3f}", point.overall_pressure_ratio)};
    if (turbines) {
      cells.push_back(shop.Pressure(point.exhaust->drive_Pa));
      cells.push_back(point.exhaust->drive_ratio > 0.0 ? fmt::format("{:.2f}", point.exhaust->drive_ratio) : "-");
      cells.push_back(std::abs(point.exhaust->target_ratio - 1.0) < 1e-6 ? "reached"
                                                                         : fmt::format("{:+.1f} %", 100 * (point.exhaust->target_ratio - 1.0)));
    }
    cells.push_back(point.power_W ? shop.Power(*point.power_W) : "-");
    table.Add(cells);
  }
  return table.Done();
}

std::string StageTable(const BenchResult& result, std::size_t i, const Shop& shop) {
  const CompressorFacts& map = result.maps[i];
  HtmlTable table({"point", "flow on map", "pressure ratio", "speed", "efficiency", "outlet", "surge margin", "choke margin"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const StageResult& stage = point.stages[i];
    table.Add({Escaped(point.name), fmt::format("{:.4g} {}", stage.reading.map_flow, map.flow_unit), fmt::format("{:.3f}", stage.pressure_ratio),
               stage.reading.speed ? fmt::format("{} {}", GroupThousands(std::lround(*stage.reading.speed)), map.speed_unit) : "-",
               stage.efficiency_assumed ? fmt::format("{:.0f} % assumed", 100 * stage.efficiency) : Percent(stage.efficiency),
               shop.Temperature(stage.outlet_K), Percent(stage.reading.surge_margin), Percent(stage.reading.choke_margin)});
  }
  std::string html = table.Done();
  if (result.turbines.empty()) return html;
  HtmlTable turbine({"its turbine", "before", "behind", "expansion ratio", "through", "wastegate", "opening", "efficiency", "shaft"});
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const TurbineState& at = *point.stages[i].turbine;
    const std::string opening = at.vane_opening ? fmt::format("vanes {:.3g} {}", *at.vane_opening, result.turbines[i].parameter_unit)
                                                : fmt::format("{:.3g} %", 100 * at.opening);
    turbine.Add({Escaped(point.name), fmt::format("{}, {}", shop.Pressure(at.inlet_Pa), shop.Temperature(at.inlet_K)),
                 fmt::format("{}, {}", shop.Pressure(at.outlet_Pa), shop.Temperature(at.outlet_K)), fmt::format("{:.3f}", at.expansion_ratio),
                 shop.Flow(at.flow_kg_s), at.wastegate_flow_kg_s > 0.0 ? shop.Flow(at.wastegate_flow_kg_s) : "-", opening,
                 Percent(at.reading.efficiency), at.speed_rev_s ? Rpm(*at.speed_rev_s) : "-"});
  }
  return html + "<br>" + turbine.Done();
}

std::string VerdictsHtml(const BenchResult& result) {
  std::string html;
  for (const PointResult& point : result.points) {
    html += fmt::format("<p><b>{}</b>: {}", Escaped(point.name),
                        point.failure.empty() ? GradeCell(point.grade) : "not worked out: " + Escaped(point.failure));
    const auto list = [&html](const std::vector<Verdict>& verdicts, const std::string& where) {
      for (const Verdict& verdict : verdicts)
        if (verdict.grade != Grade::kRoom)
          html += fmt::format("<br>&nbsp;&nbsp;{}: {}{}", GradeCell(verdict.grade), Escaped(where), Escaped(verdict.words));
    };
    for (const StageResult& stage : point.stages) list(stage.verdicts, point.stages.size() > 1 ? stage.name + ", " : "");
    list(point.verdicts, "");
    for (const std::string& doubt : point.doubts) html += fmt::format("<br>&nbsp;&nbsp;look: {}", Escaped(doubt));
    html += "</p>";
  }
  return html;
}

std::string ListHtml(const std::string& head, const std::vector<std::string>& lines) {
  if (lines.empty()) return "";
  std::string html = "<h3>" + head + "</h3>";
  for (const std::string& line : lines) html += "<p>" + Escaped(line) + "</p>";
  return html;
}

void Maps(ReportPages& pages, const BenchResult& result, const std::vector<const PerformanceMap*>& maps, const Shop& shop) {
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const CompressorFacts& facts = result.maps[i];
    pages.NewPage();
    pages.Text(Html(fmt::format(
        "<h2>{}{}</h2><p>{}{}</p>", Escaped(result.asked.stages[i].name), facts.title.empty() ? "" : ": " + Escaped(facts.title),
        fmt::format("Corrected to {} and {:.2f} kPa{}.", shop.Temperature(facts.reference.temperature_K), facts.reference.pressure_Pa / 1000,
                    facts.reference.basis == ReferenceConditions::Basis::kAssumed ? " (assumed)" : ""),
        facts.revision.empty() ? "" : " Revision " + facts.revision.substr(0, 12) + " of the shelf.")));
    pages.Drawing(125.0, [&](QPainter& painter, const QRectF& area) {
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
  pages.Text(Html(fmt::format("<h1>{}</h1><p><b>{}</b></p>", Escaped(TitleOf(result)), Escaped(result.summary))));
  pages.Text(Html(PointsTable(result, shop)));
  if (const std::vector<StripLine> lines = PressureLines(result); !lines.empty())
    pages.Drawing(70.0, [&](QPainter& painter, const QRectF& area) {
      StripOptions options = PressureStrip(result);
      options.text_size = pages.TextSize();
      DrawStrip(painter, area, lines, options);
    });
  Maps(pages, result, maps, shop);

  pages.NewPage();
  pages.Text(Html("<h2>Verdicts</h2>" + VerdictsHtml(result)));
  std::vector<std::string> lines;
  for (const LimitWords& limit : DescribeLimits(result.asked.limits, result.asked.units, result.asked.HasTurbines()))
    lines.push_back(fmt::format("{}: {}", limit.name, limit.words));
  lines.emplace_back(
      "Common practice, no source: the makers' own limits come first. ± is what the maps' own uncertainty makes, one standard deviation.");
  if (!result.maps.empty() && !result.maps.front().surge_margin_definition.empty())
    lines.push_back("Surge margin: " + result.maps.front().surge_margin_definition + ".");
  pages.Text(Html(ListHtml("Graded by", lines)));
  lines.clear();
  for (const AssumedValue& value : result.asked.assumed) lines.push_back(fmt::format("{} = {} ({})", value.key, value.value, value.why));
  pages.Text(Html(ListHtml("Left out in the case and taken as", lines)));
  pages.Text(Html(ListHtml("Look at", result.doubts)));
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
