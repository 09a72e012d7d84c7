#include "mapstore/shelf/salvage.h"

#include <random>
#include <set>

#include <gtest/gtest.h>
#include <sqlite3.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using namespace shelf_test;

class Salvage : public testing::Test {
 protected:
  // Eight maps of eight revisions each, sheets, facts, a branch.
  void Fill() {
    auto shelf = OpenSqliteShelf(file_, {.access = ShelfAccess::kCreate});
    ASSERT_TRUE(shelf) << shelf.error().message;
    for (int map = 0; map < 8; ++map)
      for (int i = 0; i < 8; ++i) {
        NewRevision revision;
        revision.name = "Wheel " + std::to_string(map);
        const std::string sheet(static_cast<std::size_t>(9000 + 100 * map), static_cast<char>('a' + map));
        revision.document = Document(revision.name, 1000 * map + i, sheet);
        revision.sheet = sheet;
        revision.author = "Ines";
        const auto added = (*shelf)->AddRevision(revision);
        ASSERT_TRUE(added);
        ids_.insert(added->revision.id);
      }
    NewRevision side;
    side.name = "Wheel 3";
    side.document = Document("Wheel 3", 77777);
    side.author = "Tomas";
    side.branch = "by eye";
    ids_.insert((*shelf)->AddRevision(side)->revision.id);
    ASSERT_TRUE((*shelf)->SetTag("Wheel 2", "ferry", true, "Ines"));
    ASSERT_TRUE((*shelf)->AddNote("Wheel 2", {"Ines", "2025-03-14T09:26:53Z", "from the brochure", std::nullopt}));
    ASSERT_TRUE((*shelf)->SetRemoved("Wheel 7", true, "Ines", ""));
  }

  void Meddle(const std::string& sql) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file_.c_str(), &database), SQLITE_OK);
    char* message = nullptr;
    EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &message), SQLITE_OK) << message;
    sqlite3_close(database);
  }

  Result<SalvageReport> Save() {
    std::filesystem::remove(to_);
    return SalvageSqliteShelf(file_, to_);
  }

  void ExpectSound() {
    auto shelf = OpenSqliteShelf(to_, {.access = ShelfAccess::kRead});
    ASSERT_TRUE(shelf) << shelf.error().message;
    const auto report = (*shelf)->Verify({});
    ASSERT_TRUE(report);
    for (const ShelfProblem& problem : report->problems) ADD_FAILURE() << problem.place << ": " << problem.message;
  }

  TemporaryFolder folder_;
  std::filesystem::path file_ = folder_.Path() / "shelf.db", to_ = folder_.Path() / "saved.db";
  std::set<std::string> ids_;
};

TEST_F(Salvage, ASoundShelfIsSavedWhole) {
  Fill();
  const auto report = Save();
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->revisions, 65);
  EXPECT_EQ(report->rewritten_revisions + report->lost_revisions, 0);
  EXPECT_EQ(report->maps, 8);
  EXPECT_EQ(report->sheets, 8);
  EXPECT_TRUE(report->losses.empty()) << report->losses.front();
  ExpectSound();
  auto shelf = OpenSqliteShelf(to_, {.access = ShelfAccess::kRead});
  for (const std::string& id : ids_) EXPECT_TRUE((*shelf)->ShowRevision(id)) << id;
  EXPECT_EQ((*shelf)->Facts("Wheel 2")->tags, std::vector<std::string>{"ferry"});
  EXPECT_EQ((*shelf)->Facts("Wheel 2")->notes.size(), 1u);
  EXPECT_TRUE((*shelf)->Facts("Wheel 7")->removed);
  EXPECT_EQ((*shelf)->Show("Wheel 3@by eye")->revision.author, "Tomas");
  EXPECT_EQ(SalvageSqliteShelf(file_, to_).error().code, ErrorCode::kCannotWrite);
}

TEST_F(Salvage, AGapInAHistoryIsBridgedAndSaid) {
  Fill();
  Meddle(
      "PRAGMA foreign_keys = OFF; DROP TRIGGER documents_stay; UPDATE documents SET body = replace(body, '2004', '2994') WHERE body LIKE '%:2004,%' "
      "OR body "
      "LIKE '%:2004}%';");
  const auto report = Save();
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->lost_revisions, 1);
  EXPECT_EQ(report->rewritten_revisions, 3) << "those after the gap";
  EXPECT_EQ(report->revisions, 61);
  ExpectSound();
  auto shelf = OpenSqliteShelf(to_, {.access = ShelfAccess::kRead});
  const auto log = (*shelf)->Log("Wheel 2");
  ASSERT_EQ(log->size(), 7u);
  EXPECT_NE(log->front().message.find("saved from a damaged shelf"), std::string::npos);
  EXPECT_EQ(log->front().author, "Ines");
}

TEST_F(Salvage, AnAlteredSheetIsLeftOut) {
  Fill();
  Meddle("DROP TRIGGER sheets_stay; UPDATE sheets SET bytes = x'00' WHERE rowid = 1;");
  const auto report = Save();
  ASSERT_TRUE(report);
  EXPECT_EQ(report->sheets, 7);
  EXPECT_EQ(report->lost_sheets, 1);
  EXPECT_EQ(report->revisions, 65);
  ExpectSound();
}

TEST_F(Salvage, NamesThatAreLostGetNewOnes) {
  Fill();
  Meddle("PRAGMA foreign_keys = OFF; DROP TRIGGER maps_remain; DELETE FROM maps WHERE name = 'Wheel 5';");
  const auto report = Save();
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->revisions, 65);
  ExpectSound();
  auto shelf = OpenSqliteShelf(to_, {.access = ShelfAccess::kRead});
  for (const std::string& id : ids_) EXPECT_TRUE((*shelf)->ShowRevision(id)) << id;
}

// Pages overwritten at random: whatever is saved is sound, and as much is saved as one page can hold at most.
TEST_F(Salvage, OverwrittenPages) {
  Fill();
  const std::string whole = ReadFile(file_);
  constexpr std::size_t kPage = 4096;
  std::mt19937 random(20250314);
  int saved_something = 0;
  for (int round = 0; round < 25; ++round) {
    std::string bytes = whole;
    const std::size_t page = 1 + random() % (bytes.size() / kPage - 1);
    for (std::size_t i = 0; i < kPage; ++i) bytes[page * kPage + i] = static_cast<char>(random());
    WriteFile(file_, bytes);
    const auto report = Save();
    if (!report) {
      EXPECT_EQ(report.error().code, ErrorCode::kShelfDamaged) << report.error().message;
      EXPECT_FALSE(std::filesystem::exists(to_));
      continue;
    }
    ++saved_something;
    EXPECT_GE(report->revisions + report->rewritten_revisions, 30) << "page " << page;
    ExpectSound();
  }
  EXPECT_GE(saved_something, 20);
}

TEST_F(Salvage, FilesThatHoldNothingAreRefused) {
  WriteFile(file_, "not a shelf at all, but long enough to be one");
  auto report = Save();
  ASSERT_FALSE(report);
  EXPECT_FALSE(std::filesystem::exists(to_));
  EXPECT_EQ(SalvageSqliteShelf(folder_.Path() / "nowhere.db", to_).error().code, ErrorCode::kNotFound);
}

TEST_F(Salvage, TheFirstSchemasFile) {
  std::filesystem::copy_file(std::filesystem::path(ISLEBOOK_SOURCE_DIR) / "tests" / "old_files" / "shelf_schema_1.db", file_);
  const auto report = Save();
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->revisions, 3);
  ExpectSound();
}

}  // namespace
}  // namespace islebook
