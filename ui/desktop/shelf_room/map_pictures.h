#pragma once
// Small pictures of maps for the list, drawn in a thread of their own for what is on view and kept by revision.

#include <QCache>
#include <QImage>
#include <QObject>
#include <QSet>

#include "ui/desktop/shelf_room/shelf_clerk.h"

namespace islebook {

class MapPictures : public QObject {
  Q_OBJECT

 public:
  MapPictures(const std::filesystem::path& shelf_file, QObject* parent);

  // Null: it is being drawn, and Drawn() is said when it is there. `scale`: device pixels a pixel.
  QImage PictureOf(const QString& revision, const QSize& size, double scale, bool night);
  int kept() const { return static_cast<int>(kept_.count()); }

 signals:
  void Drawn();

 private:
  struct Wish {
    QString key, revision;
    QSize size;
    double scale = 1.0;
    bool night = false;
  };
  void DrawNext();

  QCache<QString, QImage> kept_;
  std::vector<Wish> wishes_;  // the latest last: it is on view
  bool drawing_ = false;
  ShelfClerk clerk_;
};

}  // namespace islebook
