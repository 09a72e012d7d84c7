// The same map as PDF, as SVG and as a picture gives the same document, within the stated uncertainty.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <QBuffer>

#include "digitizer/digitize.h"
#include "tests/support/gui_application.h"
#include "tests/support/sheet_match.h"
#include "tests/support/sheet_painter.h"

namespace islebook {
namespace {

PerformanceMap MapOf(const QByteArray& bytes, const std::string& name) {
  const auto sheet = DecodeSheet({reinterpret_cast<const std::uint8_t*>(bytes.data()), static_cast<std::size_t>(bytes.size())}, name);
  EXPECT_TRUE(sheet) << sheet.error().message;
  if (!sheet) return {};
  auto result = Digitize(*sheet);
  EXPECT_TRUE(result);
  return result && !result->maps.empty() ? result->maps[0] : PerformanceMap{};
}

// Part of a's points that lie on b within three standard uncertainties of both, in axis units.
double PartAgreed(const Curve& a, const Curve& b) {
  int agreed = 0;
  for (std::size_t i = 0; i < a.points.size(); ++i) {
    const auto p = a.points[i];
    double best = 1e18;
    for (std::size_t k = 1; k < b.points.size(); ++k) {
      const double sx = 3.0 * std::hypot(a.sigma[i].x, b.sigma[k].x), sy = 3.0 * std::hypot(a.sigma[i].y, b.sigma[k].y);
      const double ax = (b.points[k - 1].x - p.x) / sx, ay = (b.points[k - 1].y - p.y) / sy;
      const double dx = (b.points[k].x - b.points[k - 1].x) / sx, dy = (b.points[k].y - b.points[k - 1].y) / sy;
      const double t = std::clamp(-(ax * dx + ay * dy) / std::max(1e-30, dx * dx + dy * dy), 0.0, 1.0);
      best = std::min(best, std::hypot(ax + t * dx, ay + t * dy));
    }
    agreed += best < 1.0 ? 1 : 0;
  }
  return a.points.empty() ? 0.0 : static_cast<double>(agreed) / static_cast<double>(a.points.size());
}

// The curve of the same role and value that agrees best: an island may come in two parts.
const Curve* Twin(const PerformanceMap& map, const Curve& curve) {
  const Curve* best = nullptr;
  for (const Curve& c : map.curves)
    if (c.role == curve.role && c.value == curve.value && (best == nullptr || PartAgreed(curve, c) > PartAgreed(curve, *best))) best = &c;
  return best;
}

class SameMap : public ::testing::TestWithParam<const char*> {};

TEST_P(SameMap, WhateverTheFile) {
  paint::NeedGuiApplication();
  const std::string style = GetParam();
  constexpr std::uint64_t kSeed = 941;
  const paint::PaintedPage pdf = paint::PaintStylePdf(style, kSeed), svg = paint::PaintStyleSvg(style, kSeed);
  const paint::PaintedSheet painted = paint::PaintStyle(style, kSeed, 300.0 / 144.0);
  QByteArray png;
  QBuffer buffer(&png);
  buffer.open(QIODevice::WriteOnly);
  painted.image.save(&buffer, "PNG");

  const PerformanceMap from_pdf = MapOf(pdf.bytes, "map.pdf"), from_svg = MapOf(svg.bytes, "map.svg"), from_png = MapOf(png, "map.png");
  const paint::SheetMatch match = paint::MatchSheet(pdf.maps[0], from_pdf);
  EXPECT_TRUE(match.axes_right);
  EXPECT_TRUE(match.missing.empty()) << match.missing.size() << " of " << pdf.maps[0].curves.size() << " curves missing";
  EXPECT_TRUE(match.spurious.empty());
  EXPECT_TRUE(match.wrong_silently.empty());
  ASSERT_EQ(from_pdf.curves.size(), from_svg.curves.size());
  EXPECT_EQ(from_pdf.kind, from_svg.kind);
  EXPECT_EQ(from_pdf.title, from_svg.title);
  int seen_in_png = 0;
  for (const Curve& curve : from_pdf.curves) {
    const Curve* drawn = Twin(from_svg, curve);
    ASSERT_NE(drawn, nullptr);
    EXPECT_GE(PartAgreed(curve, *drawn), 0.99);
    if (const Curve* pixels = Twin(from_png, curve)) {
      ++seen_in_png;
      EXPECT_GE(PartAgreed(curve, *pixels), 0.75);  // at crossings pixels stray farther than they say
    }
  }
  EXPECT_GE(seen_in_png, static_cast<int>(from_pdf.curves.size()) * 3 / 4);
}

INSTANTIATE_TEST_SUITE_P(Styles, SameMap, ::testing::Values("ledger", "beside"));

}  // namespace
}  // namespace islebook
