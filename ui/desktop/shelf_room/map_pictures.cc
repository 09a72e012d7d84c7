#include "ui/desktop/shelf_room/map_pictures.h"

#include <algorithm>

#include <QPainter>

#include "mapstore/map/map_document.h"
#include "ui/chart/map_picture.h"

namespace islebook {
namespace {

constexpr int kKeptBytes = 96 << 20;
constexpr std::size_t kMostWishes = 60;  // more than a screen shows at once: older ones were scrolled away

}  // namespace

MapPictures::MapPictures(const std::filesystem::path& shelf_file, QObject* parent) : QObject(parent), clerk_(shelf_file) {
  kept_.setMaxCost(kKeptBytes);
}

QImage MapPictures::PictureOf(const QString& revision, const QSize& size, double scale, bool night) {
  const QString key = QStringLiteral("%1 %2 %3 %4").arg(revision).arg(size.width()).arg(scale).arg(night);
  if (const QImage* kept = kept_.object(key)) return *kept;
  const auto wished = std::find_if(wishes_.begin(), wishes_.end(), [&](const Wish& wish) { return wish.key == key; });
  if (wished != wishes_.end())
    std::rotate(wished, wished + 1, wishes_.end());
  else
    wishes_.push_back({key, revision, size, scale, night});
  if (wishes_.size() > kMostWishes) wishes_.erase(wishes_.begin());
  DrawNext();
  return {};
}

void MapPictures::DrawNext() {
  if (drawing_ || wishes_.empty()) return;
  drawing_ = true;
  Wish wish = std::move(wishes_.back());
  wishes_.pop_back();
  clerk_.Do(this, QStringLiteral("picture"), [this, wish](ClerkDesk& desk) -> ShelfClerk::Outcome {
    QImage picture(wish.size * wish.scale, QImage::Format_RGB32);
    picture.setDevicePixelRatio(wish.scale);
    PerformanceMap map;
    if (const Result<Shelf*> shelf = desk.OpenShelf(); shelf) {
      if (const Result<ShownRevision> shown = (*shelf)->ShowRevision(wish.revision.toStdString()); shown)
        if (Result<PerformanceMap> read = ParseMapDocument(shown->document); read) map = std::move(*read);
    }
    QPainter painter(&picture);
    DrawMapPicture(painter, QRectF(QPointF(0, 0), QSizeF(wish.size)), map, wish.night);
    painter.end();
    return [this, wish, picture] {
      kept_.insert(wish.key, new QImage(picture), static_cast<int>(picture.sizeInBytes()));
      drawing_ = false;
      emit Drawn();
      DrawNext();
    };
  });
}

}  // namespace islebook
