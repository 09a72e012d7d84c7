#include "mapstore/parcel/summary_page.h"

#include <algorithm>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

std::string UnitHere(const std::string& unit) { return unit.empty() || unit == "1" ? "" : " " + unit; }

std::string AxisText(const Axis& axis) {
  return fmt::format("{}, {} to {}{}{}", QuantityInWords(axis.quantity), NumberInWords(axis.min), NumberInWords(axis.max), UnitHere(axis.unit),
                     axis.scale == AxisScale::kLog ? ", log scale" : "");
}

std::string RoleInWords(CurveRole role) {
  std::string words = CurveRoleName(role);
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

std::string Row(std::string_view what, const std::string& value) {
  return fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td></tr>\n", what, EscapedMarkup(value));
}

std::string FactRows(const SummaryMap& one) {
  const PerformanceMap& map = one.map;
  std::string rows;
  if (!map.title.empty()) rows += Row("Title", map.title);
  rows += Row("Kind", map.kind ? MapKindName(*map.kind) : "not known");
  if (map.x) rows += Row("Across", AxisText(*map.x));
  if (map.y) rows += Row("Up", AxisText(*map.y));
  if (map.efficiency) rows += Row("Efficiency", AxisText(*map.efficiency));
  if (map.reference_conditions)
    rows += Row("Reference", fmt::format("{} K, {} Pa, {}", NumberInWords(map.reference_conditions->temperature_K),
                                         NumberInWords(map.reference_conditions->pressure_Pa),
                                         map.reference_conditions->basis == ReferenceConditions::Basis::kPrinted ? "as printed" : "assumed"));
  if (const auto& wheel = one.facts.wheel) {
    std::string words = wheel->maker;
    if (!wheel->model.empty()) words += (words.empty() ? "" : ", ") + wheel->model;
    const auto add = [&words](const char* what, const std::optional<double>& value, const char* unit) {
      if (value) words += (words.empty() ? "" : ", ") + fmt::format("{} {}{}", what, NumberInWords(*value), unit);
    };
    add("inducer", wheel->inducer_mm, " mm");
    add("exducer", wheel->exducer_mm, " mm");
    add("trim", wheel->trim, "");
    add("turbine area ratio", wheel->turbine_area_ratio, "");
    add("speed limit", wheel->speed_limit_rpm, " rpm");
    rows += Row("Wheel", words);
  }
  if (!one.facts.tags.empty()) {
    std::string tags;
    for (const std::string& tag : one.facts.tags) tags += (tags.empty() ? "" : ", ") + tag;
    rows += Row("Tags", tags);
  }
  rows += fmt::format("<tr><th scope=\"row\">Document</th><td><a href=\"{0}\">{0}</a></td></tr>\n", EscapedMarkup(one.document_file));
  rows += one.sheet_file ? fmt::format("<tr><th scope=\"row\">Sheet</th><td><a href=\"{0}\">{0}</a></td></tr>\n", EscapedMarkup(*one.sheet_file))
                         : Row("Sheet", one.sheet_words);
  return rows;
}

// "2025-03-14T09:26:53Z" as people write it.
std::string TimeInWords(const std::string& time) {
  if (time.size() != 20 || time[10] != 'T' || time[19] != 'Z') return time;
  return time.substr(0, 10) + " " + time.substr(11, 5);
}

std::string ColumnHead(const std::optional<Axis>& axis, const char* otherwise) {
  if (!axis) return otherwise;
  std::string words = QuantityInWords(axis->quantity) + (UnitHere(axis->unit).empty() ? "" : "," + UnitHere(axis->unit));
  if (!words.empty() && words[0] >= 'a' && words[0] <= 'z') words[0] = static_cast<char>(words[0] - 'a' + 'A');
  return EscapedMarkup(words);
}

std::size_t NeedALook(const PerformanceMap& map) {
  return static_cast<std::size_t>(std::count_if(map.curves.begin(), map.curves.end(), [](const Curve& curve) { return curve.needs_review; }));
}

// What is most worth knowing about a map, in a few words.
std::string StateInWords(const PerformanceMap& map) {
  const std::size_t curves = NeedALook(map), doubts = map.needs_review.size();
  if (curves == 0 && doubts == 0) return "Nothing needs a look";
  std::string words;
  if (curves > 0) words = curves == 1 ? "1 curve needs a look" : fmt::format("{} curves need a look", curves);
  if (doubts > 0)
    words += (words.empty() ? "" : ", ") + (doubts == 1 ? std::string("1 doubt") : fmt::format("{} doubts", doubts)) + " about the sheet";
  return words;
}

std::string CurveTable(const PerformanceMap& map) {
  if (map.curves.empty()) return "<p>The map has no curves.</p>\n";
  std::string table = fmt::format(
      "<table class=\"wide\"><thead><tr><th>Curve</th><th class=\"n\">Value</th><th class=\"n\">Points</th><th class=\"n\">{}</th>"
      "<th class=\"n\">{}</th><th>Needs a look</th></tr></thead><tbody>\n",
      ColumnHead(map.x, "Across"), ColumnHead(map.y, "Up"));
  std::optional<CurveRole> before;
  for (const Curve& curve : map.curves) {
    const auto [left, right] = std::minmax_element(curve.points.begin(), curve.points.end(), [](Point2 a, Point2 b) { return a.x < b.x; });
    const auto [low, high] = std::minmax_element(curve.points.begin(), curve.points.end(), [](Point2 a, Point2 b) { return a.y < b.y; });
    std::string reasons;
    for (const std::string& reason : curve.reasons) reasons += (reasons.empty() ? "" : "; ") + reason;
    if (curve.needs_review && reasons.empty()) reasons = "yes";
    table += fmt::format("<tr{}><td class=\"k\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td>",
                         before && *before != curve.role ? " class=\"next\"" : "", RoleInWords(curve.role),
                         curve.value ? EscapedMarkup(NumberInWords(*curve.value) + UnitHere(curve.unit)) : "", curve.points.size());
    before = curve.role;
    if (curve.points.empty())
      table += "<td></td><td></td>";
    else
      for (const auto& [from, to] : {std::pair(left->x, right->x), std::pair(low->y, high->y)})
        table += fmt::format("<td class=\"n\">{} to {}</td>", NumberInWords(from, 4), NumberInWords(to, 4));
    table += curve.needs_review ? fmt::format("<td><span class=\"doubt\">{}</span></td></tr>\n", EscapedMarkup(reasons)) : "<td></td></tr>\n";
  }
  return table + "</tbody></table>\n";
}

std::string HistoryTable(const std::vector<RevisionRecord>& history) {
  std::string table =
      "<table class=\"wide\"><thead><tr><th>Revision</th><th>Time (UTC)</th><th>By</th><th>Message</th><th>After</th></tr></thead><tbody>\n";
  for (const RevisionRecord& record : history) {
    std::string parents;
    for (const std::string& parent : record.parents) parents += (parents.empty() ? "" : ", ") + parent.substr(0, 12);
    table += fmt::format(
        "<tr><td><code title=\"{}\">{}</code></td><td class=\"k\">{}</td><td class=\"k\">{}</td><td>{}</td><td><code>{}</code></td></tr>\n",
        record.id, record.id.substr(0, 12), EscapedMarkup(TimeInWords(record.time)), EscapedMarkup(record.author), EscapedMarkup(record.message),
        parents);
  }
  return table + "</tbody></table>\n";
}

std::string Section(const SummaryMap& one, std::size_t number) {
  std::string html =
      fmt::format("<section id=\"map-{}\">\n<h2>{}</h2>\n<p class=\"state\">{}</p>\n", number, EscapedMarkup(one.name), StateInWords(one.map));
  for (const std::string& doubt : one.map.needs_review) html += fmt::format("<p><span class=\"doubt\">{}</span></p>\n", EscapedMarkup(doubt));
  if (one.chart_file)
    html += fmt::format("<p><a href=\"{0}\"><img src=\"{0}\" alt=\"Chart of {1}; the table below holds its curves\"></a></p>\n",
                        EscapedMarkup(*one.chart_file), EscapedMarkup(one.name));
  html += "<table class=\"facts\"><tbody>\n" + FactRows(one) + "</tbody></table>\n";
  if (!one.facts.notes.empty()) {
    html += "<h3>Notes</h3>\n<table class=\"wide\"><thead><tr><th>Time (UTC)</th><th>By</th><th>Note</th></tr></thead><tbody>\n";
    for (const MapNote& note : one.facts.notes)
      html += fmt::format("<tr><td class=\"k\">{}</td><td class=\"k\">{}</td><td>{}</td></tr>\n", EscapedMarkup(TimeInWords(note.time)),
                          EscapedMarkup(note.author), EscapedMarkup(note.text));
    html += "</tbody></table>\n";
  }
  html += "<h3>Curves</h3>\n" + CurveTable(one.map);
  html += "<h3>History, latest first</h3>\n" + HistoryTable(one.history);
  return html + "</section>\n";
}

// The maps at a glance, each a link to its section.
std::string Contents(const std::vector<SummaryMap>& maps) {
  std::string table =
      "<table class=\"wide\"><thead><tr><th>Map</th><th>Title</th><th>Kind</th><th class=\"n\">Curves</th><th class=\"n\">Revisions</th><th>Needs a "
      "look</th></tr></thead><tbody>\n";
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const PerformanceMap& map = maps[i].map;
    const bool doubtful = NeedALook(map) > 0 || !map.needs_review.empty();
    table += fmt::format(
        "<tr><td class=\"k\"><a href=\"#map-{}\">{}</a></td><td>{}</td><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td>{}</td></tr>\n",
        i + 1, EscapedMarkup(maps[i].name), EscapedMarkup(map.title), map.kind ? MapKindName(*map.kind) : "not known", map.curves.size(),
        maps[i].history.size(), doubtful ? "<span class=\"doubt\">" + StateInWords(map) + "</span>" : "");
  }
  return table + "</tbody></table>\n";
}

constexpr const char* kHead = R"html(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self' file:; style-src 'unsafe-inline'">
<title>Performance maps in this parcel</title>
<style>
body { background: #FBF9F4; color: #1D2B33; font: 15px/1.45 sans-serif; margin: 2em auto; max-width: 60em; padding: 0 1.2em; }
h1, h2, h3 { font-weight: 600; line-height: 1.2; } h1 { font-size: 1.7em; margin-bottom: .4em; }
h2 { border-top: 2px solid #1D2B33; padding-top: .7em; margin: 2.2em 0 .2em; } h3 { margin: 1.8em 0 .2em; }
p { margin: .5em 0; } .state { font-size: 1.1em; margin-bottom: .8em; }
table { border-collapse: collapse; margin: .5em 0; } .wide { width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .2em 1.1em .2em 0; } th:last-child, td:last-child { padding-right: 0; }
thead th { border-bottom: 1px solid #1D2B33; vertical-align: bottom; } .next td { border-top: 1px solid #D9D4C8; } .facts th { font-weight: 600; }
td { white-space: pre-line; overflow-wrap: anywhere; } td.n, td.k, .facts th { white-space: nowrap; overflow-wrap: normal; }
.n { text-align: right; font-variant-numeric: tabular-nums; } code { font-size: .92em; overflow-wrap: normal; }
.doubt { display: inline-block; border-left: 3px dashed #B2502D; padding-left: .5em; } a { color: #0B6E75; } img { width: 100%; height: auto; }
footer { border-top: 2px solid #1D2B33; margin-top: 2.5em; padding-top: .6em; font-size: .92em; }
@media print { body { background: none; max-width: none; margin: 0; font-size: 11px; } section { break-before: page; } tr, img { break-inside: avoid; } }
</style>
</head>
<body>
)html";

}  // namespace

std::string SummaryPage(const std::vector<SummaryMap>& maps) {
  std::string html = kHead;
  html += fmt::format("<h1>{} in this parcel</h1>\n", maps.size() == 1 ? "One performance map" : fmt::format("{} performance maps", maps.size()));
  html +=
      "<p>A map read from a picture is an estimate, and a map is a test-rig result. Wheels run above their maker's limits can burst: the makers' "
      "limits come first.</p>\n";
  if (maps.size() > 1) html += Contents(maps);
  for (std::size_t i = 0; i < maps.size(); ++i) html += Section(maps[i], i + 1);
  html +=
      "<footer>\n<p>This folder is a bag (BagIt, RFC 8493): <code>manifest-sha256.txt</code> lists every file with its hash, so that any bag "
      "validator can tell whether all of it arrived. <code>islebook parcel look</code> says the same, and who signed it; <code>islebook parcel "
      "unpack</code> puts the maps on your shelf. Every <code>*.map.json</code> is plain JSON and can be read by itself.</p>\n</footer>\n";
  return html + "</body>\n</html>\n";
}

}  // namespace islebook
