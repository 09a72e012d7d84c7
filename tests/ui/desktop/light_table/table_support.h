#pragma once
// A light table in a window over a temporary shelf and work folder, and the truth of the sample sheets.

#include <functional>
#include <memory>
#include <string>

#include <QElapsedTimer>
#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QPolygonF>
#include <QTemporaryDir>
#include <QTest>

#include <gtest/gtest.h>

#include "tests/ui/desktop/watchdog.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/light_table/light_table.h"

namespace islebook {

inline const QString kSample = QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/hazel-40/hazel-40-web.jpg");

inline bool WaitFor(const std::function<bool()>& done, int milliseconds = 60000) { return QTest::qWaitFor(done, milliseconds); }

// A curve of the sample sheet as it was drawn, in sheet pixels: the truth file beside the sheet (exact to 0.01 px by its making).
struct DrawnTruth {
  double value = 0.0;
  QPolygonF line;
};
inline std::vector<DrawnTruth> TruthOf(const QString& sheet, const QString& role) {
  QString file = sheet;
  QFile truth(file.replace(QStringLiteral(".jpg"), QStringLiteral(".truth.json")));
  std::vector<DrawnTruth> curves;
  if (!truth.open(QIODevice::ReadOnly)) return curves;
  for (const auto& each : QJsonDocument::fromJson(truth.readAll()).object()["curves"].toArray()) {
    const QJsonObject curve = each.toObject();
    if (curve["role"].toString() != role) continue;
    DrawnTruth& drawn = curves.emplace_back();
    drawn.value = curve["value"].toDouble();
    for (const auto& point : curve["points_px"].toArray()) drawn.line << QPointF(point.toArray()[0].toDouble(), point.toArray()[1].toDouble());
  }
  return curves;
}

class LightTableTest : public ::testing::Test {
 protected:
  void TearDown() override {
    room_ = nullptr;
    window_.reset();
    workplace_.reset();
  }

  std::filesystem::path Path(const char* name) const { return folder_.filePath(QLatin1String(name)).toStdString(); }

  void OpenRoom() {
    WorkplaceOptions options;
    options.shelf_file = Path("shelf.db");
    options.habits_file = Path("desktop.ini");
    options.work_folder = Path("work");
    workplace_ = std::make_unique<Workplace>(options);
    workplace_->SetAuthor("Tomas");
    QObject::connect(workplace_.get(), &Workplace::Said, [this](const QString& words, bool) { said_ << words; });
    window_ = std::make_unique<MainWindow>(*workplace_);
    room_ = new LightTable(*workplace_, window_.get());
    window_->AddRoom(room_);
    window_->resize(1280, 800);
    window_->show();
    window_->activateWindow();
    QTest::qWait(1);
  }

  bool OpenSample() {
    window_->TakeFiles({kSample});
    return WaitFor([this] { return room_->work().has_map() && !room_->work().digitizing().busy(); });
  }

  // A correction is made by `act`; until its result is there.
  bool Corrected(const std::function<void()>& act) {
    const auto before = room_->work().map_pointer();
    act();
    return WaitFor([&] { return room_->work().map_pointer() != before && !room_->work().digitizing().busy(); });
  }

  void ClickSheet(const QPointF& place) { QTest::mouseClick(&room_->view(), Qt::LeftButton, {}, room_->view().ScreenFromSheet(place).toPoint()); }
  void Key(int key, Qt::KeyboardModifiers modifiers = {}) { QTest::keyClick(&room_->view(), static_cast<Qt::Key>(key), modifiers); }

  template <typename W>
  W* Find(const char* name) {
    W* found = window_->findChild<W*>(QLatin1String(name));
    EXPECT_NE(found, nullptr) << name;
    return found;
  }

  QTemporaryDir folder_;
  std::unique_ptr<Workplace> workplace_;
  std::unique_ptr<MainWindow> window_;
  LightTable* room_ = nullptr;
  QStringList said_;
};

}  // namespace islebook
