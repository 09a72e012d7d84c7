#pragma once
// Where labels go: each takes the cheapest of its candidate places, clear of ink, of other labels and of the paper's edge.

#include <vector>

#include <QPointF>
#include <QPolygonF>
#include <QRectF>
#include <QSizeF>

namespace islebook {

// A box of print: turned by `angle_deg` (clockwise on the drawing) about its center.
struct LabelBox {
  QPointF center;
  QSizeF size;
  double angle_deg = 0.0;
  QPolygonF Corners(double pad = 0.0) const;
  bool operator==(const LabelBox&) const = default;
};

class LabelLayout {
 public:
  explicit LabelLayout(const QRectF& room) : room_(room) {}

  // Ink that labels keep off. `owner` names the curve; a label may lie on its own (see Cost). Weight: cost of a unit of covered length.
  void AddInk(const QPolygonF& line, int owner, double weight = 1.0);
  // A place that is taken.
  void AddBox(const LabelBox& box) { taken_.push_back(box.Corners()); }
  void AddArea(const QRectF& area) { taken_.push_back(QPolygonF(area)); }

  // Covered ink in weighted units; very large where the box overlaps a taken place or leaves the room.
  double Cost(const LabelBox& box, int own_curve = -1) const;
  bool IsFree(const LabelBox& box) const;
  // Part of `line` inside the box, in units.
  static double LengthInside(const QPolygonF& line, const LabelBox& box);

  static constexpr double kBlocked = 1e6;

 private:
  struct Ink {
    QPolygonF line;
    QRectF bounds;
    int owner;
    double weight;
  };
  QRectF room_;
  std::vector<Ink> ink_;
  std::vector<QPolygonF> taken_;
};

}  // namespace islebook
