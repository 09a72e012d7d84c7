// The SVG that cairo writes, read back: every form it uses, and limits that hostile pages meet.

#include "digitizer/drawing/drawn_page.h"

#include <cmath>
#include <string>

#include <gtest/gtest.h>

namespace islebook {
namespace {

// A page of 100 x 50 points on 1000 x 500 px: ten px a point, and the page's corner half a pixel outside the first pixel's center.
Result<DrawnPage> Read(const std::string& body, const DrawnLimits& limits = {}) {
  return ReadDrawnPage(
      R"(<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100pt" height="50pt" viewBox="0 0 100 50">)" +
          body + "</svg>",
      {{1000, 500}}, limits);
}

void ExpectPoint(const ImagePoint& p, double x, double y) {
  EXPECT_NEAR(p.x, x, 1e-9);
  EXPECT_NEAR(p.y, y, 1e-9);
}

TEST(DrawnPage, StrokesAreInPixelsOfTheSheet) {
  const auto page = Read(R"svg(<path style="fill:none;stroke-width:0.5;stroke:rgb(100%,0%,0%);stroke-opacity:1;stroke-dasharray:3,1;" d="M 1 2 L 3 4 "
    transform="matrix(1,0,0,-1,0,50)"/>)svg");
  ASSERT_TRUE(page) << page.error().message;
  ASSERT_EQ(page->shapes.size(), 1U);
  const DrawnShape& shape = page->shapes[0];
  EXPECT_TRUE(shape.stroked);
  EXPECT_NEAR(shape.width_px, 5.0, 1e-9);
  EXPECT_EQ(shape.color, cv::Vec3b(0, 0, 255));
  ASSERT_EQ(shape.dashes_px.size(), 2U);
  EXPECT_NEAR(shape.dashes_px[0], 30.0, 1e-9);
  ASSERT_EQ(shape.lines.size(), 1U);
  ExpectPoint(shape.lines[0].points[0], 9.5, 479.5);
  ExpectPoint(shape.lines[0].points[1], 29.5, 459.5);
}

TEST(DrawnPage, AttributesServeAsWellAsStyles) {
  const auto page = Read(R"svg(<g transform="translate(10,0)">
    <path fill="none" stroke-width="1" stroke="#00ff00" stroke-opacity="0.5" d="M 0 0 L 1 0"/></g>)svg");
  ASSERT_TRUE(page);
  ASSERT_EQ(page->shapes.size(), 1U);
  EXPECT_EQ(page->shapes[0].color, cv::Vec3b(128, 255, 128));  // half green on white
  ExpectPoint(page->shapes[0].lines[0].points[0], 99.5, -0.5);
}

TEST(DrawnPage, CurvesAreFlattenedToAHundredthOfAPixel) {
  // A quarter circle of 400 px by the usual cubic, which itself strays from the circle by 0.027 % of the radius
  // (common practice, no source).
  const double k = 0.5522847498 * 40;
  const std::string d = "M 40 0 C 40 " + std::to_string(k) + " " + std::to_string(k) + " 40 0 40";
  const auto page = Read("<path fill=\"none\" stroke=\"#000000\" d=\"" + d + "\"/>");
  ASSERT_TRUE(page);
  const auto& p = page->shapes[0].lines[0].points;
  ASSERT_GT(p.size(), 20U);
  for (std::size_t i = 1; i < p.size(); ++i) {
    const ImagePoint middle{(p[i].x + p[i - 1].x) / 2 + 0.5, (p[i].y + p[i - 1].y) / 2 + 0.5};
    EXPECT_NEAR(std::hypot(middle.x, middle.y), 400.0, 0.01 + 0.00028 * 400);
  }
}

TEST(DrawnPage, ClosedLinesAndLoneMoves) {
  // After every Z cairo moves the pen once more.
  const auto page = Read(R"(<path fill="#ff0000" d="M 0 0 L 10 0 L 10 10 Z M 0 0 M 20 20 L 30 20 L 20 30 L 20 20 Z M 20 20 "/>)");
  ASSERT_TRUE(page);
  ASSERT_EQ(page->shapes.size(), 1U);
  ASSERT_EQ(page->shapes[0].lines.size(), 2U);
  for (const Polyline& line : page->shapes[0].lines) {
    EXPECT_TRUE(line.closed);
    EXPECT_EQ(line.points.size(), 3U);
  }
}

TEST(DrawnPage, GlyphsAreUsesOfSymbols) {
  const auto page = Read(R"svg(<defs><g><symbol overflow="visible" id="glyph0-1"><path style="stroke:none;" d="M 0 0 L 1 0 L 1 -2 Z M 0 0 "/></symbol>
    <symbol id="glyph0-2"><path d=""/></symbol></g></defs><g style="fill:rgb(0%,0%,100%);fill-opacity:1;">
    <use xlink:href="#glyph0-1" x="10" y="20"/><use xlink:href="#glyph0-2" x="11" y="20"/><use xlink:href="#glyph0-1" x="12" y="20"/></g>)svg");
  ASSERT_TRUE(page);
  EXPECT_TRUE(page->shapes.empty());
  ASSERT_EQ(page->glyphs.size(), 3U);
  EXPECT_EQ(page->glyphs[0].symbol, page->glyphs[2].symbol);
  EXPECT_TRUE(page->symbols[static_cast<std::size_t>(page->glyphs[1].symbol)].lines.empty());
  EXPECT_EQ(page->glyphs[0].color, cv::Vec3b(255, 0, 0));
  ExpectPoint(page->glyphs[2].origin, 119.5, 199.5);
  EXPECT_NEAR(page->symbols[static_cast<std::size_t>(page->glyphs[0].symbol)].box.height, 20.0, 1e-9);
}

TEST(DrawnPage, ClipsArePathsOfTheirOwn) {
  const auto page = Read(R"svg(<defs><clipPath id="c"><path d="M 10 10 L 20 10 L 20 20 L 10 20 Z"/></clipPath></defs>
    <g clip-path="url(#c)"><path fill="none" stroke="#000000" d="M 0 15 L 50 15"/></g>)svg");
  ASSERT_TRUE(page);
  ASSERT_EQ(page->shapes.size(), 1U);
  ASSERT_EQ(page->shapes[0].clips.size(), 1U);
  const auto& clip = page->clips[static_cast<std::size_t>(page->shapes[0].clips[0])];
  EXPECT_TRUE(InsideClip(clip, {150, 150}));
  EXPECT_FALSE(InsideClip(clip, {250, 150}));
}

TEST(DrawnPage, NothingCanBeBlownUp) {
  // Entities stay as they are; groups that use each other ten at a time end at the limit.
  const auto entities = ReadDrawnPage(
      R"(<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><svg viewBox="0 0 1 1"><g>&b;</g></svg>)", {{10, 10}});
  EXPECT_TRUE(entities);
  std::string body = "<defs><g id=\"g0\"><path fill=\"#000000\" d=\"M 0 0 L 1 0 L 1 1 Z\"/></g>";
  for (int i = 1; i < 9; ++i) {
    body += "<g id=\"g" + std::to_string(i) + "\">";
    for (int k = 0; k < 10; ++k) body += "<use xlink:href=\"#g" + std::to_string(i - 1) + "\"/>";
    body += "</g>";
  }
  const auto uses = Read(body + "</defs><use xlink:href=\"#g8\"/>");
  ASSERT_FALSE(uses);
  EXPECT_EQ(uses.error().code, ErrorCode::kSheetTooLarge);
  const auto itself = Read("<g id=\"a\"><use xlink:href=\"#a\"/></g>");
  ASSERT_FALSE(itself);
  EXPECT_EQ(itself.error().code, ErrorCode::kSheetTooLarge);
  std::string deep;
  for (int i = 0; i < 3000; ++i) deep += "<g>";
  for (int i = 0; i < 3000; ++i) deep += "</g>";
  EXPECT_FALSE(Read(deep));
  EXPECT_FALSE(Read("<path fill=\"none\" stroke=\"#000000\" d=\"M 0 0 L 1 1 L 2 2 L 3 3\"/>", {.max_points = 3}));
}

TEST(DrawnPage, WhatIsNoDrawingIsRefused) {
  EXPECT_FALSE(ReadDrawnPage("", {{10, 10}}));
  EXPECT_FALSE(ReadDrawnPage("<html/>", {{10, 10}}));
  EXPECT_FALSE(ReadDrawnPage("<svg viewBox=\"0 0 0 10\"/>", {{10, 10}}));
  EXPECT_FALSE(ReadDrawnPage("<svg viewBox=\"0 0 10\"/>", {{10, 10}}));
  EXPECT_FALSE(ReadDrawnPage("<svg viewBox=\"0 0 10 10\"><path d=\"M 0", {{10, 10}}));
  // Numbers that are none, or absurd, end their path.
  const auto odd =
      Read(R"(<path fill="none" stroke="#000000" d="M 0 0 L 1 1 L nan 3 L 4 4"/><path fill="none" stroke="#000000" d="M 0 0 L 1e99 1"/>)");
  ASSERT_TRUE(odd);
  ASSERT_EQ(odd->shapes.size(), 1U);
  EXPECT_EQ(odd->shapes[0].lines[0].points.size(), 2U);
}

TEST(PageWords, BoxesInPixels) {
  const auto words = ReadPageWords(
      R"(<html><title>a < b</title><body><doc><page width="100" height="50"><word xMin="10" yMin="20" xMax="30" yMax="25">R&amp;D</word></page></doc></body></html>)",
      {{1000, 500}});
  ASSERT_EQ(words.size(), 1U);
  EXPECT_EQ(words[0].text, "R&D");
  EXPECT_NEAR(words[0].box.x, 99.5, 1e-9);
  EXPECT_NEAR(words[0].box.height, 50.0, 1e-9);
  EXPECT_TRUE(ReadPageWords("<doc><page", {{10, 10}}).empty());
}

}  // namespace
}  // namespace islebook
