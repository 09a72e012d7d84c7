#include "ui/desktop/bench_room/bench_facts.h"

#include <algorithm>

#include <QCoreApplication>

#include "mapstore/bench/verdicts.h"
#include "ui/chart/said.h"
#include "ui/desktop/bench_room/map_view.h"
#include "ui/desktop/bench_room/reading_words.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(BenchFacts)
};
QString Told(const std::string& text) { return Said(text).toHtmlEscaped(); }
QString Escaped(const std::string& text) { return QString::fromStdString(text).toHtmlEscaped(); }

QString Row(const QString& name, const QString& value, const DeskLook& look) {
  return QStringLiteral("<tr><td style='color:%1' valign='top'>%2&nbsp;&nbsp;</td><td>%3</td></tr>").arg(look.chart.faint_ink.name(), name, value);
}

QString Graded(Grade grade, const DeskLook& look) {
  const QString words = GradeWords(grade);
  if (grade == Grade::kOver) return QStringLiteral("<b style='color:%1'>%2</b>").arg(look.chart.oxide_print.name(), words);
  return grade == Grade::kClose ? QStringLiteral("<b>%1</b>").arg(words) : words;
}

QString List(const QString& heading, const QStringList& lines) {
  if (lines.isEmpty()) return {};
  QString html = QStringLiteral("<p><b>%1</b></p>").arg(heading);
  for (const QString& line : lines) html += QStringLiteral("<p style='margin:2px 0 4px 0'>%1</p>").arg(line);
  return html;
}

}  // namespace

QString ReadingHtml(const MapView* view, const UnitHabit& units, const DeskLook& look) {
  if (view == nullptr || !view->reading() || view->askable() == nullptr)
    return QStringLiteral("<span style='color:%1'>%2</span>")
        .arg(look.chart.faint_ink.name(), Words::tr("Move over a map, or drag a point: what the map says there is read here."));
  QString html = QStringLiteral("<table cellspacing='1'>");
  for (const auto& [name, value] : ReadingInFull(*view->reading(), *view->askable(), units)) html += Row(name, value.toHtmlEscaped(), look);
  return html + QStringLiteral("</table>");
}

QString PointHtml(const BenchResult& result, int point, const DeskLook& look) {
  if (point < 0 || point >= static_cast<int>(result.points.size())) return {};
  const PointResult& at = result.points[static_cast<std::size_t>(point)];
  QString html = QStringLiteral("<b>%1 %2</b>").arg(point + 1).arg(Escaped(at.name));
  if (!at.failure.empty()) return html + QStringLiteral("<p>%1</p>").arg(Escaped(at.failure));
  struct Line {
    const Verdict* verdict;
    std::string where;
  };
  std::vector<Line> lines;
  for (const StageResult& stage : at.stages)
    for (const Verdict& verdict : stage.verdicts) lines.push_back({&verdict, at.stages.size() > 1 ? stage.name + ": " : ""});
  for (const Verdict& verdict : at.verdicts) lines.push_back({&verdict, ""});
  std::stable_sort(lines.begin(), lines.end(), [](const Line& a, const Line& b) {
    return a.verdict->grade != b.verdict->grade ? a.verdict->grade > b.verdict->grade : a.verdict->shortfall > b.verdict->shortfall;
  });
  html += QStringLiteral("<table cellspacing='1'>");
  for (const Line& line : lines) {
    if (line.verdict->kind == VerdictKind::kOnMap && line.verdict->grade == Grade::kRoom) continue;  // the margins say it better
    html += QStringLiteral("<tr><td valign='top'>%1&nbsp;&nbsp;</td><td>%2</td></tr>")
                .arg(Graded(line.verdict->grade, look), Escaped(line.where) + Told(line.verdict->words));
  }
  html += QStringLiteral("</table>");
  for (const std::string& doubt : at.doubts) html += QStringLiteral("<p style='margin:2px 0'>%1 %2</p>").arg(Words::tr("Look:"), Told(doubt));
  return html;
}

QString NotesHtml(const BenchResult& result, const DeskLook& look) {
  QStringList doubts, taken, limits, cautions;
  for (const std::string& doubt : result.doubts) doubts << Told(doubt);
  for (const AssumedValue& value : result.asked.assumed)
    taken << QStringLiteral("%1 = %2 <span style='color:%3'>(%4)</span>")
                 .arg(Escaped(value.key), Told(value.value), look.chart.faint_ink.name(), Told(value.why));
  for (const LimitWords& limit : DescribeLimits(result.asked.limits, result.asked.units, result.asked.HasTurbines()))
    limits << QStringLiteral("%1: %2").arg(Told(limit.name), Told(limit.words));
  limits << Words::tr("Common practice, no source: the makers' own limits come first.");
  limits << Words::tr("± is what the maps' own uncertainty makes, one standard deviation; what is uncertain about the inputs comes on top.");
  if (!result.maps.empty() && !result.maps.front().surge_margin_definition.empty())
    limits << Words::tr("Surge margin: %1.").arg(Escaped(result.maps.front().surge_margin_definition));
  for (const std::string& caution : BenchCautions()) cautions << Told(caution);
  return List(Words::tr("Look at"), doubts) + List(Words::tr("Cautions"), cautions) + List(Words::tr("Left out in the case and taken as"), taken) +
         List(Words::tr("Graded by"), limits);
}

}  // namespace islebook
