#pragma once
// The sheet on the table: the picture with what was found drawn over it, moved and enlarged at will; and the places that a person points at.
// Mouse: wheel enlarges, drag moves, click points. Keys: arrows move (with a tool: the cross), + and - enlarge, Enter points.

#include <array>
#include <memory>
#include <optional>
#include <vector>

#include <QPixmap>
#include <QPointF>
#include <QTimer>
#include <QWidget>

#include "mapstore/map/performance_map.h"
#include "ui/desktop/frame/desk_look.h"
#include "ui/desktop/light_table/sheet_layer.h"
#include "ui/desktop/light_table/sheet_marks.h"
#include "ui/desktop/light_table/sheet_picture.h"

namespace islebook {

enum class TableTool { kChoose, kTrace, kCut, kJoin, kCorners };

class SheetView : public QWidget {
  Q_OBJECT

 public:
  explicit SheetView(QWidget* parent);

  void SetLook(const DeskLook& look);
  void SetPicture(SheetPicture picture);                   // a new sheet: shown whole
  void SetFlattened(std::optional<SheetPicture> picture);  // shown instead until nullopt
  bool shows_flattened() const { return flattened_.has_value(); }
  const SheetPicture& picture() const { return picture_; }
  void SetEmptyWords(const QString& words) { empty_words_ = words; }

  SheetMarks& marks() { return marks_; }
  void MarksChanged();
  void SetChosen(std::optional<std::size_t> curve);
  std::optional<std::size_t> chosen() const { return chosen_; }

  void SetTool(TableTool tool);
  TableTool tool() const { return tool_; }
  void SetCorners(const std::array<QPointF, 4>& corners) { corners_ = corners; }  // where kCorners begins
  const std::vector<QPointF>& places() const { return places_; }                  // pointed at so far, with kTrace and kJoin
  void DropPlaces();

  void ShowWhole();
  void ShowPixels();  // one pixel of the sheet for one of the screen
  void Enlarge(double times);
  void Center(const QRectF& sheet_part);  // moves there; enlarges only what would be too small to judge
  void ShowMarks(bool on);
  bool shows_marks() const { return marks_on_; }
  void ShowLoupe(bool on);
  bool shows_loupe() const { return loupe_on_; }

  double scale() const { return scale_; }  // screen px per sheet px
  QPointF ScreenFromSheet(QPointF place) const;
  QPointF SheetFromScreen(QPointF place) const;

 signals:
  void PointedAt(const QPointF& place);   // a click or Enter
  void Done();                            // double click, or Enter with nothing new to point at: the tool has what it needs
  void CornersMoved(bool exact);          // corners() are where the person wants them
  void Hovered(const QPointF& place);     // the mouse or the cross is over this place
  void DigitTyped(const QString& digit);  // a number begins: the chosen curve's value

 public:
  const std::array<QPointF, 4>& corners() const { return corners_; }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void keyReleaseEvent(QKeyEvent* event) override;

 private:
  void PaintSheet(QPainter& painter, const QRectF& view, const QRectF& part, const QTransform& screen_from_sheet, bool rough) const;
  void ShowAnew();
  void PaintTool(QPainter& painter) const;
  void PaintLoupe(QPainter& painter) const;
  QTransform Transform() const;
  void ScaleAt(QPointF screen, double times);
  void KeepInView();
  void Moved();
  void PointAt(QPointF place);
  bool StepByKey(const QKeyEvent& event);
  std::optional<int> CornerAt(QPointF screen) const;

  DeskLook look_;
  SheetPicture picture_;
  std::optional<SheetPicture> flattened_;
  SheetMarks marks_;
  SheetLayer layer_;
  QTimer settle_;  // runs while the hand moves the sheet
  QString empty_words_;
  std::optional<std::size_t> chosen_;
  TableTool tool_ = TableTool::kChoose;
  std::vector<QPointF> places_;
  std::array<QPointF, 4> corners_{};
  double scale_ = 1.0;
  QPointF origin_;  // screen place of the sheet's outer corner
  bool whole_ = true;
  bool marks_on_ = true;
  bool loupe_on_ = false;
  bool space_held_ = false;
  QPointF cross_;  // sheet px
  std::optional<QPointF> mouse_;
  std::optional<QPointF> pressed_;  // screen
  QPointF dragged_from_;
  bool dragging_ = false;
  std::optional<int> held_corner_;
  int key_corner_ = 0;
};

}  // namespace islebook
