#include "ui/chart/label_layout.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook {
namespace {

constexpr int kPieceLength = 24;  // points per piece of ink, so that far pieces are skipped by their bounds

// Separating axes of two convex quadrilaterals.
bool Overlap(const QPolygonF& a, const QPolygonF& b) {
  for (const QPolygonF* polygon : {&a, &b}) {
    for (int i = 0; i < 4; ++i) {
      const QPointF side = (*polygon)[(i + 1) % 4] - (*polygon)[i];
      const QPointF normal(-side.y(), side.x());
      double a_min = 1e18, a_max = -1e18, b_min = 1e18, b_max = -1e18;
      for (int k = 0; k < 4; ++k) {
        const double pa = QPointF::dotProduct(a[k], normal), pb = QPointF::dotProduct(b[k], normal);
        a_min = std::min(a_min, pa), a_max = std::max(a_max, pa);
        b_min = std::min(b_min, pb), b_max = std::max(b_max, pb);
      }
      if (a_max <= b_min || b_max <= a_min) return false;
    }
  }
  return true;
}

// Liang-Barsky in the box's own frame.
double SegmentInside(QPointF p, QPointF q, const LabelBox& box, double cosine, double sine) {
  const auto local = [&](QPointF v) {
    v -= box.center;
    return QPointF(v.x() * cosine + v.y() * sine, -v.x() * sine + v.y() * cosine);
  };
  const QPointF a = local(p), b = local(q), d = b - a;
  const double half_width = box.size.width() / 2, half_height = box.size.height() / 2;
  double from = 0.0, to = 1.0;
  const auto clip = [&](double start, double step, double half) {
    if (std::abs(step) < 1e-12) return std::abs(start) <= half;
    double t0 = (-half - start) / step, t1 = (half - start) / step;
    if (t0 > t1) std::swap(t0, t1);
    from = std::max(from, t0), to = std::min(to, t1);
    return from < to;
  };
  if (!clip(a.x(), d.x(), half_width) || !clip(a.y(), d.y(), half_height)) return 0.0;
  return (to - from) * std::hypot(d.x(), d.y());
}

}  // namespace

QPolygonF LabelBox::Corners(double pad) const {
  const double angle = angle_deg * std::numbers::pi / 180;
  const QPointF along(std::cos(angle), std::sin(angle)), across(-along.y(), along.x());
  const QPointF half_along = along * (size.width() / 2 + pad), half_across = across * (size.height() / 2 + pad);
  return QPolygonF(
      {center - half_along - half_across, center + half_along - half_across, center + half_along + half_across, center - half_along + half_across});
}

void LabelLayout::AddInk(const QPolygonF& line, int owner, double weight) {
  for (int at = 0; at + 1 < line.size(); at += kPieceLength) {
    QPolygonF piece = line.mid(at, kPieceLength + 1);
    const QRectF bounds = piece.boundingRect().adjusted(-0.5, -0.5, 0.5, 0.5);
    ink_.push_back({std::move(piece), bounds, owner, weight});
  }
}

double LabelLayout::LengthInside(const QPolygonF& line, const LabelBox& box) {
  const double angle = box.angle_deg * std::numbers::pi / 180, cosine = std::cos(angle), sine = std::sin(angle);
  double length = 0.0;
  for (int i = 0; i + 1 < line.size(); ++i) length += SegmentInside(line[i], line[i + 1], box, cosine, sine);
  return length;
}

bool LabelLayout::IsFree(const LabelBox& box) const {
  const QPolygonF corners = box.Corners();
  if (!room_.contains(corners.boundingRect())) return false;
  return std::ranges::none_of(taken_, [&](const QPolygonF& other) { return Overlap(corners, other); });
}

double LabelLayout::Cost(const LabelBox& box, int own_curve) const {
  if (!IsFree(box)) return kBlocked;
  const QRectF bounds = box.Corners().boundingRect();
  double cost = 0.0;
  for (const Ink& ink : ink_) {
    if (ink.owner == own_curve && own_curve >= 0) continue;
    if (!ink.bounds.intersects(bounds)) continue;
    cost += ink.weight * LengthInside(ink.line, box);
  }
  return cost;
}

}  // namespace islebook
