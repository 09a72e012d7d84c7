#include "mapstore/parcel/curve_tables.h"

#include <random>

#include <gtest/gtest.h>

#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/correction.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

const TableOrigin kOrigin{"Alder 52", std::string(64, 'a')};

// Read back against the map itself there is no difference, whatever the map is.
void ExpectNoDifference(const PerformanceMap& map) {
  const Result<CurveTables> csv = ReadCurveCsv(CurvesAsCsv(map, kOrigin));
  ASSERT_TRUE(csv) << csv.error().place << ": " << csv.error().message;
  const Result<MapCorrection> from_csv = CorrectMap(map, *csv);
  ASSERT_TRUE(from_csv) << from_csv.error().message;
  EXPECT_TRUE(from_csv->changes.empty()) << from_csv->changes.front();
  EXPECT_EQ(WriteMapDocument(from_csv->map), WriteMapDocument(map));
  const Result<std::string> bytes = CurvesAsWorkbook(map, kOrigin);
  ASSERT_TRUE(bytes) << bytes.error().message;
  const Result<CurveTables> workbook = ReadCurveWorkbook(*bytes);
  ASSERT_TRUE(workbook) << workbook.error().place << ": " << workbook.error().message;
  EXPECT_EQ(workbook->origin->map, "Alder 52");
  EXPECT_EQ(workbook->origin->revision, kOrigin.revision);
  const Result<MapCorrection> from_workbook = CorrectMap(map, *workbook);
  ASSERT_TRUE(from_workbook) << from_workbook.error().message;
  EXPECT_TRUE(from_workbook->changes.empty()) << from_workbook->changes.front();
  EXPECT_EQ(WriteMapDocument(from_workbook->map), WriteMapDocument(map));
}

TEST(CurveTables, ThereAndBackIsNoDifference) {
  ExpectNoDifference(ExampleCompressorMap());
  ExpectNoDifference(ExampleTurbineMap());
}

TEST(CurveTables, TheHeaderNamesQuantitiesAndUnits) {
  const std::string csv = CurvesAsCsv(ExampleCompressorMap(), kOrigin);
  const std::string header = csv.substr(0, csv.find('\r'));
  const PerformanceMap map = ExampleCompressorMap();
  EXPECT_NE(header.find(std::string("x ") + QuantityName(map.x->quantity) + " [" + map.x->unit + "]"), std::string::npos) << header;
  EXPECT_NE(header.find("role,value,unit"), std::string::npos) << header;
  EXPECT_NE(csv.find("\r\nAlder 52@aaaaaaaaaaaaaaaa,1,speed_line,"), std::string::npos) << csv.substr(0, 400);
}

TEST(CurveTables, AMapFromATableAlone) {
  const Result<CurveTables> tables = ReadCurveCsv(
      "role,value [rpm],x [lb/min],y [1]\nspeed_line,90000,10,2.5\nspeed_line,90000,20,2.3\nspeed_line,90000,25,1.8\n"
      "speed_line,70000,8,1.8\nspeed_line,70000,15,1.7\nspeed_line,70000,19,1.4\nsurge_line,,8,1.8\nsurge_line,,10,2.5\n");
  ASSERT_TRUE(tables) << tables.error().message;
  const Result<PerformanceMap> map = MapFromTables(*tables);
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_EQ(map->kind, MapKind::kCompressor);
  ASSERT_EQ(map->curves.size(), 3u);
  EXPECT_EQ(map->curves[0].value, 90000);
  EXPECT_EQ(map->curves[0].unit, "rpm");
  EXPECT_EQ(map->curves[0].points.size(), 3u);
  EXPECT_EQ(map->x->quantity, Quantity::kCorrectedMassFlow);
  EXPECT_EQ(map->x->unit, "lb/min");
  EXPECT_EQ(map->x->max, 25);
  // What was assumed is said.
  EXPECT_GE(map->needs_review.size(), 3u);
  EXPECT_TRUE(ParseMapDocument(WriteMapDocument(*map)));
}

TEST(CurveTables, ATurbinesMapFromATableAlone) {
  const Result<CurveTables> tables = ReadCurveCsv(
      "role,value [%],x expansion_ratio_ts [1],y corrected_mass_flow [kg/s],efficiency efficiency_ts [%]\n"
      "flow_line,50,1.5,0.10,\nflow_line,50,2.5,0.14,\nefficiency_line,50,1.5,,60\nefficiency_line,50,2.5,,71\n");
  ASSERT_TRUE(tables) << tables.error().message;
  const Result<PerformanceMap> map = MapFromTables(*tables);
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_EQ(map->kind, MapKind::kTurbine);
  ASSERT_TRUE(map->efficiency);
  EXPECT_EQ(map->efficiency->unit, "%");
  EXPECT_EQ(map->curves[1].points[1], (Point2{2.5, 71}));
}

TEST(CurveTables, SaysWhatIsWrongAndWhere) {
  const std::pair<const char*, const char*> rows[] = {
      {"", "empty"},
      {"a,b\n1,2\n", "columns role, x and y"},
      {"role,x [lb/min],x,y\n", "twice"},
      {"role,x [parsec/min],y [1]\nspeed_line,1,2\n", "unit"},
      {"role,x [lb/min],y [1]\nwiggle,1,2\n", "role is \"wiggle\""},
      {"role,x [lb/min],y [1]\nspeed_line,one,2\n", "no number"},
      {"role,x [lb/min],y [1]\nspeed_line,1,\n", "has no y"},
      {"role,value,x [lb/min],y [1]\nspeed_line,90000,1,2\n", "has no unit"},
      {"role,value,unit,x [lb/min],y [1]\nspeed_line,90000,furlong,1,2\n", "furlong"},
      {"curve,role,value [rpm],x [lb/min],y [1]\n1,speed_line,90000,1,2\n1,speed_line,91000,2,2\n", "must say the same"},
      {"curve,role,x [lb/min],y [1]\n0,speed_line,1,2\n", "count from 1"},
      {"curve,role,x [lb/min],y [1]\n1.5,speed_line,1,2\n", "count from 1"},
      {"map,role,x [lb/min],y [1]\nA,speed_line,1,2\nB,speed_line,1,2\n", "more than one map"},
      {"role,closed,x [lb/min],y [1]\nspeed_line,perhaps,1,2\n", "true or false"},
      {"role,x [lb/min],y [1],sigma_x,sigma_y\nspeed_line,1,2,-1,0\n", "negative"},
  };
  for (const auto& [csv, word] : rows) {
    const Result<CurveTables> tables = ReadCurveCsv(csv);
    ASSERT_FALSE(tables) << csv;
    EXPECT_NE(tables.error().message.find(word), std::string::npos) << csv << ": " << tables.error().message;
    EXPECT_NE(tables.error().place.find("line"), std::string::npos) << csv;
  }
  for (const char* csv : {"role,x [lb/min],y [1]\nspeed_line,1e300,2\nspeed_line,1,1\n", "role,x [lb/min],y [1]\n", "role,x,y\nspeed_line,1,2\n",
                          "role,value [rpm],x [lb/min],y [1]\nspeed_line,1,1,2\nflow_line,1,1,2\n"}) {
    const Result<CurveTables> tables = ReadCurveCsv(csv);
    ASSERT_TRUE(tables) << csv;
    EXPECT_FALSE(MapFromTables(*tables)) << csv;
  }
}

TEST(OldTables, AreReadAsTheyWereWritten) {
  const Result<std::string> csv = ReadFileContents(ISLEBOOK_SOURCE_DIR "/tests/old_files/curves_1.csv");
  ASSERT_TRUE(csv);
  const Result<CurveTables> from_csv = ReadCurveCsv(*csv);
  ASSERT_TRUE(from_csv) << from_csv.error().message;
  const Result<std::string> workbook = ReadFileContents(ISLEBOOK_SOURCE_DIR "/tests/old_files/curves_1.xlsx");
  ASSERT_TRUE(workbook);
  const Result<CurveTables> from_workbook = ReadCurveWorkbook(*workbook);
  ASSERT_TRUE(from_workbook) << from_workbook.error().message;
  for (const CurveTables& tables : {*from_csv, *from_workbook}) {
    const Result<MapCorrection> correction = CorrectMap(ExampleCompressorMap(), tables);
    ASSERT_TRUE(correction) << correction.error().message;
    EXPECT_TRUE(correction->changes.empty()) << correction->changes.front();
  }
}

}  // namespace
}  // namespace islebook
