#pragma once
// A temporary shelf for tests of the shelf room, and a room in a window over it.

#include <filesystem>
#include <functional>
#include <memory>

#include <QAction>
#include <QElapsedTimer>
#include <QLineEdit>
#include <QTemporaryDir>
#include <QTest>

#include <gtest/gtest.h>

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

class ShelfRoomTest : public ::testing::Test {
 protected:
  void SetUp() override {
    ASSERT_TRUE(folder_.isValid());
    qputenv("ISLEBOOK_KEYS", Path("keys").toUtf8());
    side_ = std::make_unique<ShelfOnTheSide>(Path("shelf.db").toStdString());
    ASSERT_TRUE(side_->is_open());
  }
  void TearDown() override {
    room_ = nullptr;
    window_.reset();
    workplace_.reset();
  }

  QString Path(const QString& name) const { return folder_.filePath(name); }

  void AddThree() {
    side_->Add("Alder 52", ScaledCompressor("Alder 52, Fellside Rotors", 1.0, 1.0), "from the brochure", "2025-03-01T08:00:00Z");
    side_->Add("Birch 64", ScaledCompressor("Birch 64, Fellside Rotors", 1.6, 1.2), "from a scan", "2025-03-02T08:00:00Z");
    side_->Add("Rowan 83", ScaledCompressor("Rowan 83, Fellside Rotors", 3.0, 1.3), "from a scan", "2025-03-03T08:00:00Z");
    WheelData wheel{.maker = "Fellside Rotors", .model = "Birch 64"};
    wheel.inducer_mm = 64;
    ASSERT_TRUE((*side_)->SetWheel("Birch 64", wheel, "Ines"));
    ASSERT_TRUE((*side_)->SetTag("Rowan 83", "ferry", true, "Ines"));
  }

  void OpenRoom() {
    WorkplaceOptions options;
    options.shelf_file = Path("shelf.db").toStdString();
    options.habits_file = Path("desktop.ini").toStdString();
    options.work_folder = Path("work").toStdString();
    workplace_ = std::make_unique<Workplace>(options);
    workplace_->SetAuthor("Tomas");
    QObject::connect(workplace_.get(), &Workplace::Said, [this](const QString& words, bool) { said_ << words; });
    window_ = std::make_unique<MainWindow>(*workplace_);
    room_ = new ShelfRoom(*workplace_, window_.get());
    window_->AddRoom(room_);
    window_->resize(1280, 800);
    window_->show();
    window_->activateWindow();
    ASSERT_TRUE(Settle());
  }

  // Until nothing is being done any more.
  bool Settle() {
    QTest::qWait(1);
    return WaitFor([this] { return room_->IsIdle(); });
  }

  template <typename W>
  W* Find(const char* name) {
    W* found = window_->findChild<W*>(QLatin1String(name));
    EXPECT_NE(found, nullptr) << name;
    return found;
  }

  void Type(const char* field, const QString& text) {
    auto* edit = Find<QLineEdit>(field);
    edit->setFocus();
    edit->selectAll();
    if (text.isEmpty())
      QTest::keyClick(edit, Qt::Key_Delete);
    else
      QTest::keyClicks(edit, text);
  }

  void Click(const QString& map, Qt::KeyboardModifiers keys = Qt::NoModifier) {
    const int row = room_->list().rows().RowNamed(map);
    ASSERT_GE(row, 0) << map.toStdString();
    const QRect place = room_->list().visualRect(room_->list().rows().index(row));
    QTest::mouseClick(room_->list().viewport(), Qt::LeftButton, keys, place.center());
  }

  QStringList Listed() const {
    QStringList names;
    for (const ShelfRow& row : room_->list().rows().rows()) names << row.name;
    return names;
  }

  void Do(const char* deed) {
    auto* action = Find<QAction>(deed);
    ASSERT_NE(action, nullptr);
    action->trigger();
  }

  bool Said(const char* words) const { return said_.join(QLatin1Char('\n')).contains(QLatin1String(words)); }

  QTemporaryDir folder_;
  std::unique_ptr<ShelfOnTheSide> side_;
  std::unique_ptr<Workplace> workplace_;
  std::unique_ptr<MainWindow> window_;
  ShelfRoom* room_ = nullptr;
  QStringList said_;
};

}  // namespace islebook
