// Tables of colleagues, keys of other shops and several branches, in the shelf room by clicks and keys.

#include <QComboBox>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>

#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/parcel/key_ring.h"
#include "tests/ui/desktop/shelf_room/shelf_room_support.h"

namespace islebook {
namespace {

class ExchangeTest : public ShelfRoomTest {
 protected:
  PerformanceMap OnShelf(const std::string& name) const {
    const auto shown = (*side_)->Show(name);
    return shown ? ParseMapDocument(shown->document).value_or(PerformanceMap{}) : PerformanceMap{};
  }
  // A colleague's copy of a map's curves, one of them given another value.
  QString TableOf(const std::string& name, const std::string& revision, double value) const {
    PerformanceMap map = OnShelf(name);
    map.curves.front().value = value;
    const QString file = Path("corrected.csv");
    EXPECT_TRUE(ReplaceFileContents(file.toStdString(), CurvesAsCsv(map, {name, revision})));
    return file;
  }
};

TEST_F(ExchangeTest, ATableIsLookedIntoAndThenCorrectsItsMap) {
  AddThree();
  OpenRoom();
  const std::string head = (*side_)->Log("Birch 64")->front().id;
  const double before = *OnShelf("Birch 64").curves.front().value;
  window_->TakeFiles({TableOf("Birch 64", head, before + 1000)});
  ASSERT_TRUE(Settle());
  auto* page = Find<QWidget>("import_page");
  ASSERT_TRUE(page->isVisible());
  EXPECT_TRUE(Find<QLabel>("import_heading")->text().contains("corrects Birch 64: 1 change")) << Find<QLabel>("import_heading")->text().toStdString();
  EXPECT_EQ((*side_)->Log("Birch 64")->size(), 1u) << "looking changes nothing";
  QTest::mouseClick(Find<QPushButton>("import_keep"), Qt::LeftButton);
  ASSERT_TRUE(WaitFor([&] { return (*side_)->Log("Birch 64")->size() == 2; }));
  EXPECT_EQ(*OnShelf("Birch 64").curves.front().value, before + 1000);
  EXPECT_EQ((*side_)->Log("Birch 64")->front().author, "Tomas");
  ASSERT_TRUE(Settle());
  EXPECT_FALSE(page->isVisible());
  EXPECT_EQ(room_->list().ChosenNames(), QStringList{"Birch 64"});

  // A second colleague began from the first state too: that stands beside, to be merged.
  window_->TakeFiles({TableOf("Birch 64", head, before + 2000)});
  ASSERT_TRUE(Settle());
  QTest::mouseClick(Find<QPushButton>("import_keep"), Qt::LeftButton);
  ASSERT_TRUE(WaitFor([&] { return (*side_)->Branches("Birch 64")->size() == 2; }));
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Said("compare and merge"));
  EXPECT_EQ(*OnShelf("Birch 64").curves.front().value, before + 1000);
}

TEST_F(ExchangeTest, ATableOfAnUnknownMapIsRefusedAndTakenAsItsOwn) {
  AddThree();
  OpenRoom();
  const PerformanceMap alder = OnShelf("Alder 52");
  ASSERT_TRUE(ReplaceFileContents(Path("elsewhere.csv").toStdString(), CurvesAsCsv(alder, {"Oak 99", std::string(64, 'a')})));
  window_->TakeFiles({Path("elsewhere.csv")});
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Find<QLabel>("import_heading")->text().contains("Oak 99"));
  EXPECT_FALSE(Find<QPushButton>("import_keep")->isEnabled());
  QTest::mouseClick(Find<QPushButton>("import_as_new"), Qt::LeftButton);
  ASSERT_TRUE(Settle());
  ASSERT_TRUE(Find<QPushButton>("import_keep")->isEnabled()) << Find<QLabel>("import_heading")->text().toStdString();
  QTest::mouseClick(Find<QPushButton>("import_keep"), Qt::LeftButton);
  ASSERT_TRUE(WaitFor([&] { return (*side_)->Show("elsewhere").has_value(); }));
  EXPECT_EQ(OnShelf("elsewhere").curves.size(), alder.curves.size());
  // What is no table is said to be none.
  ASSERT_TRUE(ReplaceFileContents(Path("broken.xlsx").toStdString(), "PK nothing"));
  window_->TakeFiles({Path("broken.xlsx")});
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Find<QLabel>("import_heading")->text().contains("broken.xlsx"));
}

TEST_F(ExchangeTest, KeysAreMadeTrustedAndForgotten) {
  AddThree();
  OpenRoom();
  QTest::keyClick(&room_->list(), Qt::Key_K, Qt::ControlModifier | Qt::ShiftModifier);
  ASSERT_TRUE(Find<QWidget>("keys_page")->isVisible());
  Type("keys_shop", "Tarnside Engine Works");
  QTest::mouseClick(Find<QPushButton>("keys_make"), Qt::LeftButton);
  EXPECT_TRUE(Find<QLabel>("keys_own")->text().contains("signs as Tarnside Engine Works"));
  EXPECT_FALSE(Find<QPushButton>("keys_make")->isVisible()) << "a key is never replaced";
  const auto ring = KeyRing::Open(Path("keys").toStdString());
  ASSERT_TRUE(ring && ring->Own());

  // Another shop's key, its digits typed in groups.
  auto yard = KeyRing::Open(Path("keys of the yard").toStdString());
  ASSERT_TRUE(yard && yard->MakeOwn("Ferry Yard"));
  const std::string other = yard->Own()->public_key;
  Type("keys_key", QString::fromStdString(KeyInGroups(other)));
  QTest::mouseClick(Find<QPushButton>("keys_trust"), Qt::LeftButton);
  EXPECT_TRUE(Find<QLabel>("keys_remark")->text().contains("whose key")) << "it carries no name";
  Type("keys_name", "Ferry Yard");
  QTest::mouseClick(Find<QPushButton>("keys_trust"), Qt::LeftButton);
  auto* trusted = Find<QListWidget>("keys_trusted");
  ASSERT_EQ(trusted->count(), 1);
  EXPECT_TRUE(trusted->item(0)->text().startsWith("Ferry Yard"));
  EXPECT_EQ(KeyRing::Open(Path("keys").toStdString())->NameOf(other), std::optional<std::string>("Ferry Yard"));
  trusted->setCurrentRow(0);
  QTest::mouseClick(Find<QPushButton>("keys_forget"), Qt::LeftButton);
  EXPECT_EQ(trusted->count(), 0);
  EXPECT_FALSE(KeyRing::Open(Path("keys").toStdString())->NameOf(other).has_value());
  Type("keys_key", "no key at all");
  QTest::keyClick(Find<QLineEdit>("keys_key"), Qt::Key_Return);
  EXPECT_TRUE(Find<QLabel>("keys_remark")->property("limit").toBool());
}

TEST_F(ExchangeTest, TheBranchToMergeIsChosenWhereThereAreSeveral) {
  AddThree();
  const std::string base = (*side_)->Log("Alder 52")->front().id;
  const PerformanceMap map = OnShelf("Alder 52");
  int number = 0;
  for (const char* branch : {"ferry yard", "sawmill"}) {
    PerformanceMap changed = map;
    changed.curves[static_cast<std::size_t>(number++)].value = 61000;
    NewRevision revision;
    revision.name = "Alder 52";
    revision.branch = branch;
    revision.parents = {base};
    revision.document = WriteMapDocument(changed);
    revision.author = "Ines";
    ASSERT_TRUE((*side_)->AddRevision(revision));
  }
  OpenRoom();
  ASSERT_TRUE(WaitFor([&] { return room_->history().history().branches.size() == 3; }));
  auto* choice = Find<QComboBox>("branch_choice");
  ASSERT_TRUE(choice->isVisible());
  choice->setCurrentText("sawmill");
  Do("shelf.merge");
  ASSERT_TRUE(WaitFor([&] { return (*side_)->Branches("Alder 52")->size() == 2; })) << said_.join("\n").toStdString();
  EXPECT_EQ(OnShelf("Alder 52").curves[1].value, 61000.0);
  EXPECT_NE(OnShelf("Alder 52").curves[0].value, 61000.0) << "the other branch still stands";
  ASSERT_TRUE(Settle());
  ASSERT_TRUE(WaitFor([&] { return room_->history().history().branches.size() == 2; }));
  EXPECT_FALSE(choice->isVisible());
  EXPECT_EQ(choice->currentText(), "ferry yard");
}

}  // namespace
}  // namespace islebook
