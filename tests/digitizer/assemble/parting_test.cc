// Two lines that share a stretch: whether their ways on either side tell which is which.

#include "digitizer/assemble/parting.h"

#include <cmath>
#include <functional>

#include <gtest/gtest.h>

namespace islebook {
namespace {

TracedCurve Line(const std::function<double(double)>& y, double from = 0, double to = 400) {
  TracedCurve line;
  for (double x = from; x <= to; x += 2) line.points.push_back({x, y(x)});
  line.bridged.assign(line.points.size(), 0);
  line.ink_mass = 1.0;
  return line;
}

SharedStretch Shared(const TracedCurve& a, const TracedCurve& b, double from, double to) {
  return {&a, &b, static_cast<std::size_t>((from - a.points.front().x) / 2), static_cast<std::size_t>((to - a.points.front().x) / 2)};
}

TEST(Parting, LinesThatCrossAtAShallowAnglePartOnTheirOwnWay) {
  const TracedCurve a = Line([](double x) { return 100 + 0.05 * (x - 200); }), b = Line([](double x) { return 100 - 0.05 * (x - 200); });
  EXPECT_TRUE(PartsOnItsOwnWay(Shared(a, b, 185, 215)));
}

TEST(Parting, LinesThatCrossBothBentPartOnTheirOwnWay) {
  const auto bend = [](double x) { return 0.0008 * (x - 200) * (x - 200); };
  const TracedCurve a = Line([&](double x) { return 100 + bend(x) + 0.07 * (x - 200); }),
                    b = Line([&](double x) { return 100 + bend(x) - 0.07 * (x - 200); });
  EXPECT_TRUE(PartsOnItsOwnWay(Shared(a, b, 187, 213)));
}

// Each took the other's way where they cross: both have a corner there.
TEST(Parting, LinesThatChangedPlacesDoNot) {
  const TracedCurve a = Line([](double x) { return 100 + 0.05 * std::abs(x - 200); }),
                    b = Line([](double x) { return 100 - 0.05 * std::abs(x - 200); });
  EXPECT_FALSE(PartsOnItsOwnWay(Shared(a, b, 185, 215)));
}

// Where one of them ends in the stretch nothing tells whose it is.
TEST(Parting, ALineThatEndsInTheStretchTellsNothing) {
  const TracedCurve a = Line([](double x) { return 100 + 0.05 * (x - 200); }, 0, 214), b = Line([](double x) { return 100 - 0.05 * (x - 200); });
  EXPECT_FALSE(PartsOnItsOwnWay(Shared(a, b, 185, 214)));
}

TEST(Parting, DashesColorAndWidthTellLinesApart) {
  const TracedCurve a = Line([](double) { return 100; });
  TracedCurve b = a;
  EXPECT_TRUE(AreDrawnAlike(a, b));
  b.dashed = true;
  EXPECT_FALSE(AreDrawnAlike(a, b));
  b = a;
  b.lab = {50, 40, -30};
  EXPECT_FALSE(AreDrawnAlike(a, b));
  b = a;
  b.ink_mass = 2.0;
  EXPECT_FALSE(AreDrawnAlike(a, b));
}

}  // namespace
}  // namespace islebook
