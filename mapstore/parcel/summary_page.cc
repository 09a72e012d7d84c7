#include "mapstore/parcel/summary_page.h"

#include <algorithm>

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

std::string CurveTable(const PerformanceMap& map) {
  if (map.curves.empty()) return "<p>The map has no curves.</p>\n";
  std::string table =
      "<table><thead><tr><th>Curve</th><th class=\"n\">Value</th><th class=\"n\">Points</th><th class=\"n\">Across, from</th><th class=\"n\">to</th>"
      "<th class=\"n\">Up, from</th><th class=\"n\">to</th><th>Needs a look</th></tr></thead><tbody>\n";
  for (const Curve& curve : map.curves) {
    const auto [left, right] = std::minmax_element(curve.points.begin(), curve.points.end(), [](Point2 a, Point2 b) { return a.x < b.x; });
    const auto [low, high] = std::minmax_element(curve.points.begin(), curve.points.end(), [](Point2 a, Point2 b) { return a.y < b.y; });
    std::string reasons;
    for (const std::string& reason : curve.reasons) reasons += (reasons.empty() ? "" : "; ") + reason;
    if (curve.needs_review && reasons.empty()) reasons = "yes";
    table += fmt::format("<tr><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td>", RoleInWords(curve.role),
                         curve.value ? EscapedMarkup(NumberInWords(*curve.value) + UnitHere(curve.unit)) : "", curve.points.size());
    if (curve.points.empty())
      table += "<td></td><td></td><td></td><td></td>";
    else
      for (const double value : {left->x, right->x, low->y, high->y}) table += fmt::format("<td class=\"n\">{}</td>", NumberInWords(value, 4));
    table += fmt::format("<td>{}</td></tr>\n", curve.needs_review ? EscapedMarkup(reasons) : "");
  }
  return table + "</tbody></table>\n";
}

std::string HistoryTable(const std::vector<RevisionRecord>& history) {
  std::string table = "<table><thead><tr><th>Revision</th><th>Time (UTC)</th><th>By</th><th>Message</th><th>After</th></tr></thead><tbody>\n";
  for (const RevisionRecord& record : history) {
    std::string parents;
    for (const std::string& parent : record.parents) parents += (parents.empty() ? "" : ", ") + parent.substr(0, 12);
    table += fmt::format("<tr><td><code title=\"{}\">{}</code></td><td>{}</td><td>{}</td><td>{}</td><td><code>{}</code></td></tr>\n", record.id,
                         record.id.substr(0, 12), EscapedMarkup(record.time), EscapedMarkup(record.author), EscapedMarkup(record.message), parents);
  }
  return table + "</tbody></table>\n";
}

std::string Section(const SummaryMap& one, std::size_t number) {
  std::string html = fmt::format("<section id=\"map-{}\">\n<h2>{}</h2>\n", number, EscapedMarkup(one.name));
  if (one.chart_file)
    html += fmt::format("<p><a href=\"{0}\"><img src=\"{0}\" width=\"640\" alt=\"Chart of {1}; the table below holds its curves\"></a></p>\n",
                        EscapedMarkup(*one.chart_file), EscapedMarkup(one.name));
  html += "<table class=\"facts\"><tbody>\n" + FactRows(one) + "</tbody></table>\n";
  for (const std::string& doubt : one.map.needs_review) html += fmt::format("<p class=\"doubt\"><b>Doubt:</b> {}</p>\n", EscapedMarkup(doubt));
  html += "<h3>Curves</h3>\n" + CurveTable(one.map);
  html += "<h3>History, latest first</h3>\n" + HistoryTable(one.history);
  if (!one.facts.notes.empty()) {
    html += "<h3>Notes</h3>\n<ul>\n";
    for (const MapNote& note : one.facts.notes)
      html += fmt::format("<li>{} ({}, {})</li>\n", EscapedMarkup(note.text), EscapedMarkup(note.author), EscapedMarkup(note.time));
    html += "</ul>\n";
  }
  return html + "</section>\n";
}

constexpr const char* kHead = R"html(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self' file:; style-src 'unsafe-inline'">
<title>Performance maps in this parcel</title>
<style>
body { background: #FBF9F4; color: #1D2B33; font: 15px/1.45 sans-serif; margin: 2em auto; max-width: 62em; padding: 0 1em; }
h1, h2, h3 { font-weight: 600; } h2 { border-top: 1px solid #1D2B33; padding-top: .6em; margin-top: 2em; }
table { border-collapse: collapse; margin: .6em 0; } th, td { text-align: left; vertical-align: top; padding: .15em .8em .15em 0; }
thead th { border-bottom: 1px solid #1D2B33; } .n { text-align: right; font-variant-numeric: tabular-nums; }
td { white-space: pre-line; } .doubt { border-left: 3px dashed #B2502D; padding-left: .6em; } a { color: #0B6E75; } img { max-width: 100%; height: auto; }
</style>
</head>
<body>
)html";

}  // namespace

std::string SummaryPage(const std::vector<SummaryMap>& maps) {
  std::string html = kHead;
  html += fmt::format("<h1>{} in this parcel</h1>\n", maps.size() == 1 ? "One performance map" : fmt::format("{} performance maps", maps.size()));
  html +=
      "<p>This folder is a bag (BagIt, RFC 8493): <code>manifest-sha256.txt</code> lists every file with its hash, so that any bag validator can "
      "tell whether all of it "
      "arrived. <code>islebook parcel look</code> says the same, and who signed it; <code>islebook parcel unpack</code> puts the maps on your shelf. "
      "Every "
      "<code>*.map.json</code> is plain JSON and can be read by itself.</p>\n"
      "<p>A map read from a picture is an estimate, and a map is a test-rig result. Wheels run above their maker's limits can burst: the makers' "
      "limits come first.</p>\n";
  if (maps.size() > 1) {
    html += "<ol>\n";
    for (std::size_t i = 0; i < maps.size(); ++i) html += fmt::format("<li><a href=\"#map-{}\">{}</a></li>\n", i + 1, EscapedMarkup(maps[i].name));
    html += "</ol>\n";
  }
  for (std::size_t i = 0; i < maps.size(); ++i) html += Section(maps[i], i + 1);
  return html + "</body>\n</html>\n";
}

}  // namespace islebook
