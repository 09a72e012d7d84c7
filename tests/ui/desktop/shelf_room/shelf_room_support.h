#pragma once
// A temporary shelf for tests of the shelf room, and a room in a window over it.

#include <filesystem>
#include <functional>
#include <memory>

#include <QAction>
#include <QElapsedTimer>
#include <QTemporaryDir>
#include <QTest>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/map/example_maps.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {

inline bool WaitFor(const std::function<bool()>& done, int milliseconds = 30000) { return QTest::qWaitFor(done, milliseconds); }

// The example compressor, its flow and its pressure rise multiplied.
inline PerformanceMap ScaledCompressor(const std::string& title, double flow, double rise) {
  PerformanceMap map = ExampleCompressorMap();
  map.title = title;
  map.source.reset();
  map.needs_review.clear();
  map.x->max *= flow;
  map.y->max = 1 + (map.y->max - 1) * rise;
  for (Curve& curve : map.curves) {
    for (Point2& p : curve.points) p = {p.x * flow, 1 + (p.y - 1) * rise};
    for (Point2& s : curve.sigma) s.x *= flow;
  }
  return map;
}

class ShelfOnTheSide {
 public:
  explicit ShelfOnTheSide(const std::filesystem::path& file) {
    auto opened = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
    if (opened) shelf_ = std::move(*opened);
  }
  Shelf& operator*() { return *shelf_; }
  Shelf* operator->() { return shelf_.get(); }
  bool is_open() const { return shelf_ != nullptr; }
  std::string Add(const std::string& name, const PerformanceMap& map, const std::string& message = "digitized", const std::string& time = {}) {
    NewRevision revision;
    revision.name = name;
    revision.document = WriteMapDocument(map);
    revision.author = "Ines";
    revision.message = message;
    if (!time.empty()) revision.time = time;
    const auto added = shelf_->AddRevision(revision);
    return added ? added->revision.id : std::string();
  }

 private:
  std::unique_ptr<Shelf> shelf_;
};

}  // namespace islebook
