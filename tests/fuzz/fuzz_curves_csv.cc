// A CSV table of curves.
#include "tests/fuzz/check_tables.h"

using namespace islebook;

std::vector<std::string> FuzzSeeds() {
  return {CurvesAsCsv(FuzzedMap(false), {"Alder 52", std::string(64, 'a')}), CurvesAsCsv(FuzzedMap(true), {"rowan.map.json", ""}),
          "role,value [rpm],x [lb/min],y [1]\nspeed_line,90000,10,2.5\nspeed_line,90000,20,2.3\nsurge_line,,8,1.8\nsurge_line,,10,2.5\n",
          "\xEF\xBB\xBFrole;value [%];x [1];y corrected_mass_flow [kg/s];efficiency [%]\nflow_line;50;1,5;0,1;\nefficiency_line;50;1,5;;60\n",
          "curve\trole\tclosed\tneeds_review\tx [m3/s]\ty\n1\tefficiency island\tyes\tno\t1\t2\n\n\"1\"\tefficiency_island\tyes\tno\t\"2\"\t2\n"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  if (const Result<CellTable> table = ReadCsv(text); table) {
    // What is written is read again as it was.
    const Result<CellTable> again = ReadCsv(WriteCsv(*table));
    FUZZ_CHECK(again && again->rows.size() <= table->rows.size());
  }
  CheckTables(ReadCurveCsv(text));
  return 0;
}
