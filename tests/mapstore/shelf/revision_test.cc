#include "mapstore/shelf/revision.h"

#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"

namespace islebook {
namespace {

RevisionRecord Example() {
  RevisionRecord record;
  record.parents = {std::string(64, 'a'), std::string(64, 'b')};
  record.document_sha256 = std::string(64, '0');
  record.author = "Ines, at the \"test\" bench";
  record.time = "2025-03-14T09:26:53Z";
  record.message = "two\nlines, ±0.5 % and a \t tab";
  return record;
}

TEST(Revision, RecordIsCanonicalJson) {
  const std::string json = RevisionRecordJson(Example());
  const Result<std::string> canonical = CanonicalJson(json);
  ASSERT_TRUE(canonical.has_value());
  EXPECT_EQ(*canonical, json);
}

// The bytes are fixed for ever. The hash was computed by sha256sum (GNU coreutils) over the text below.
TEST(Revision, RecordAndIdAreFixed) {
  RevisionRecord record;
  record.document_sha256 = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
  record.author = "Tarnside Engine Works";
  record.time = "2025-03-14T09:26:53Z";
  record.message = "Alder 52 from the brochure";
  EXPECT_EQ(RevisionRecordJson(record),
            R"({"author":"Tarnside Engine Works","document":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",)"
            R"("message":"Alder 52 from the brochure","parents":[],"schema":1,"time":"2025-03-14T09:26:53Z"})");
  EXPECT_EQ(RevisionId(record), "e439689bb234a06cff4467a1dd3bdecc78d62c8261e6893ed448b182073036d2");
}

TEST(Revision, EveryPartChangesTheId) {
  const std::string id = RevisionId(Example());
  EXPECT_TRUE(IsSha256Hex(id));
  RevisionRecord other = Example();
  other.author += "x";
  EXPECT_NE(RevisionId(other), id);
  other = Example();
  other.time = "2025-03-14T09:26:54Z";
  EXPECT_NE(RevisionId(other), id);
  other = Example();
  other.message.clear();
  EXPECT_NE(RevisionId(other), id);
  other = Example();
  other.document_sha256[63] = '1';
  EXPECT_NE(RevisionId(other), id);
  other = Example();
  std::swap(other.parents[0], other.parents[1]);
  EXPECT_NE(RevisionId(other), id);
  other = Example();
  other.id = "what stood there before";
  EXPECT_EQ(RevisionId(other), id);
}

TEST(Revision, Names) {
  for (const char* good : {"Alder 52", "a", "Grauerle 83 Prüfstand", "x/y", "90 % speed"}) EXPECT_TRUE(CheckMapName(good)) << good;
  for (const std::string& bad : {std::string(), std::string(201, 'a'), std::string("a@b"), std::string(" a"), std::string("a "), std::string("a\nb"),
                                 std::string("a\xff"), std::string("a\0b", 3), std::string("\x7f")}) {
    const Result<void> checked = CheckMapName(bad);
    ASSERT_FALSE(checked) << bad;
    EXPECT_EQ(checked.error().code, ErrorCode::kInvalidArgument);
  }
}

TEST(Revision, Times) {
  for (const char* good : {"2025-03-14T09:26:53Z", "2024-02-29T23:59:59Z", "1999-12-31T00:00:00Z"}) EXPECT_TRUE(CheckRevisionTime(good)) << good;
  for (const char* bad : {"", "2025-03-14", "2025-03-14T09:26:53", "2025-02-29T00:00:00Z", "2025-13-01T00:00:00Z", "2025-03-14T24:00:00Z",
                          "2025-03-14T09:60:00Z", "2025-03-14 09:26:53Z", "2025-03-14T09:26:53+", "-025-03-14T09:26:53Z", "2025-03-14T09:26:53.1Z"})
    EXPECT_FALSE(CheckRevisionTime(bad)) << bad;
  EXPECT_TRUE(CheckRevisionTime(CurrentRevisionTime())) << CurrentRevisionTime();
}

TEST(Revision, Hashes) {
  EXPECT_TRUE(IsSha256Hex(std::string(64, 'f')));
  EXPECT_FALSE(IsSha256Hex(std::string(63, 'f')));
  EXPECT_FALSE(IsSha256Hex(std::string(64, 'F')));
  EXPECT_FALSE(IsSha256Hex(std::string(64, 'g')));
}

}  // namespace
}  // namespace islebook
