#pragma once
// Curves, numbers and maps in words, for findings, remarks and doubts.

#include <string>
#include <string_view>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

// "90,000", "0.74", "2.45": thousands parted by commas from 10,000 on, as many digits as are needed up to `significant_digits`.
std::string NumberInWords(double value, int significant_digits = 6);

// "the 90,000 rpm speed line", "the 0.74 efficiency island", "the surge line", "a speed line without a value".
std::string CurveInWords(const Curve& curve);

// "corrected mass flow", "pressure ratio, total to total".
const char* QuantityInWords(Quantity quantity);

// Whether flow or speed is corrected to conditions that the sheet does not state, so that it cannot be compared with other maps as it stands.
bool LacksReference(const PerformanceMap& map);

// Reasons as one sentence without its end: sentences and clauses parted by semicolons, "it has a kink; the 90,000 rpm line crosses it".
std::string JoinReasons(const std::vector<std::string>& reasons);

// How the sheet's doubt begins that lists the curves of doubtful shape.
inline constexpr std::string_view kPiecesDoubt = "a curve may be missing or in pieces";

// The first letter made a capital.
std::string Capitalized(std::string sentence);

}  // namespace islebook
