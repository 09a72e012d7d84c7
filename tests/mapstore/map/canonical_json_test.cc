#include "mapstore/map/canonical_json.h"

#include <random>

#include <gtest/gtest.h>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

// RFC 8785, section 3.2.2 (input) and 3.2.3 (output). From memory.
TEST(CanonicalJson, ExampleOfTheRfc) {
  const auto canonical = CanonicalJson(R"({
    "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
    "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
    "literals": [null, true, false]
  })");
  ASSERT_TRUE(canonical) << canonical.error().message;
  EXPECT_EQ(*canonical, R"({"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"})");
}

// RFC 8785, section 3.2.3: sorting of properties. From memory, and the same in a public test vector of another implementation of the RFC.
TEST(CanonicalJson, PropertiesSortByUtf16CodeUnits) {
  const auto canonical = CanonicalJson(R"({
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\ud83d\ude00": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis"
  })");
  ASSERT_TRUE(canonical) << canonical.error().message;
  EXPECT_EQ(*canonical,
            "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\xC2\x80\":\"Control\",\"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\","
            "\"\xF0\x9F\x98\x80\":\"Emoji: Grinning Face\",\"\xEF\xAC\xB3\":\"Hebrew Letter Dalet With Dagesh\"}");
}

TEST(CanonicalJson, EmptyAndNestedStructures) {
  EXPECT_EQ(*CanonicalJson(" { } "), "{}");
  EXPECT_EQ(*CanonicalJson("[[],{},[{}]]"), "[[],{},[{}]]");
  EXPECT_EQ(*CanonicalJson(R"({"b":{"z":1,"a":-0.0},"a":[3,2]})"), R"({"a":[3,2],"b":{"a":0,"z":1}})");
  EXPECT_EQ(*CanonicalJson("1e0"), "1");
}

TEST(CanonicalJson, RefusesWhatHasNoOneMeaning) {
  EXPECT_FALSE(CanonicalJson(R"({"a":1,"a":2})"));
  EXPECT_FALSE(CanonicalJson(R"({"a":1e999})"));
  EXPECT_FALSE(CanonicalJson(R"({"a":1)"));
  EXPECT_FALSE(CanonicalJson(R"({"a":1} x)"));
  EXPECT_FALSE(CanonicalJson("\"\xFF\""));
  EXPECT_FALSE(CanonicalJson(std::string(100, '[') + std::string(100, ']')));
}

// FIPS 180-4 examples, as published by NIST: "abc", the 448-bit message, the empty message. From memory.
TEST(Sha256, ExamplesOfTheStandard) {
  EXPECT_EQ(Sha256Hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(Sha256Hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(Sha256Hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(CanonicalJson, ADocumentHasOneFormHoweverItIsSpelled) {
  std::mt19937 random(3);
  for (int i = 0; i < 100; ++i) {
    const PerformanceMap map = RandomMap(random);
    const std::string document = WriteMapDocument(map);
    const auto once = CanonicalJson(document);
    ASSERT_TRUE(once) << once.error().message;
    EXPECT_EQ(*CanonicalJson(*once), *once);
    const auto back = ParseMapDocument(*once);  // other spacing and key order, same map
    ASSERT_TRUE(back);
    EXPECT_EQ(CanonicalJson(WriteMapDocument(*back)).value_or(""), *once);
  }
}

}  // namespace
}  // namespace islebook
