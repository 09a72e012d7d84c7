#pragma once
// The variables of a map as a functional mock-up: what modelDescription.xml lists and the mock-up's library reads and writes.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"

namespace islebook {

// Value references. Fixed: a mock-up's description and its library must agree.
enum FmuReference : unsigned {
  kFmuInputs = 0,           // real: + QuestionValue, flow_in ...
  kFmuOutputs = 100,        // real: + place in FmuOutputs()
  kFmuEdges = 200,          // real output, a compressor's: + place in NamedEdges(), the change that leads to the edge
  kFmuNearestBeyond = 102,  // integer output: what lies beyond the nearest edge, as the region
  kFmuGiven = 0,            // integer parameter: which two inputs are the question, FmuQuestions() counted from 1
  kFmuRegion = 100,         // integer output: as islebook.h's region, -1 not asked, 0 on the map, ...
  kFmuAlternatives = 101,   // integer output
  kFmuInside = 100,         // boolean output
  kFmuMargin = 0,           // string parameter: name of the surge margin
  kFmuReason = 100,         // string output
  kFmuRevision = 101,       // string constant
};

struct FmuOutput {
  const char* name;
  std::optional<double> MapAnswer::* value;
  std::optional<Slope> AnswerSlopes::* slope;  // nullptr: none is known but by differences
};
std::span<const FmuOutput> FmuOutputs();  // of both kinds of map

// Which inputs a question may consist of; the first is the default.
struct FmuQuestion {
  QuestionValue first, second;
};
std::vector<FmuQuestion> FmuQuestions(const AskableMap& map);

// -1 not asked, 0 on the map, 1 left of surge, 2 past choke, 3 over speed, 4 under speed, 5 outside a turbine's lines.
int FmuRegionOf(const AskableMap& map, const MapAnswer& answer);

// The change of an output (kFmuOutputs or kFmuEdges and on) with one input of the question: the answer's own slope where it has one, otherwise by central differences; not a
// number where the output is none.
double FmuDerivative(const AskableMap& map, const Question& question, const std::optional<AnswerSlopes>& slopes, unsigned output,
                     QuestionValue input);
// An output's value; not a number where it cannot be known.
double FmuValue(const AskableMap& map, const Question& question, const MapAnswer& answer, unsigned output);
bool FmuHasOutput(const AskableMap& map, unsigned output);

}  // namespace islebook
