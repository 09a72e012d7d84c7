#include "mapstore/parcel/bag.h"

#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "tests/mapstore/parcel/parcel_test_support.h"

namespace islebook {
namespace {

using namespace parcel_test;

// RFC 8493, section 2.1.1: the declaration has these two lines.
TEST(Bag, DeclarationIsTheStandards) { EXPECT_EQ(BagDeclaration(), "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"); }

// RFC 8493, section 2.1.3: percent signs and line ends in paths are escaped, nothing else.
TEST(Bag, ManifestsEscapeWhatTheyMust) {
  EXPECT_EQ(ManifestText({{"data/50% \xC3\xA4.txt", {std::string(64, 'a'), 1}}}), std::string(64, 'a') + "  data/50%25 \xC3\xA4.txt\n");
  const auto read = ReadManifest(
      std::string(64, 'A') + " data/50%25 x.txt\r\n" + std::string(64, 'b') + "\t*data/y\r" + std::string(64, 'c') + "  ./data/z", "manifest");
  ASSERT_TRUE(read) << read.error().message;
  EXPECT_EQ(read->at("data/50% x.txt"), std::string(64, 'a'));
  EXPECT_EQ(read->at("data/y"), std::string(64, 'b'));
  EXPECT_EQ(read->at("data/z"), std::string(64, 'c'));
}

TEST(Bag, ManifestsAreReadStrictly) {
  for (const std::string& line : {std::string("abc  data/x"), std::string(64, 'g') + "  data/x", std::string(64, 'a'), std::string(64, 'a') + "  "})
    EXPECT_FALSE(ReadManifest(line, "manifest")) << line;
  EXPECT_EQ(ReadManifest(std::string(64, 'a') + "  /etc/x", "manifest").error().code, ErrorCode::kParcelRefused);
}

// RFC 8493, section 2.2.2: a long value may go on in lines that begin with white space.
TEST(Bag, InfoMayGoOnInTheNextLine) {
  Files files = {{"data/a", "1"}, {"bag-info.txt", "Source-Organization: Tarnside\n  Engine Works\nPayload-Oxum: 1.1\n"}};
  const Result<ZipReader> zip = ZipReader::OpenBytes(ZippedBag(files));
  ASSERT_TRUE(zip) << zip.error().message;
  const Result<Bag> bag = ReadBag(*zip);
  ASSERT_TRUE(bag) << bag.error().message;
  EXPECT_EQ(bag->info.at(0), (std::pair<std::string, std::string>("Source-Organization", "Tarnside Engine Works")));
  EXPECT_EQ(bag->base, "maps-parcel");
}

TEST(Bag, OtherVersionsAndManifests) {
  const auto open = [](Files files) {
    const Result<ZipReader> zip = ZipReader::OpenBytes(ZippedBag(files));
    return zip ? ReadBag(*zip) : Result<Bag>(std::unexpected(zip.error()));
  };
  EXPECT_TRUE(open({{"data/a", "1"}, {"bagit.txt", "BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"}}));
  EXPECT_FALSE(open({{"data/a", "1"}, {"bagit.txt", "BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n"}}));
  EXPECT_FALSE(open({{"data/a", "1"}, {"bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n"}}));
  EXPECT_FALSE(open({{"data/a", "1"},
                     {"bagit.txt",
                      "\xEF\xBB\xBF"
                      "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"}}));
  EXPECT_TRUE(open({{"data/a", "1"}, {"manifest-md5.txt", "c4ca4238a0b923820dcc509a6f75849b  data/a\n"}}));
}

TEST(Bag, PathsThatAreFit) {
  for (const char* path : {"a", "a/b.txt", "a b/\xC3\xA4", "a/b/", ".hidden", "a..b"}) EXPECT_EQ(WrongWithPath(path), "") << path;
  for (const char* path : {"", "/", "/a", "..", "a/..", "../a", "a/../b", "a//b", "./a", "a/.", "a\\b", "C:a", "a\tb", "\xFF"})
    EXPECT_NE(WrongWithPath(path), "") << path;
}

}  // namespace
}  // namespace islebook
