#include "mapstore/parcel/cell_table.h"

#include <gtest/gtest.h>

#include "tests/mapstore/parcel/parcel_test_support.h"

namespace islebook {
namespace {

CellTable Read(const std::string& text) {
  const Result<CellTable> table = ReadCsv(text);
  EXPECT_TRUE(table) << (table ? "" : table.error().message);
  return table.value_or(CellTable{});
}

TEST(Csv, ThereAndBack) {
  CellTable table;
  table.rows.push_back(
      {1, {Cell(std::string("a \"b\"")), Cell(std::string("x,y")), Cell(0.1), Cell(-1e-7), Cell(90000.0), Cell(std::string("two\nlines"))}});
  const std::string csv = WriteCsv(table);
  EXPECT_EQ(csv, "\"a \"\"b\"\"\",\"x,y\",0.1,-1e-7,90000,\"two\nlines\"\r\n");
  const CellTable back = Read(csv);
  ASSERT_EQ(back.rows.size(), 1u);
  EXPECT_EQ(back.rows[0].cells, table.rows[0].cells);
}

TEST(Csv, AsSpreadsheetProgramsOfOtherCountriesSaveIt) {
  const CellTable semicolons = Read("\xEF\xBB\xBFrole;x;y\r\nspeed_line;0,25;2,5\r\nspeed_line;0.25;1e3\r\n");
  EXPECT_EQ(semicolons.rows.at(1).cells.at(1).number, 0.25);
  EXPECT_EQ(semicolons.rows.at(2).cells.at(1).number, 0.25);
  EXPECT_EQ(semicolons.rows.at(2).cells.at(2).number, 1000.0);
  const CellTable tabs = Read("role\tx\ty\nspeed_line\t0,25\t2,5\n");
  EXPECT_EQ(tabs.rows.at(1).cells.at(2).number, 2.5);
  EXPECT_FALSE(Read("a;b\n1.000,5;2\n").rows.at(1).cells.at(0).number);  // it could be either
  EXPECT_FALSE(Read("a;b\n1,000,5;2\n").rows.at(1).cells.at(0).number);
}

TEST(Csv, EmptyLinesAndNumbersOfLines) {
  const CellTable table = Read("\n\na,b\n\n,,\n1,2");
  ASSERT_EQ(table.rows.size(), 2u);
  EXPECT_EQ(table.rows[0].line, 3);
  EXPECT_EQ(table.rows[1].line, 6);
}

TEST(Csv, SaysWhatIsWrongAndWhere) {
  EXPECT_EQ(ReadCsv("a,b\n\"open").error().place, "line 2");
  EXPECT_EQ(ReadCsv("a\n\"x\"y\n").error().place, "line 2");
  EXPECT_NE(ReadCsv(std::string("a\0b", 3)).error().message.find("UTF-8"), std::string::npos);
  EXPECT_NE(ReadCsv("a\n\xE4\n").error().message.find("UTF-8"), std::string::npos);
  for (const char* text : {"nan", "inf", "1e999", "0x10", "1 2", "--1", ""})
    EXPECT_FALSE(Read(std::string("a,b\n") + text + ",1\n").rows.at(1).cells.at(0).number) << text;
}

TEST(Workbook, ThereAndBack) {
  CellTable first{"Map", {}}, second{"Points", {}};
  first.rows.push_back({1, {Cell(std::string("title")), Cell(std::string("Alder & <52> \xC3\xA4"))}});
  second.rows.push_back({1, {Cell(std::string("x")), Cell(std::string("y"))}});
  second.rows.push_back({2, {Cell(0.1), Cell(-123456.789)}});
  second.rows.push_back({3, {Cell(), Cell(1e-9)}});
  const Result<std::string> bytes = WriteWorkbook({first, second});
  ASSERT_TRUE(bytes) << bytes.error().message;
  EXPECT_EQ(*WriteWorkbook({first, second}), *bytes);
  const auto sheets = ReadWorkbook(*bytes);
  ASSERT_TRUE(sheets) << sheets.error().message;
  ASSERT_EQ(sheets->size(), 2u);
  EXPECT_EQ((*sheets)[0].name, "Map");
  EXPECT_EQ((*sheets)[0].rows[0].cells, first.rows[0].cells);
  EXPECT_EQ((*sheets)[1].rows[1].cells, second.rows[1].cells);
  EXPECT_EQ((*sheets)[1].rows[2].cells, second.rows[2].cells);
  EXPECT_EQ((*sheets)[1].rows[2].line, 3);
}

// Written by hand after ISO/IEC 29500-1, section 18: shared, inline and rich text, formulas with values, a prefix on every element.
std::string HandMade(
    const std::string& sheet,
    const std::string& strings =
        "<x:sst "
        "xmlns:x=\"m\"><x:si><x:t>one</x:t></x:si><x:si><x:r><x:t>tw</x:t></x:r><x:r><x:t>o</x:t></x:r><x:rPh><x:t>no</x:t></x:rPh></x:si></x:sst>") {
  const parcel_test::Files files = {
      {"_rels/workbook.xml.rels",
       "<Relationships><Relationship Id=\"rId1\" Type=\"http://x/worksheet\" Target=\"/xl/worksheets/s.xml\"/><Relationship Id=\"rId2\" "
       "Type=\"http://x/sharedStrings\" Target=\"strings.xml\"/></Relationships>"},
      {"workbook.xml", "<x:workbook xmlns:x=\"m\" xmlns:r=\"n\"><x:sheets><x:sheet name=\"Points\" r:id=\"rId1\"/></x:sheets></x:workbook>"},
      {"strings.xml", strings},
      {"worksheets/s.xml", sheet}};
  return parcel_test::Zipped(files, "xl");
}

TEST(Workbook, AsOtherProgramsWriteIt) {
  const auto sheets =
      ReadWorkbook(HandMade("<x:worksheet xmlns:x=\"m\"><x:sheetData><x:row><x:c t=\"s\"><x:v>1</x:v></x:c><x:c t=\"inlineStr\"><x:is><x:t>in "
                            "line</x:t></x:is></x:c></x:row>"
                            "<x:row r=\"5\"><x:c r=\"B5\"><x:f>1+1</x:f><x:v>2</x:v></x:c><x:c r=\"D5\" t=\"b\"><x:v>1</x:v></x:c><x:c r=\"E5\" "
                            "t=\"str\"><x:v>s</x:v></x:c></x:row></x:sheetData></x:worksheet>"));
  ASSERT_TRUE(sheets) << sheets.error().message;
  const CellTable& table = (*sheets)[0];
  EXPECT_EQ(table.rows[0].cells[0].text, "two");
  EXPECT_EQ(table.rows[0].cells[1].text, "in line");
  EXPECT_EQ(table.rows[1].line, 5);
  EXPECT_EQ(table.rows[1].cells[1].number, 2.0);
  EXPECT_TRUE(table.rows[1].cells[2].IsEmpty());
  EXPECT_EQ(table.rows[1].cells[3].text, "true");
  EXPECT_EQ(table.rows[1].cells[4].text, "s");
}

TEST(Workbook, HostileOnesAreRefused) {
  const auto sheet = [](const std::string& rows) { return HandMade("<worksheet><sheetData>" + rows + "</sheetData></worksheet>"); };
  for (const std::string& bytes :
       {std::string("not a zip"), sheet("<row><c t=\"s\"><v>99</v></c></row>"), sheet("<row><c t=\"s\"><v>-1</v></c></row>"),
        sheet("<row r=\"99999999999\"><c><v>1</v></c></row>"), sheet("<row r=\"2\"/><row r=\"1\"/>"),
        sheet("<row r=\"1\"><c r=\"A7\"><v>1</v></c></row>"), sheet("<row><c r=\"ZZZZZZ1\"><v>1</v></c></row>"),
        sheet("<row><c t=\"e\"><v>#REF!</v></c></row>"), sheet("<row><c><v>1e999</v></c></row>"), HandMade("<worksheet><sheetData>"),
        HandMade("<!DOCTYPE a [<!ENTITY b \"cc\">]><worksheet>&b;"), parcel_test::Zipped({{"x", "y"}}, "xl")}) {
    const auto sheets = ReadWorkbook(bytes);
    EXPECT_FALSE(sheets) << bytes.size();
    if (!sheets) {
      EXPECT_FALSE(sheets.error().message.empty());
    }
  }
  // A bomb of XML, and cells far to the right: one is refused, the other takes no memory.
  EXPECT_EQ(ReadWorkbook(sheet(std::string(80 << 20, ' '))).error().code, ErrorCode::kParcelRefused);
  EXPECT_TRUE(ReadWorkbook(sheet("<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>")));
}

}  // namespace
}  // namespace islebook
