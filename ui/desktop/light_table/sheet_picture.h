#pragma once
// A sheet's picture for the screen: the picture and its halves, quarters and so on, so that any view of it costs about as much as the screen has pixels.
// A value; copies share their pixels.

#include <cstddef>
#include <vector>

#include <QImage>
#include <QRectF>
#include <QSize>

class QPainter;

namespace islebook {

class Session;
struct Sheet;

class SheetPicture {
 public:
  SheetPicture() = default;
  // `upright` has `scale` pixels for a pixel of the sheet.
  explicit SheetPicture(QImage upright, double scale = 1.0);

  bool empty() const { return levels_.empty(); }
  QSize sheet_size() const { return sheet_size_; }

  // Fills `target` with the part `sheet_part` of the sheet, in which (0,0) is the outer corner of the top left pixel. `dpr`: device pixels for one of the painter's.
  void Draw(QPainter& painter, const QRectF& target, const QRectF& sheet_part, double dpr, bool rough = false) const;

 private:
  std::vector<QImage> levels_;
  double scale_ = 1.0;
  QSize sheet_size_;
};

// As it came, and as the digitizer sees it after the page stage: light and paper evened out (empty before that stage).
SheetPicture PictureOf(const Sheet& sheet);
SheetPicture FlattenedPictureOf(const Session& session);

}  // namespace islebook
