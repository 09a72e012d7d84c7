// The reader of single characters on drawn words: small print, print that runs together, and what other texts would cost.

#include "digitizer/print/digit_reader.h"

#include <cmath>

#include <gtest/gtest.h>

#include "tests/digitizer/print/drawn_words.h"

namespace islebook {
namespace {

constexpr const char* kNumbers[] = {"60,000", "105,000", "0.74", "0.69", "82%", "120k", "3.5", "97500", "135000", "48k", "71%", "0.55"};

// The crop of a drawn word at the place where it was drawn, found or not.
WordCrop CropOf(const Page& page, const DrawnWord& drawn, double width) {
  Word word;
  word.center = drawn.center;
  word.width_px = width;
  word.height_px = drawn.digit_height_px;
  CropOptions options;
  options.digit_height = kDigitReaderHeight;
  return CropWord(page, word, 0.0, options);
}

int RightOf(double digit_height, const char* font, double blur, double noise, std::string& wrong) {
  int right = 0;
  WordSheet sheet(static_cast<int>(28 * digit_height), static_cast<int>(14 * digit_height));
  for (int i = 0; i < 12; ++i)
    sheet.Write(kNumbers[i], std::round((4 + 9.3 * (i % 3)) * digit_height), std::round((2 + 3 * (i / 3)) * digit_height), 0.0, digit_height, false,
                "#000000", font);
  const Page page = sheet.ToPage(blur, noise);
  for (const DrawnWord& drawn : sheet.words()) {
    const std::string text = DigitReader(CropOf(page, drawn, 0.85 * digit_height * static_cast<double>(drawn.text.size()))).Read().text;
    if (text == drawn.text)
      ++right;
    else
      wrong += drawn.text + " as " + text + "; ";
  }
  return right;
}

TEST(DigitReader, SmallPrint) {
  for (const double digit_height : {7.0, 9.0, 13.0, 22.0})
    for (const char* font : {"DejaVu Sans", "DejaVu Serif"}) {
      std::string wrong;
      EXPECT_GE(RightOf(digit_height, font, 0.5, 4.0, wrong), digit_height < 8 ? 9 : 11) << digit_height << " px, " << font << ": " << wrong;
    }
}

TEST(DigitReader, CostTellsTextsApart) {
  WordSheet sheet(200, 60);
  sheet.Write("105,000", 100, 30, 0.0, 12.0);
  const DigitReader reader(CropOf(sheet.ToPage(0.5, 2.0), sheet.words()[0], 66.0));
  const double right = reader.CostOf("105,000");
  EXPECT_LT(right, 2.0);
  EXPECT_NEAR(reader.CostOf("105.000"), right, 1e-9);  // points and commas count alike
  for (const char* other : {"205,000", "5,000", "105,00", "105,0000", "1105,000", "165,000"}) EXPECT_GT(reader.CostOf(other), right + 3.0) << other;
  EXPECT_GT(reader.CostOf("n=1"), 1e6);
  EXPECT_GT(reader.CostOf(""), 1e6);
}

TEST(DigitReader, LettersAreNoNumbers) {
  WordSheet sheet(260, 60);
  sheet.Write("Pressure", 130, 30, 0.0, 12.0);
  const DigitReading reading = DigitReader(CropOf(sheet.ToPage(0.5, 2.0), sheet.words()[0], 100.0)).Read();
  EXPECT_LT(reading.confidence * reading.clear, 0.5) << reading.text;
  EXPECT_TRUE(DigitReader(WordCrop{}).Read().text.empty());
}

}  // namespace
}  // namespace islebook
