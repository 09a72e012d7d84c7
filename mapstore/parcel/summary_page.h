#pragma once
// data/summary.html: what a parcel holds, for a person with a browser and without Islebook. For this folder's own use.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/shelf.h"

namespace islebook {

struct SummaryMap {
  std::string name;
  PerformanceMap map;                   // of the head
  std::vector<RevisionRecord> history;  // latest first
  MapFacts facts;
  std::string document_file;              // beside the page: "documents/...map.json"
  std::optional<std::string> sheet_file;  // "sheets/....png"
  std::string sheet_words;                // where there is no file: why
  std::optional<std::string> chart_file;  // "charts/....svg"
};

// One plain HTML page without scripts and without anything from elsewhere. The same input, the same bytes.
std::string SummaryPage(const std::vector<SummaryMap>& maps);

}  // namespace islebook
