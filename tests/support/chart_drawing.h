#pragma once
// One chart on a page: frame, ticks, grid, curves, labels. Internal to the sheet painter.

#include <optional>

#include <QFont>
#include <QPainter>
#include <QPolygonF>
#include <QRectF>

#include "tests/support/chart_plan.h"

namespace islebook::paint {

class ChartDrawing {
 public:
  ChartDrawing(QPainter& painter, const SheetStyle& style, ChartPlan& plan, Random& random)
      : painter_(painter), style_(style), plan_(plan), random_(random) {}

  // Draws into `area` (page units). Sets printed labels; call Locate afterwards for pixels.
  void Draw(const QRectF& area);
  // Fills frame_px and points_px of the plan's truth.
  void Locate(double scale);

  static QFont PageFont(const SheetStyle& style, double size, bool bold = false, bool slanted = false);
  static QPen PenOf(const LineLook& look);

 private:
  struct Frame {
    QRectF plot;
    const AxisPlan* x = nullptr;
    const AxisPlan* y = nullptr;
    QPointF At(Point2 p) const { return {plot.left() + x->Part(p.x) * plot.width(), plot.bottom() - y->Part(p.y) * plot.height()}; }
  };

  void LayOut(const QRectF& area);
  void DrawGround(const Frame& frame);
  void DrawGrid(const Frame& frame);
  void DrawFrame(const Frame& frame, bool numbers_below, const AxisPlan* right);
  void DrawTicks(const QRectF& plot, const AxisPlan& axis, Qt::Edge edge, bool with_numbers);
  void DrawTitles();
  void DrawBands();
  void DrawCurves();
  void DrawMarkers();
  void DrawNotes();
  void DrawLegend();
  void LabelIslands();
  void LabelSpeedLines();
  void LabelTurbineLines();

  const Frame& FrameOf(const TrueCurve& curve) const { return curve.on_efficiency_axis ? efficiency_frame_ : main_; }
  const QColor& Ground() const { return style_.ground.isValid() ? style_.ground : style_.paper; }
  QPolygonF LineOf(std::size_t curve) const;
  QColor ColorOf(std::size_t curve) const;
  bool IsFree(const QPolygonF& box) const;
  bool CrossesSurge(const QPolygonF& box) const;
  // Points of other curves under the box.
  int InkUnder(const QPolygonF& box, std::size_t own) const;
  // Print centered at `center`, turned, on a pad if the look has one.
  QPolygonF BoxOf(const QString& text, QPointF center, double angle, const QFont& font) const;
  void Print(const QString& text, QPointF center, double angle, const QFont& font, const QColor& color, LabelLook look);
  bool TryPrint(std::size_t curve, const QString& text, QPointF center, double angle, const QFont& font, LabelLook look);
  // The first place with the least ink under it.
  void PrintAtBest(std::size_t curve, const QString& text, const std::vector<QPointF>& places, const QFont& font);
  // Centered at `at`, running up the page.
  void TextOnEnd(QPointF at, const QString& text, const QFont& font, const QColor& color);
  void Text(QPointF base, const QString& text, Qt::Alignment align, const QFont& font, const QColor& color);

  QPainter& painter_;
  const SheetStyle& style_;
  ChartPlan& plan_;
  Random& random_;
  QRectF area_;
  Frame main_, efficiency_frame_;
  bool efficiency_panel_ = false;
  std::vector<QPolygonF> taken_;
  std::vector<QPolygonF> lines_;  // along truth.curves, once they are drawn
};

}  // namespace islebook::paint
