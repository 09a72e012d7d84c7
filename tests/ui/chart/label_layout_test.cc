#include "ui/chart/label_layout.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

TEST(LabelLayoutTest, LengthInsideATurnedBox) {
  const LabelBox box{{50, 50}, {20, 10}, 30};
  const double a = 30 * 3.14159265358979 / 180;
  const QPointF along(std::cos(a), std::sin(a)), across(-std::sin(a), std::cos(a));
  EXPECT_NEAR(LabelLayout::LengthInside(QPolygonF({box.center - along * 100, box.center + along * 100}), box), 20, 1e-9);
  EXPECT_NEAR(LabelLayout::LengthInside(QPolygonF({box.center - across * 100, box.center + across * 100}), box), 10, 1e-9);
  EXPECT_EQ(LabelLayout::LengthInside(QPolygonF({box.center + across * 6 - along * 100, box.center + across * 6 + along * 100}), box), 0);
}

TEST(LabelLayoutTest, TakenPlacesAndTheEdgeAreBlocked) {
  LabelLayout layout(QRectF(0, 0, 100, 100));
  const LabelBox box{{50, 50}, {20, 10}, 0};
  EXPECT_TRUE(layout.IsFree(box));
  layout.AddBox({{62, 50}, {10, 10}, 45});
  EXPECT_FALSE(layout.IsFree(box));
  EXPECT_GE(layout.Cost(box), LabelLayout::kBlocked);
  EXPECT_TRUE(layout.IsFree({{30, 50}, {20, 10}, 0}));
  EXPECT_FALSE(layout.IsFree({{95, 50}, {20, 10}, 0}));
}

TEST(LabelLayoutTest, CostCountsOtherInkOnly) {
  LabelLayout layout(QRectF(0, 0, 100, 100));
  layout.AddInk(QPolygonF({{0, 50}, {100, 50}}), 3, 2.0);
  const LabelBox box{{50, 50}, {20, 10}, 0};
  EXPECT_NEAR(layout.Cost(box), 40, 1e-9);
  EXPECT_EQ(layout.Cost(box, 3), 0);
}

}  // namespace
}  // namespace islebook
