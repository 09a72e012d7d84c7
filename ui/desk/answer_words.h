#pragma once
// Answers of a map in words, the same at the command line and in the window.

#include <optional>
#include <string>

#include "mapstore/answers/askable_map.h"

namespace islebook {

// "0.742 ± 0.004": as many digits as the uncertainty allows, at most `most` significant ones; without sigma `usual` significant ones.
std::string WithSigma(double value, std::optional<double> sigma, int most = 6, int usual = 4);
// "14.2 % ± 0.6 %" of a fraction, no finer than a tenth; "-" where it is not known.
std::string PercentWithSigma(std::optional<double> value, std::optional<double> sigma);
// A number as it was asked for.
std::string AsGiven(std::optional<double> value);
// "92,000 rpm"; a pure number stays alone.
std::string WithUnit(const std::string& word, const std::string& unit);
// Where the point lies: "on the map", "left of the surge line".
const char* WhereWords(const AskableMap& map, const MapAnswer& answer);
// What stands beside a point in a chart's key.
std::string AnswerWords(const AskableMap& map, const MapAnswer& answer);

}  // namespace islebook
