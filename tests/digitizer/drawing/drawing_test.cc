// Drawings from file to lines and words, by way of the programs that draw them.

#include "digitizer/drawing/drawing.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace islebook {
namespace {

using ::testing::HasSubstr;

struct Read {
  Sheet sheet;
  Page page;
  DrawingFound drawing;
};

// 400 x 300 units of 1/96 inch are 1250 x 937.5 px at 300 dpi.
constexpr double kPx = 300.0 / 96.0;
ImagePoint At(double x, double y) { return {x * kPx - 0.5, y * kPx - 0.5}; }

Read ReadSvg(const std::string& body) {
  const std::string text = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400\" height=\"304\">" + body + "</svg>";
  auto sheet = DecodeSheet({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, "drawn.svg");
  EXPECT_TRUE(sheet) << sheet.error().message;
  Read read{std::move(*sheet), {}, {}};
  read.page = *FlattenPage(read.sheet);
  read.drawing = *ReadDrawing(read.sheet, read.page, {});
  return read;
}

const std::string kFrame =
    R"(<rect x="40" y="20" width="320" height="240" fill="none" stroke="black"/><path d="M40 140 H360" stroke="#888" fill="none"/>)";

const RidgeChain* ChainThrough(const DrawingFound& drawing, ImagePoint p) {
  const RidgeChain* best = nullptr;
  double nearest = 2.0;
  for (const RidgeChain& chain : drawing.ridges.chains)
    for (const ImagePoint& q : chain.points)
      if (const double d = std::hypot(p.x - q.x, p.y - q.y); d < nearest) nearest = d, best = &chain;
  return best;
}

TEST(Drawing, LinesLieWhereTheyAreDrawn) {
  const Read read = ReadSvg(kFrame + R"(<path d="M60 200 L180.25 81.5 L300 200" fill="none" stroke="#c00000" stroke-width="2" stroke-dasharray="6 3"/>
    <circle cx="200" cy="150" r="50" fill="none" stroke="#0000a0" stroke-width="1.5"/>)");
  ASSERT_TRUE(read.drawing.usable);
  EXPECT_TRUE(read.drawing.ridges.exact);
  const RidgeChain* bent = ChainThrough(read.drawing, At(120.125, 140.75));
  ASSERT_NE(bent, nullptr);
  EXPECT_TRUE(bent->dash_pattern);
  EXPECT_FALSE(bent->closed);
  // Its corner is kept; two roundings to 1/256 of a point lie between the file and here.
  const ImagePoint corner = At(180.25, 81.5);
  double nearest = 1e9;
  for (const ImagePoint& p : bent->points) nearest = std::min(nearest, std::hypot(p.x - corner.x, p.y - corner.y));
  EXPECT_LT(nearest, 0.03);
  const RidgeChain* circle = ChainThrough(read.drawing, At(250, 150));
  ASSERT_NE(circle, nullptr);
  EXPECT_TRUE(circle->closed);
  const ImagePoint center = At(200, 150);
  for (const ImagePoint& p : circle->points)
    EXPECT_NEAR(std::hypot(p.x - center.x, p.y - center.y), 50 * kPx, 0.06);  // the cubic's own error is 0.04
}

TEST(Drawing, WordsSayWhatTheFileSays) {
  const Read read = ReadSvg(kFrame + R"svg(<text x="60" y="282" font-size="12">Flow 0.74 kg/s</text>
    <g transform="translate(30,200) rotate(-90)"><text font-size="12">Pressure ratio</text></g>
    <g transform="translate(200,100) rotate(30)"><text font-size="11">90,000</text></g>)svg");
  ASSERT_TRUE(read.drawing.usable);
  // Nothing is read from pixels: a reader that answers nothing would show.
  class Mute final : public PrintReader {
   public:
    Reading Read(const Page&, const Word&, Alphabet) override { return {"90000", 0.1}; }
    Reading Read(const Page&, const Word&, Alphabet, double) override { return {"90000", 0.1}; }
  } mute;
  const auto reader = MakeExactReader(read.drawing, mute);
  std::vector<std::string> texts;
  double tilted = 0.0, upright = 0.0;
  for (const Word& word : read.drawing.print.words) {
    texts.push_back(reader->Read(read.page, word, Alphabet::kText).text);
    if (texts.back() == "90,000") tilted = word.angle_deg;
    if (texts.back() == "Pressure") upright = word.angle_deg;
  }
  EXPECT_THAT(texts, ::testing::UnorderedElementsAre("Flow", "0.74", "kg/s", "Pressure", "ratio", "90,000"));
  EXPECT_NEAR(tilted, 30.0, 0.3);
  EXPECT_NEAR(upright, -90.0, 0.3);
  const auto flow = std::ranges::find(texts, "Flow") - texts.begin(), number = std::ranges::find(texts, "0.74") - texts.begin();
  const Word both = JoinWords({read.drawing.print.words[static_cast<std::size_t>(number)], read.drawing.print.words[static_cast<std::size_t>(flow)]});
  EXPECT_EQ(reader->Read(read.page, both, Alphabet::kText).text, "Flow 0.74");
  EXPECT_EQ(reader->Read(read.page, read.drawing.print.words[static_cast<std::size_t>(number)], Alphabet::kNumbers).text, "0.74");
  EXPECT_EQ(reader->Read(read.page, read.drawing.print.words[static_cast<std::size_t>(flow)], Alphabet::kNumbers).text, "");
}

TEST(Drawing, TextThatContradictsThePictureIsNotTrusted) {
  Read read = ReadSvg(kFrame + R"(<text x="60" y="282" font-size="12">10 20 30 40 50 60</text>)");
  ASSERT_TRUE(read.drawing.usable);
  class Seer final : public PrintReader {  // the picture shows other digits than the letters say
   public:
    Reading Read(const Page&, const Word&, Alphabet) override { return {"77", 0.95}; }
    Reading Read(const Page&, const Word&, Alphabet, double) override { return {"77", 0.95}; }
  } seer;
  const auto reader = MakeExactReader(read.drawing, seer);
  for (const Word& word : read.drawing.print.words) EXPECT_EQ(reader->Read(read.page, word, Alphabet::kNumbers).text, "77");
}

TEST(Drawing, WhatDoesNotShowIsLeftOut) {
  const Read read =
      ReadSvg(R"svg(<path d="M60 60 L300 70" fill="none" stroke="black"/><rect x="50" y="50" width="300" height="50" fill="white"/>)svg" + kFrame +
              R"svg(<path d="M60 120 L300 121" fill="none" stroke="white" stroke-width="2"/>
    <clipPath id="c"><rect x="100" y="150" width="50" height="100"/></clipPath>
    <path clip-path="url(#c)" d="M60 200 L300 210" fill="none" stroke="black"/>)svg");
  ASSERT_TRUE(read.drawing.usable);
  EXPECT_EQ(ChainThrough(read.drawing, At(180, 65)), nullptr);
  EXPECT_EQ(ChainThrough(read.drawing, At(180, 120.5)), nullptr);
  const RidgeChain* clipped = ChainThrough(read.drawing, At(125, 202.7));
  ASSERT_NE(clipped, nullptr);
  EXPECT_NEAR(clipped->points.front().x, At(100, 0).x, 0.1);
  EXPECT_NEAR(clipped->points.back().x, At(150, 0).x, 0.1);
}

TEST(Drawing, APadUnderALabelHidesNothing) {
  const Read read =
      ReadSvg(kFrame + R"(<path d="M60 200 L300 90" fill="none" stroke="black"/><rect x="160" y="135" width="40" height="20" fill="white"/>
    <text x="163" y="150" font-size="12">0.74</text>)");
  ASSERT_TRUE(read.drawing.usable);
  const RidgeChain* line = ChainThrough(read.drawing, At(100, 181.7));
  ASSERT_NE(line, nullptr);
  EXPECT_NEAR(line->length_px, std::hypot(240, 110) * kPx, 0.1);
}

TEST(Drawing, EdgesOfAreasAreLinesUnlessAStrokeRunsThere) {
  const Read read =
      ReadSvg(kFrame + R"(<circle cx="130" cy="130" r="60" fill="#bbd0ee"/><circle cx="280" cy="130" r="60" fill="#bbd0ee" stroke="black"/>)");
  ASSERT_TRUE(read.drawing.usable);
  const RidgeChain* edge = ChainThrough(read.drawing, At(130, 70));
  ASSERT_NE(edge, nullptr);
  EXPECT_TRUE(edge->area_edge);
  int around_second = 0;
  for (const RidgeChain& chain : read.drawing.ridges.chains)
    around_second += chain.closed && std::abs(chain.points[0].x - At(280, 0).x) < 70 * kPx ? 1 : 0;
  EXPECT_EQ(around_second, 1);
}

TEST(Drawing, AScanStaysAPicture) {
  // One pixel, stretched over the page.
  const Read read =
      ReadSvg(kFrame + R"(<image x="0" y="0" width="400" height="304" preserveAspectRatio="none" xmlns:xlink="http://www.w3.org/1999/xlink"
    xlink:href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg=="/>)");
  EXPECT_FALSE(read.drawing.usable);
  EXPECT_THAT(read.drawing.report.notes.at(0), HasSubstr("picture covers"));
}

TEST(Drawing, APageWithoutLinesHasNoDrawing) {
  EXPECT_FALSE(ReadSvg("").drawing.usable);
  EXPECT_FALSE(ReadSvg("<text x=\"60\" y=\"60\">A letter</text>").drawing.usable);
  Sheet picture;
  picture.pixels = cv::Mat3b(100, 100, cv::Vec3b(255, 255, 255));
  Page page;
  page.ink = cv::Mat1b(100, 100, static_cast<unsigned char>(0));
  EXPECT_FALSE(ReadDrawing(picture, page, {})->usable);
}

TEST(Drawing, OptionsAreChecked) {
  EXPECT_FALSE(DrawingOptions{.most_picture = 2.0}.Check());
  EXPECT_FALSE(DrawingOptions{.least_line_part = 0.0}.Check());
  EXPECT_TRUE(DrawingOptions{}.Check());
}

}  // namespace
}  // namespace islebook
