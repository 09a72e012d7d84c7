// Unfinished work outlives its program: a table in a program of its own is killed while it corrects, and another finds the work.

#include <csignal>
#include <cstdio>
#include <thread>

#include <QApplication>
#include <QProcess>
#include <QPushButton>

#include "digitizer/recipe/recipe.h"
#include "mapstore/map/whole_file.h"
#include "tests/ui/desktop/light_table/table_support.h"
#include "ui/desktop/light_table/notice_line.h"

namespace islebook {
namespace {

constexpr char kChild[] = "--correct-until-killed";

// In the program that will be killed: correct, undo, correct, and say so.
int CorrectUntilKilled(const std::filesystem::path& folder) {
  WorkplaceOptions options;
  options.shelf_file = folder / "shelf.db";
  options.habits_file = folder / "desktop.ini";
  options.work_folder = folder / "work";
  Workplace workplace(options);
  MainWindow window(workplace);
  auto* room = new LightTable(workplace, &window);
  window.AddRoom(room);
  window.show();
  window.TakeFiles({kSample});
  if (!WaitFor([room] { return room->work().has_map(); })) return 1;
  room->work().Correct(SetTitle{"Hazel 40 put right"}, "title");
  room->work().unfinished().Flush();
  std::puts("kept");
  std::fflush(stdout);
  for (int i = 0;; ++i) {
    room->work().Correct(SetTitle{"Hazel 40 put right, " + std::to_string(i)}, "title");
    QTest::qWait(1);
  }
}

class UnfinishedWorkTest : public LightTableTest {};

TEST_F(UnfinishedWorkTest, KilledWhileCorrectingItIsOfferedBack) {
  QProcess child;
  child.start(QCoreApplication::applicationFilePath(), {kChild, QString::fromStdString(Path("").string())});
  ASSERT_TRUE(child.waitForStarted());
  QByteArray said;
  ASSERT_TRUE(WaitFor([&] {
    child.waitForReadyRead(50);
    said += child.readAllStandardOutput();
    return said.contains("kept");
  }));
  QTest::qWait(37);
  ASSERT_EQ(kill(static_cast<pid_t>(child.processId()), SIGKILL), 0);
  child.waitForFinished();

  OpenRoom();
  const auto left = room_->work().unfinished().Left();
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(left[0].file, "hazel-40-web.jpg");
  EXPECT_GE(left[0].corrections, 1);
  EXPECT_EQ(*room_->work().unfinished().SheetOf(left[0]), *ReadFileContents(kSample.toStdString()));
  auto* line = Find<NoticeLine>("unfinished_line");
  EXPECT_TRUE(line->isVisible());
  EXPECT_TRUE(line->words().contains("hazel-40-web.jpg")) << line->words().toStdString();
  QTest::mouseClick(Find<QPushButton>("unfinished_go_on"), Qt::LeftButton);
  ASSERT_TRUE(WaitFor([this] { return room_->work().has_map() && !room_->work().digitizing().busy(); }));
  EXPECT_TRUE(QString::fromStdString(room_->work().map().title).startsWith("Hazel 40 put right")) << room_->work().map().title;
  EXPECT_TRUE(room_->work().is_changed());
  EXPECT_TRUE(room_->work().unfinished().keeps());
  room_->work().unfinished().Flush();
  EXPECT_TRUE(room_->work().unfinished().Left().empty()) << "it is on the table now";
}

TEST_F(UnfinishedWorkTest, WhatIsOnItsWayOutIsNoLongerOffered) {
  UnfinishedSheet facts;
  facts.file = "hazel-40-web.jpg";
  const auto sheet = std::make_shared<const std::string>("a sheet");
  {
    UnfinishedWork first(Path("work"));
    first.Keep(sheet, facts, {{}, {{SetTitle{"one"}, {}}}});
    first.Leave();
  }
  UnfinishedWork work(Path("work"));
  const auto left = work.Left();
  ASSERT_EQ(left.size(), 1u);
  work.Keep(sheet, left[0], {{}, {{SetTitle{"one"}, {}}}});
  work.Forget(left[0]);
  EXPECT_TRUE(work.Left().empty()) << "although its files may still be there";
  work.Flush();
  EXPECT_TRUE(work.Left().empty());
}

TEST_F(UnfinishedWorkTest, AnOrderlyEndKeepsItTooAndUndoneWorkIsNone) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  ASSERT_TRUE(Corrected([this] { room_->work().Correct(SetTitle{"another"}, "title"); }));
  ASSERT_TRUE(Corrected([this] { room_->work().history().undo(); }));
  room_->work().unfinished().Flush();
  EXPECT_FALSE(room_->work().unfinished().keeps());
  ASSERT_TRUE(Corrected([this] { room_->work().history().redo(); }));
  window_->close();
  TearDown();
  OpenRoom();
  EXPECT_EQ(room_->work().unfinished().Left().size(), 1u);
  QTest::mouseClick(Find<QPushButton>("unfinished_put_away"), Qt::LeftButton);
  room_->work().unfinished().Flush();
  EXPECT_TRUE(room_->work().unfinished().Left().empty());
  EXPECT_TRUE(std::filesystem::exists(Path("work") / "put_away"));
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  QApplication app(argc, argv);
  if (argc == 3 && std::string(argv[1]) == islebook::kChild) return islebook::CorrectUntilKilled(argv[2]);
  ::testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
