#include <cstdlib>
#include <map>

#include <gtest/gtest.h>

#include "tests/digitizer/print/drawn_words.h"

namespace islebook {
namespace {

PrintReader& TheReader() {
  static const auto reader = PrintReader::Open();
  EXPECT_TRUE(reader) << (reader ? "" : reader.error().message);
  return **reader;
}

struct Score {
  int right = 0, all = 0;
  std::string wrong;
};

Score ReadAll(const WordSheet& sheet, const Page& page, Alphabet alphabet) {
  Score score;
  const auto found = FindPrint(page, {});
  if (!found) return score;
  for (const DrawnWord& drawn : sheet.words()) {
    ++score.all;
    const Word* word = Nearest(*found, drawn);
    const std::string text = word ? TheReader().Read(page, *word, alphabet).text : "(not found)";
    if (text == drawn.text)
      ++score.right;
    else
      score.wrong += drawn.text + " as " + text + "; ";
  }
  return score;
}

// Six columns and five rows, far enough apart for the widest.
void WriteNumbers(WordSheet& sheet, double digit_height, const char* font = "DejaVu Sans") {
  const char* numbers[] = {"0.0",  "0.5",  "1.0",    "1.5",     "2.25",    "3.75",  "0.025", "0.0475", "12.5", "27.5",
                           "140",  "3500", "75,000", "105,000", "120,000", "90000", "67500", "0.81",   "0.77", "0.69",
                           "0.55", "0.60", "150k",   "67.5k",   "97.5k",   "73%",   "68%",   "100%",   "20%",  "5"};
  for (int i = 0; i < 30; ++i)
    sheet.Write(numbers[i], (0.6 + i % 6) * 7.0 * digit_height, (0.7 + i / 6) * 4.5 * digit_height, 0.0, digit_height, false, "#000000", font);
}

// The trials' figures (common practice, no source): nearly all from 10 px digits up, level and clean.
TEST(PrintReader, NumbersOfUsualSizes) {
  for (const double digit_height : {10.0, 14.0, 22.0, 34.0}) {
    WordSheet sheet(static_cast<int>(43.0 * digit_height), static_cast<int>(24.0 * digit_height));
    WriteNumbers(sheet, digit_height);
    const Score score = ReadAll(sheet, sheet.ToPage(0.7, 5.0), Alphabet::kNumbers);
    EXPECT_GE(score.right, digit_height < 12.0 ? 27 : 29) << digit_height << " px: " << score.wrong;
  }
}

TEST(PrintReader, SerifDigits) {
  WordSheet sheet(690, 380);
  WriteNumbers(sheet, 16.0, "DejaVu Serif");
  const Score score = ReadAll(sheet, sheet.ToPage(0.7, 4.0), Alphabet::kNumbers);
  EXPECT_GE(score.right, 28) << score.wrong;
}

TEST(PrintReader, TiltedNumbers) {
  WordSheet sheet(980, 420);
  for (int i = 0; i <= 6; ++i) sheet.Write(std::to_string(i) + ".5", 60.0 + i * 90.0, 390.0, 0.0, 16.0);
  const char* numbers[] = {"105,000", "0.74", "75000", "68%", "82.5k", "135000"};
  const double angles[] = {-70.0, -35.0, -10.0, 20.0, 45.0, 68.0};
  for (int i = 0; i < 6; ++i)
    for (int j = 0; j < 3; ++j) sheet.Write(numbers[(i + 2 * j) % 6], 90.0 + i * 150.0, 70.0 + j * 110.0, angles[i], 16.0);
  const Score score = ReadAll(sheet, sheet.ToPage(0.7, 4.0), Alphabet::kNumbers);
  EXPECT_GE(score.right, score.all - 1) << score.wrong;
}

TEST(PrintReader, TurnedTitles) {
  WordSheet sheet(400, 500);
  for (int i = 0; i <= 5; ++i) sheet.Write(std::to_string(i) + ".5", 120.0, 60.0 + i * 70.0, 0.0, 16.0);
  sheet.Write("Pressure", 40.0, 240.0, -90.0, 16.0);    // runs up
  sheet.Write("Efficiency", 330.0, 240.0, 90.0, 16.0);  // runs down
  const Page page = sheet.ToPage(0.6);
  const auto found = FindPrint(page, {});
  ASSERT_TRUE(found);
  for (const DrawnWord& drawn : {sheet.words()[6], sheet.words()[7]}) {
    const Word* word = Nearest(*found, drawn);
    ASSERT_TRUE(word) << drawn.text;
    EXPECT_EQ(TheReader().Read(page, *word, Alphabet::kText).text, drawn.text);
  }
}

TEST(PrintReader, LinesAtTheWordDoNotReadAsDigits) {
  WordSheet sheet(700, 400);
  for (int i = 0; i <= 6; ++i) sheet.Write(std::to_string(i) + ".5", 60.0 + i * 90.0, 370.0, 0.0, 16.0);
  // A curve through a pad, and one that ends at its label.
  sheet.Line({{100.0, 60.0}, {300.0, 160.0}}, 2.0);
  sheet.Write("0.74", 200.0, 110.0, 0.0, 16.0, true);
  sheet.Line({{420.0, 40.0}, {452.0, 118.0}}, 2.0);
  sheet.Write("120,000", 500.0, 130.0, 0.0, 16.0);
  // A line across.
  sheet.Line({{60.0, 252.0}, {640.0, 252.0}}, 1.5);
  sheet.Write("96k", 330.0, 250.0, 0.0, 16.0);
  const Page page = sheet.ToPage(0.6, 3.0);
  const auto found = FindPrint(page, {});
  ASSERT_TRUE(found);
  for (std::size_t i = 7; i < 10; ++i) {
    const Word* word = Nearest(*found, sheet.words()[i]);
    ASSERT_TRUE(word) << sheet.words()[i].text;
    EXPECT_EQ(TheReader().Read(page, *word, Alphabet::kNumbers).text, sheet.words()[i].text);
  }
}

TEST(PrintReader, SaysHowSureItIsAndRepeatsItself) {
  WordSheet sheet(400, 120);
  sheet.Write("0.74", 80.0, 60.0, 0.0, 16.0);
  sheet.Write("105,000", 220.0, 60.0, 0.0, 16.0);
  const Page page = sheet.ToPage(0.6);
  const auto found = FindPrint(page, {});
  ASSERT_TRUE(found);
  ASSERT_EQ(found->words.size(), 2U);
  const Reading once = TheReader().Read(page, found->words[0], Alphabet::kNumbers);
  TheReader().Read(page, found->words[1], Alphabet::kText);
  const Reading again = TheReader().Read(page, found->words[0], Alphabet::kNumbers);
  EXPECT_EQ(once.text, again.text);
  EXPECT_EQ(once.confidence, again.confidence);
  EXPECT_GT(once.confidence, 0.8);
  // A scribble is no number.
  WordSheet scribble(300, 120);
  std::vector<ImagePoint> path;
  for (int i = 0; i < 60; ++i) path.push_back({90.0 + i + 8.0 * std::sin(i * 0.9), 60.0 + 9.0 * std::sin(i * 1.7)});
  scribble.Line(path, 2.0);
  const Page page2 = scribble.ToPage(0.6);
  Word word;
  word.center = {120.0, 60.0};
  word.width_px = 80.0;
  word.height_px = 20.0;
  word.glyphs = {cv::Rect(80, 48, 82, 25)};
  EXPECT_LT(TheReader().Read(page2, word, Alphabet::kNumbers).confidence, 0.8);
}

TEST(PrintReader, MissingLanguageDataAreNamed) {
  const char* before = std::getenv("TESSDATA_PREFIX");
  const std::string kept = before ? before : "";
  ::setenv("TESSDATA_PREFIX", "/nowhere", 1);
  const auto reader = PrintReader::Open();
  if (before)
    ::setenv("TESSDATA_PREFIX", kept.c_str(), 1);
  else
    ::unsetenv("TESSDATA_PREFIX");
  ASSERT_FALSE(reader);
  EXPECT_EQ(reader.error().code, ErrorCode::kNoReader);
  EXPECT_NE(reader.error().message.find("tesseract-ocr-eng"), std::string::npos);
}

}  // namespace
}  // namespace islebook
