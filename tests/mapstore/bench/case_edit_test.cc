#include "mapstore/bench/case_edit.h"

#include <gtest/gtest.h>

#include "mapstore/bench/case_file.h"

namespace islebook {
namespace {

constexpr char kCase[] = R"(# A ferry that pulls at 20 °C.
title = "Fähre"

[engine] # of the old yard
displacement = "5.9 L"  # measured
speed = ["1,000 rpm", "1,400 rpm"]
boost = "1.2 bar"

# the only wheel
[[stage]]
compressor = 'birch-52'  # on the shelf

[[point]]
name = "pier"

[[point]]
name = "cruise" # at noon
altitude = ["0 m",
            "1500 m"] # the pass
)";

std::string After(std::string_view text, const CasePlace& place, std::string_view written) {
  const auto change = SetCaseValue(text, place, written);
  EXPECT_TRUE(change.has_value()) << (change ? "" : change.error().message);
  return change ? Changed(text, *change) : "";
}

std::string Written(std::string_view text, const CasePlace& place) {
  const auto root = ParseToml(text);
  EXPECT_TRUE(root.has_value()) << text;
  return root ? WrittenValue(text, *root, place).value_or("(none)") : "";
}

TEST(CaseEdit, ReadsWhatIsWritten) {
  EXPECT_EQ(Written(kCase, {"", 0, "title"}), "Fähre");
  EXPECT_EQ(Written(kCase, {"engine", 0, "speed"}), "1,000 rpm; 1,400 rpm");
  EXPECT_EQ(Written(kCase, {"point", 1, "altitude"}), "0 m; 1500 m");
  EXPECT_EQ(Written(kCase, {"point", 2, "altitude"}), "(none)");
  EXPECT_EQ(Written(kCase, {"exhaust", 0, "heat_loss"}), "(none)");
}

TEST(CaseEdit, ChangesOneValueAndNothingElse) {
  const std::string text = After(kCase, {"engine", 0, "displacement"}, "6.1 L");
  std::string wanted = kCase;
  wanted.replace(wanted.find("5.9"), 3, "6.1");
  EXPECT_EQ(text, wanted);
  const std::string list = "[\"0 m\",\n            \"1500 m\"]";
  wanted.replace(wanted.find(list), list.size(), "\"2000 m\"");
  EXPECT_EQ(After(text, {"point", 1, "altitude"}, "2000 m"), wanted);
}

TEST(CaseEdit, AddsToTheRightSection) {
  std::string text = After(kCase, {"point", 0, "speed"}, "1100 rpm");
  EXPECT_EQ(Written(text, {"point", 0, "speed"}), "1100 rpm");
  EXPECT_EQ(Written(text, {"point", 1, "speed"}), "(none)");
  text = After(text, {"engine", 0, "air_fuel_ratio"}, "24");
  EXPECT_NE(text.find("\nair_fuel_ratio = 24\n"), std::string::npos) << text;
  text = After(text, {"ambient", 0, "altitude"}, "0 m; 800 m");
  EXPECT_NE(text.find("[ambient]\naltitude = [\"0 m\", \"800 m\"]\n"), std::string::npos) << text;
  text = After(text, {"", 0, "units"}, "us");
  EXPECT_NE(text.find("title = \"Fähre\"\nunits = \"us\"\n"), std::string::npos) << text;
  for (const char* comment :
       {"# A ferry that pulls at 20 °C.", "# of the old yard", "# measured", "# the only wheel", "# on the shelf", "# at noon", "# the pass"})
    EXPECT_NE(text.find(comment), std::string::npos) << comment;
}

TEST(CaseEdit, EmptyTakesTheKeyAwayAndKeepsItsComment) {
  const std::string text = After(kCase, {"engine", 0, "displacement"}, " ");
  EXPECT_EQ(Written(text, {"engine", 0, "displacement"}), "(none)");
  EXPECT_NE(text.find("\n# measured\nspeed"), std::string::npos) << text;
  EXPECT_EQ(After(kCase, {"engine", 0, "cylinders"}, ""), kCase) << "what is not there needs no change";
  EXPECT_EQ(After(kCase, {"engine", 0, "boost"}, "").find("boost"), std::string::npos);
}

TEST(CaseEdit, WordsStayWordsAndQuotesAreEscaped) {
  EXPECT_NE(After(kCase, {"", 0, "title"}, "52").find("title = \"52\""), std::string::npos);
  const std::string text = After(kCase, {"point", 0, "name"}, "the \"old\" pier \\ north; east");
  EXPECT_EQ(Written(text, {"point", 0, "name"}), "the \"old\" pier \\ north; east");
}

TEST(CaseEdit, AddsAndRemovesSections) {
  const auto added = AddCaseSection(kCase, "point", {{"name", "rated"}, {"speed", "2200 rpm"}, {"boost", ""}});
  ASSERT_TRUE(added.has_value());
  const std::string text = Changed(kCase, *added);
  EXPECT_EQ(Written(text, {"point", 2, "name"}), "rated");
  EXPECT_EQ(Written(text, {"point", 2, "boost"}), "(none)");
  EXPECT_NE(text.find("# the pass"), std::string::npos);
  const auto gone = RemoveCaseSection(text, "point", 0);
  ASSERT_TRUE(gone.has_value());
  const std::string fewer = Changed(text, *gone);
  EXPECT_EQ(Written(fewer, {"point", 0, "name"}), "cruise");
  EXPECT_EQ(Written(fewer, {"point", 1, "name"}), "rated");
  EXPECT_EQ(fewer.find("pier"), std::string::npos);
  EXPECT_FALSE(RemoveCaseSection(text, "point", 9).has_value());
}

TEST(CaseEdit, SaysWhatItCannotDo) {
  constexpr char kBraces[] = "engine = { displacement = \"5.9 L\" }\nambient.altitude = \"0 m\"\n";
  EXPECT_EQ(Written(kBraces, {"engine", 0, "displacement"}), "5.9 L");
  EXPECT_EQ(Written(After(kBraces, {"engine", 0, "displacement"}, "6 L"), {"engine", 0, "displacement"}), "6 L");
  for (const CasePlace& place : {CasePlace{"engine", 0, "boost"}, CasePlace{"ambient", 0, "temperature"}}) {
    const auto change = SetCaseValue(kBraces, place, "1 bar");
    ASSERT_FALSE(change.has_value());
    EXPECT_NE(change.error().message.find(place.key), std::string::npos);
  }
  EXPECT_FALSE(SetCaseValue("title = \"open", {"", 0, "title"}, "x").has_value());
}

TEST(CaseEdit, AWholeCaseWrittenByEditsAloneIsRead) {
  std::string text;
  for (const auto& [place, written] : std::vector<std::pair<CasePlace, std::string>>{{{"engine", 0, "displacement"}, "5.9 L"},
                                                                                     {{"engine", 0, "speed"}, "2200 rpm"},
                                                                                     {{"engine", 0, "boost"}, "1.2 bar"},
                                                                                     {{"stage", 0, "compressor"}, "birch-52"},
                                                                                     {{"", 0, "title"}, "Ferry"}}) {
    if (place.section == "stage") {
      const auto added = AddCaseSection(text, "stage", {{place.key, written}});
      ASSERT_TRUE(added.has_value());
      text = Changed(text, *added);
    } else {
      text = After(text, place, written);
    }
  }
  const auto read = ParseCase(text, "made.toml");
  ASSERT_TRUE(read.has_value()) << read.error().message << '\n' << text;
  EXPECT_EQ(read->title, "Ferry");
  EXPECT_EQ(read->stages.front().map, "birch-52");
}

}  // namespace
}  // namespace islebook
