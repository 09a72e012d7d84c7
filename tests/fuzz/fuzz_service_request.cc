// A request to the query service, "METHOD TARGET CONTENT-TYPE\n" and a body: whatever it is, the response is whole JSON with a status that the description knows, and
// never a number where there is no answer.
#include <filesystem>

#include <unistd.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/map_document.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"
#include "ui/service/map_service.h"

namespace {

using namespace islebook;

MapService& Service() {
  static MapService service([] {
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / ("islebook-fuzz-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    static const struct Removed {
      std::filesystem::path folder;
      ~Removed() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
      }
    } removed{folder};
    FUZZ_CHECK(WriteMapFile(folder / "alder.map.json", InventCompressor(2, {.lines = 5, .points = 30}).map));
    FUZZ_CHECK(WriteMapFile(folder / "rowan.map.json", InventTurbine(4, true).map));
    MapServiceOptions options;
    options.shelf = folder / "shelf.db";
    options.files = {folder / "alder.map.json", folder / "rowan.map.json"};
    options.threads = 1;
    options.most_points = 1000;
    options.bench.most_points = 4;
    return options;
  }());
  return service;
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  return {"GET /v1/maps -\n",
          "GET /v1/maps/alder -\n",
          "GET /openapi.json -\n",
          "GET /v1/maps/alder/ask?flow=0.2+kg/s&pressure_ratio=2&surge_margin=flow&reference=298+K,+100+kPa -\n",
          "GET /v1/maps/ro%77an/ask?expansion_ratio=2&vane_opening=50 -\n",
          "POST /v1/maps/alder/ask application/json\n{\"points\": [{\"flow\": 0.2, \"pressure_ratio\": 2}, {\"speed\": 90000, \"flow\": null}], "
          "\"units\": {\"flow\": \"kg/s\"}}",
          "POST /v1/maps/alder/ask application/json; charset=utf-8\n{\"columns\": {\"flow\": [0.2, 0.3], \"pressure_ratio\": [2, 2.5]}, "
          "\"surge_margin\": \"flow\"}",
          "POST /v1/maps/rowan/ask application/json\n{\"points\": [{\"expansion_ratio\": 2, \"vane_opening\": 50}, {}], \"reference\": \"298 K, 100 "
          "kPa\"}",
          "POST /v1/bench application/toml\n[engine]\ndisplacement = \"5.9 L\"\nspeed = \"2000 rpm\"\nboost = \"0.8 bar\"\n[[stage]]\ncompressor = "
          "\"alder\"\n",
          "POST /v1/bench?csv=true&surge_margin=flow application/toml\n[engine]\ndisplacement = \"5.9 L\"\nspeed = [\"1500 rpm\", \"2000 "
          "rpm\"]\nboost = \"0.8 "
          "bar\"\n[[stage]]\ncompressor = \"alder\"\nturbine = \"rowan\"\n",
          "DELETE /v1/maps/alder -\n"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view input(reinterpret_cast<const char*>(data), size);
  const std::size_t end = std::min(input.find('\n'), input.size());
  std::string_view line = input.substr(0, end);
  const auto word = [&line] {
    const std::size_t space = std::min(line.find(' '), line.size());
    const std::string_view found = line.substr(0, space);
    line.remove_prefix(std::min(space + 1, line.size()));
    return found;
  };
  ServiceRequest request;
  request.host = "localhost";
  request.method = word();
  request.target = word();
  request.content_type = line;
  request.body = input.substr(std::min(end + 1, input.size()));
  const ServiceResponse response = Service().Handle(request);
  switch (response.status) {
    case 200:
    case 400:
    case 404:
    case 405:
    case 415:
    case 422: break;
    default: FUZZ_CHECK(false);
  }
  if (response.status == 200 && response.content_type.starts_with("text/csv")) {
    FUZZ_CHECK(response.body.starts_with("point,wheel,") && response.body.ends_with("\r\n"));
    return 0;
  }
  const auto document = nlohmann::json::parse(response.body, nullptr, false);
  FUZZ_CHECK(!document.is_discarded());
  if (response.status != 200) {
    FUZZ_CHECK(document.at("status") == response.status && !document.at("detail").get<std::string>().empty());
  } else if (document.is_array() && !document.empty() && document[0].contains("inside")) {
    for (const auto& answer : document) FUZZ_CHECK(answer.at("inside") == true || (answer.at("efficiency").is_null() || answer.contains("reason")));
  }
  return 0;
}
