#include "mapstore/map/json_text.h"

#include <bit>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <random>

#include <gtest/gtest.h>

namespace islebook {
namespace {

// RFC 8785 appendix B, "Number Serialization Samples": the bits of the double and its text. The rows are from memory; the ECMAScript rule they follow was checked against the
// shortest-digits property below, which does not depend on memory.
TEST(JsonText, NumbersOfTheRfcsTable) {
  const struct {
    std::uint64_t bits;
    const char* text;
  } rows[] = {
      {0x0000000000000000, "0"},
      {0x8000000000000000, "0"},
      {0x0000000000000001, "5e-324"},
      {0x8000000000000001, "-5e-324"},
      {0x7fefffffffffffff, "1.7976931348623157e+308"},
      {0xffefffffffffffff, "-1.7976931348623157e+308"},
      {0x4340000000000000, "9007199254740992"},
      {0xc340000000000000, "-9007199254740992"},
      {0x4430000000000000, "295147905179352830000"},
      {0x44b52d02c7e14af5, "9.999999999999997e+22"},
      {0x44b52d02c7e14af6, "1e+23"},
      {0x44b52d02c7e14af7, "1.0000000000000001e+23"},
      {0x444b1ae4d6e2ef4e, "999999999999999700000"},
      {0x444b1ae4d6e2ef4f, "999999999999999900000"},
      {0x444b1ae4d6e2ef50, "1e+21"},
      {0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
      {0x3eb0c6f7a0b5ed8d, "0.000001"},
      {0x41b3de4355555553, "333333333.3333332"},
      {0x41b3de4355555554, "333333333.33333325"},
      {0x41b3de4355555555, "333333333.3333333"},
      {0x41b3de4355555556, "333333333.3333334"},
      {0x41b3de4355555557, "333333333.33333343"},
      {0xbecbf647612f3696, "-0.0000033333333333333333"},
      {0x43143ff3c1cb0959, "1424953923781206.2"},
  };
  for (const auto& row : rows) EXPECT_EQ(JsonNumber(std::bit_cast<double>(row.bits)), row.text);
}

TEST(JsonText, NumbersReadBackAsTheSameDoubleAndNoShorterTextDoes) {
  std::mt19937_64 random(7);
  for (int i = 0; i < 20000; ++i) {
    const double value = std::bit_cast<double>(random());
    if (!std::isfinite(value)) continue;
    const std::string text = JsonNumber(value);
    ASSERT_EQ(std::strtod(text.c_str(), nullptr), value) << text;
    // One digit fewer must be another double.
    std::size_t digits = 0;
    for (const char c : text.substr(0, text.find('e'))) digits += c >= '0' && c <= '9' ? 1 : 0;
    if (text.find('e') != std::string::npos && digits > 1) {
      ASSERT_NE(RoundToDigits(value, static_cast<int>(digits) - 1), value) << text;
    }
  }
}

TEST(JsonText, NotFiniteIsNull) {
  EXPECT_EQ(JsonNumber(std::numeric_limits<double>::quiet_NaN()), "null");
  EXPECT_EQ(JsonNumber(-std::numeric_limits<double>::infinity()), "null");
}

TEST(JsonText, Rounding) {
  EXPECT_EQ(JsonNumber(RoundToDigits(2.0 / 3.0, 4)), "0.6667");
  EXPECT_EQ(JsonNumber(RoundToDigits(123456789.0, 4)), "123500000");
  EXPECT_EQ(JsonNumber(RoundToPlaces(1023.45678, 3)), "1023.457");
  EXPECT_EQ(JsonNumber(RoundToPlaces(-0.0001, 3)), "0");
}

TEST(JsonText, StringsEscapeOnlyWhatTheyMust) {
  EXPECT_EQ(JsonString("a/b\"c\\d"), R"("a/b\"c\\d")");
  EXPECT_EQ(JsonString(std::string("\b\f\n\r\t\0\x1f\x7f", 8)), std::string("\"\\b\\f\\n\\r\\t\\u0000\\u001f\x7f\""));
  EXPECT_EQ(JsonString("85 °F √K"), "\"85 °F √K\"");
}

TEST(JsonText, BytesThatAreNotUtf8AreReplaced) {
  const std::string mark = "\xEF\xBF\xBD";
  EXPECT_EQ(ValidUtf8("a\xFFz"), "a" + mark + "z");
  EXPECT_EQ(ValidUtf8("\xC0\xAF"), mark + mark);                        // overlong slash
  EXPECT_EQ(ValidUtf8("\xED\xA0\x80"), mark + mark + mark);             // a lone surrogate
  EXPECT_EQ(ValidUtf8("\xF4\x90\x80\x80"), mark + mark + mark + mark);  // beyond U+10FFFF
  EXPECT_EQ(ValidUtf8("cut \xE2\x88"), "cut " + mark + mark);
  EXPECT_EQ(ValidUtf8("°³√𝔘"), "°³√𝔘");
}

TEST(EscapedMarkupTest, NothingOfItIsATag) {
  EXPECT_EQ(EscapedMarkup("<b a=\"1\" c='2'>R&D</b>"), "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;R&amp;D&lt;/b&gt;");
  EXPECT_EQ(EscapedMarkup("one\ntwo\tthree\x01\x7F"), "one\ntwo three  ");
  EXPECT_EQ(EscapedMarkup("\xFF"), "\xEF\xBF\xBD");
}

}  // namespace
}  // namespace islebook
