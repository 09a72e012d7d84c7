// A map document: refused with the place, or a map that is written, read, judged and hashed the same way ever after.
#include <algorithm>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/validate.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"

using namespace islebook;

std::vector<std::string> FuzzSeeds() {
  return {
      WriteMapDocument(InventCompressor(2, {.lines = 2, .points = 5}).map), WriteMapDocument(InventTurbine(4, true).map),
      R"({"document":"performance-map","schema":1,"kind":null,"curves":[],"recipe":{"recipe":1},"source":{"file":"a","sha256":"","size_px":[1,2],"page":1}})",
      R"({"document":"performance-map","schema":1,"curves":[{"role":"other","points":[[1,2]],"value":1e3,"unit":"lb/min","sigma":[[0,0]],"needs_review":true,"reasons":["x"]}],)"
      R"("axes":{"x":{"quantity":"corrected_mass_flow","unit":"kg/s","scale":"log","min":0.1,"max":1}},"calibration":{"frame_px":[[0,0],[1,0],[1,1],[0,1]],"parameters":[1]}})"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto canonical = CanonicalJson(text);
  if (canonical) FUZZ_CHECK(*CanonicalJson(*canonical) == *canonical);
  const auto map = ParseMapDocument(text);
  if (!map) {
    FUZZ_CHECK(!map.error().message.empty());
    return 0;
  }
  FUZZ_CHECK(canonical.has_value());
  FUZZ_CHECK(CheckWritable(*map).has_value());
  const std::string written = WriteMapDocument(*map);
  const auto again = ParseMapDocument(written);
  FUZZ_CHECK(again && *again == AsWritten(*map) && WriteMapDocument(*again) == written);
  for (const Finding& finding : ValidateMap(*map)) FUZZ_CHECK(!finding.sentence.empty() && (!finding.curve || *finding.curve < map->curves.size()));
  return 0;
}
