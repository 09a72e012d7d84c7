#pragma once
// The answers of `ask` for people and for programs. Internal to ui/cli.

#include <string>
#include <vector>

#include "mapstore/query/compressor_query.h"
#include "mapstore/query/query_units.h"
#include "mapstore/query/turbine_query.h"

namespace islebook {

// What stands beside every answer.
struct AskFacts {
  std::string name;  // of the map
  std::string title;
  std::string revision;  // empty: a file
  std::string flow_unit;
  std::optional<ReferenceConditions> reference;
  std::vector<std::string> doubts;  // about the map as a whole, in words
};

// A question that could not be read has an error and no answer.
struct CompressorItem {
  CompressorAnswer answer;
  std::string error;  // with its line
};
struct TurbineItem {
  TurbineAnswer answer;
  std::string error;
};

std::string CompressorText(const AskFacts& facts, const CompressorQuery& query, const std::vector<CompressorItem>& items);
std::string TurbineText(const AskFacts& facts, const TurbineQuery& query, const std::vector<TurbineItem>& items);
// One object per point, in order.
std::string CompressorJson(const AskFacts& facts, const CompressorQuery& query, const std::vector<CompressorItem>& items);
std::string TurbineJson(const AskFacts& facts, const TurbineQuery& query, const std::vector<TurbineItem>& items);

// "0.742 ± 0.004": as many digits as the uncertainty allows, at most `most` significant ones; without sigma `usual` significant ones.
std::string WithSigma(double value, std::optional<double> sigma, int most = 6, int usual = 4);
// What stands beside a point in a chart's key.
std::string CompressorWords(const CompressorAnswer& answer, const CompressorSurface& surface);
std::string TurbineWords(const TurbineAnswer& answer, const TurbineSurface& surface);

}  // namespace islebook
