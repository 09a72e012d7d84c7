#include "ui/report/report_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <QString>

#include <fmt/format.h>

namespace islebook {
namespace {

// "0.423 kg/s" in its parts; in brackets where a value is assumed.
struct Measure {
  std::string number, unit;
  bool bracketed = false;
};

bool Split(std::string text, Measure& measure) {
  measure.bracketed = text.size() > 2 && text.front() == '(' && text.back() == ')';
  if (measure.bracketed) text = text.substr(1, text.size() - 2);
  const std::size_t space = text.find(' ');
  if (space == std::string::npos || space == 0) return false;
  measure.number = text.substr(0, space);
  measure.unit = text.substr(space + 1);
  return measure.number.find_first_not_of("0123456789.,+-") == std::string::npos && measure.unit.find(' ') == std::string::npos;
}

int Decimals(const std::string& number) {
  const std::size_t point = number.find('.');
  return point == std::string::npos ? 0 : static_cast<int>(number.size() - point - 1);
}

// The cells of one column without their common unit, which is returned; empty where they have none.
std::string Unify(std::vector<std::string>& cells) {
  std::string unit;
  std::vector<Measure> measures(cells.size());
  double largest = -1.0;
  int decimals = 0;
  bool grouped = false;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i] == "-" || cells[i].empty()) continue;
    Measure& measure = measures[i];
    if (!Split(cells[i], measure) || (!unit.empty() && measure.unit != unit)) return "";
    unit = measure.unit;
    if (measure.number.find(',') != std::string::npos) grouped = true;
    double value = 0.0;
    const char* first = measure.number.data() + (measure.number[0] == '+' ? 1 : 0);
    std::from_chars(first, measure.number.data() + measure.number.size(), value);
    if (std::abs(value) > largest) largest = std::abs(value), decimals = Decimals(measure.number);
  }
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (measures[i].unit.empty()) continue;
    std::string number = measures[i].number;
    if (!grouped) {
      double value = 0.0;
      const bool plus = number[0] == '+';
      std::from_chars(number.data() + (plus ? 1 : 0), number.data() + number.size(), value);
      number = fmt::format("{}{:.{}f}", plus ? "+" : "", value, decimals);
    }
    cells[i] = measures[i].bracketed ? "(" + number + ")" : number;
  }
  return unit;
}

}  // namespace

std::string EscapedHtml(const std::string& text) { return QString::fromStdString(text).toHtmlEscaped().toStdString(); }

std::string GradeHtml(Grade grade, const std::string& text) {
  const char* kind = grade == Grade::kOver ? "over" : grade == Grade::kClose ? "close" : "";
  return fmt::format("<span class=\"{}\">{}</span>", kind, EscapedHtml(text));
}

std::string ReportTable::Html() const {
  std::string head = "<tr>";
  std::vector<std::string> rows(rows_.size(), "<tr>");
  for (std::size_t column = 0; column < heads_.size(); ++column) {
    std::vector<std::string> cells;
    for (const auto& row : rows_) cells.push_back(column < row.size() ? row[column].text : "");
    const std::string unit = column == 0 ? "" : Unify(cells);
    const char* align = column == 0 ? "left" : "right";
    head += fmt::format("<th align=\"{}\" valign=\"bottom\" style=\"font-size: 80%\">{}{}</th>", align, EscapedHtml(heads_[column]),
                        unit.empty() ? "" : ", " + EscapedHtml(unit));
    for (std::size_t i = 0; i < rows_.size(); ++i)
      rows[i] += fmt::format("<td align=\"{}\" style=\"white-space: nowrap; font-size: 80%\">{}</td>", align,
                             GradeHtml(column < rows_[i].size() ? rows_[i][column].grade : Grade::kRoom, cells[i]));
  }
  std::string html = "<table width=\"100%\" cellspacing=\"0\" cellpadding=\"2\">" + head + "</tr>";
  for (const std::string& row : rows) html += row + "</tr>";
  return html + "</table>";
}

}  // namespace islebook
