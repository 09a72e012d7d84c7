#pragma once
// A table of a report as rich text. What stands behind every number of a column (its unit) moves into the column's head, and the column's numbers take as many decimals as its
// largest: narrow columns that read down.

#include <string>
#include <vector>

#include "mapstore/bench/bench.h"

namespace islebook {

struct ReportCell {
  std::string text;            // "0.423 kg/s"; "-" where there is nothing
  Grade grade = Grade::kRoom;  // over is printed in its own ink, close in bold
  ReportCell(std::string words, Grade graded = Grade::kRoom) : text(std::move(words)), grade(graded) {}
  ReportCell(const char* words) : text(words) {}
};

class ReportTable {
 public:
  explicit ReportTable(std::vector<std::string> heads) : heads_(std::move(heads)) {}
  void Add(std::vector<ReportCell> cells) { rows_.push_back(std::move(cells)); }
  std::string Html() const;

 private:
  std::vector<std::string> heads_;
  std::vector<std::vector<ReportCell>> rows_;
};

// A grade's word in its print.
std::string GradeHtml(Grade grade, const std::string& text);
std::string EscapedHtml(const std::string& text);

}  // namespace islebook
