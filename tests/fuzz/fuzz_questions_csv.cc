// A table of questions, whole and in pieces of every size: the same questions, and an answer to each that is whole JSON and CSV.
#include <algorithm>

#include <nlohmann/json.hpp>

#include "mapstore/answers/answer_text.h"
#include "mapstore/answers/askable_map.h"
#include "mapstore/query/question_table.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace {

using namespace islebook;

const AskableMap& Map(bool turbine) {
  static const AskableMap compressor = *AskableMap::Make(InventCompressor(2, {.lines = 5, .points = 30}).map, "Alder 52", "");
  static const AskableMap vanes = *AskableMap::Make(InventTurbine(4, true).map, "Rowan 83", "");
  return turbine ? vanes : compressor;
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  return {"flow,pressure_ratio\n0.2,2\n0.3,2.5\n", "speed [krpm],flow [lb/min],note\r\n90,20,\"a \"\"b\"\"\"\r\n,,\r\n\r\n80,1e-3,x\r\n",
          "\xEF\xBB\xBF"
          "expansion_ratio,vane_opening\n2,50\n1,0\n-3,nan\n",
          "flow;pressure_ratio\n0,2;2\n", "\"flow\",\"speed\"\n\"0.2\",\"90000\"\n+0.1,9e4"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view csv(reinterpret_cast<const char*>(data), size);
  const AskableMap& map = Map(size % 2 == 1);
  const auto whole = ReadQuestionTable(csv, map.units());
  std::string_view rest = csv;
  const std::size_t piece = 1 + size % 7;
  auto reader = QuestionTableReader::Open(
      [&](char* buffer, std::size_t room) -> Result<std::size_t> {
        const std::size_t length = std::min({piece, room, rest.size()});
        rest.copy(buffer, length);
        rest.remove_prefix(length);
        return length;
      },
      map.units());
  if (!reader) {
    FUZZ_CHECK(!whole && whole.error().message == reader.error().message && !whole.error().message.empty());
    return 0;
  }
  TableQuestion row;
  std::size_t count = 0;
  while (true) {
    const auto more = reader->Next(row);
    if (!more) {
      FUZZ_CHECK(!whole && whole.error().message == more.error().message && !more.error().place.empty());
      return 0;
    }
    if (!*more) break;
    FUZZ_CHECK(!whole ||
               (count < whole->questions.size() && whole->questions[count].values == row.values && whole->questions[count].line == row.line));
    ++count;
    const MapAnswer answer = map.Ask({row.values, row.error});
    FUZZ_CHECK(answer.asked || !answer.reason.empty());
    FUZZ_CHECK(answer.asked || (!answer.speed && !answer.efficiency && !answer.inside));
    std::string json, line;
    AppendAnswerJson(json, map, answer);
    FUZZ_CHECK(nlohmann::json::accept(json));
    AppendAnswerCsv(line, map, answer);
    FUZZ_CHECK(line.ends_with("\r\n") && line.substr(0, line.find("e,")).find_first_not_of("0123456789.-+e,truefals") == std::string::npos);
  }
  FUZZ_CHECK(whole && count == whole->questions.size());
  return 0;
}
