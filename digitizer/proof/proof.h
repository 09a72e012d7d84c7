#pragma once
// The proof: the sheet with the recovered curves drawn over it, their values and the doubts, for a person to judge.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/sheet/sheet.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

// Every doubt of the map with its number, as the proof and the summary count them: first those about the sheet, then those about curves.
struct NumberedDoubt {
  int number = 0;
  std::optional<std::size_t> curve;  // index into map.curves; nullopt: the sheet as a whole
  std::string text;
};
std::vector<NumberedDoubt> ListDoubts(const PerformanceMap& map);

// The doubts as lines for a person: a reason that three or more curves share stands once, with all their numbers ("3, 5-8"  "5 curves: no label was read for it").
// A doubt may stand in several lines; what a doubt about the sheet only repeats of the curves is left to the curves' own lines.
struct DoubtLine {
  std::string numbers;
  std::string text;
  std::vector<int> of;  // the numbers one by one
};
std::vector<DoubtLine> DoubtLines(const PerformanceMap& map);

// The first of those lines for a short summary, about `most` of them, and how many doubts none of them names.
struct FirstDoubts {
  std::vector<DoubtLine> lines;
  std::size_t lines_left = 0, doubts_left = 0;  // lines may be left where no doubt is: further reasons of those that are named
};
FirstDoubts FirstDoubtLines(const PerformanceMap& map, std::size_t most);

// "speed line 90,000 rpm", "efficiency island 0.74", "surge line".
std::string NameOfCurve(const Curve& curve);

// The whole in a line: "compressor: 8 speed lines, 6 efficiency islands, surge line".
std::string SummaryOf(const PerformanceMap& map);

// BGR picture. Curves without points_px are left out.
cv::Mat3b DrawProof(const Sheet& sheet, const PerformanceMap& map);

// The same as a PNG file's bytes, for doors that know no pictures.
std::vector<std::uint8_t> DrawProofPng(const Sheet& sheet, const PerformanceMap& map);

}  // namespace islebook
