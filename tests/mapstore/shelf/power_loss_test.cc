// The power goes at every moment of a shelf's life: while it is made, while revisions and sheets are added, while the log is folded into the file. Every
// revision that was acknowledged is there afterwards, and the shelf is sound. ISLEBOOK_POWER_LOSSES sets how often.

#include <cstdlib>
#include <set>

#include <gtest/gtest.h>

#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/shelf/power_loss_vfs.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using namespace shelf_test;

// A shelf's day: made, filled, closed, opened again. Ends early when a call fails; returns the ids that were acknowledged.
std::set<std::string> Work(const std::filesystem::path& file) {
  std::set<std::string> acknowledged;
  for (int day = 0; day < 3; ++day) {
    auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate, .busy_timeout = std::chrono::milliseconds(0)});
    if (!shelf) return acknowledged;
    for (int i = 0; i < 4; ++i) {
      NewRevision revision;
      revision.name = i % 2 == 0 ? "Alder 52" : "Rowan 83";
      const std::string sheet(static_cast<std::size_t>(15000 * i + 100), static_cast<char>('a' + i + 4 * day));
      revision.document = Document(revision.name, 1000 * day + i, sheet);
      revision.sheet = sheet;
      revision.author = "Ines";
      const auto added = (*shelf)->AddRevision(revision);
      if (!added) return acknowledged;
      acknowledged.insert(added->revision.id);
      if (!(*shelf)->SetTag(revision.name, "day " + std::to_string(day), true, "Ines")) return acknowledged;
    }
  }
  return acknowledged;
}

// Returns how many acknowledged revisions are missing after the power has gone once.
int Lose(PowerLoss& power, std::int64_t operation, bool disk_lies, std::mt19937& random, bool expect_sound) {
  TemporaryFolder folder, after;
  power.Arm(operation, disk_lies);
  const std::set<std::string> acknowledged = Work(folder.Path() / "shelf.db");
  EXPECT_TRUE(power.IsDark()) << operation;
  power.WriteDisk(after.Path(), random);
  power.Arm(-1);  // the power is back
  auto shelf = OpenSqliteShelf(after.Path() / "shelf.db", {.access = ShelfAccess::kCreate});
  if (!expect_sound && !shelf) return static_cast<int>(acknowledged.size());
  EXPECT_TRUE(shelf) << operation << ": " << shelf.error().message;
  if (!shelf) return static_cast<int>(acknowledged.size());
  const auto report = (*shelf)->Verify({});
  if (expect_sound) {
    EXPECT_TRUE(report) << operation << ": " << report.error().message;
    if (report)
      for (const ShelfProblem& problem : report->problems) ADD_FAILURE() << operation << ": " << problem.place << ": " << problem.message;
  }
  int missing = 0;
  for (const std::string& id : acknowledged) missing += (*shelf)->ShowRevision(id) ? 0 : 1;
  if (expect_sound) {
    EXPECT_EQ(missing, 0) << operation;
    NewRevision revision;
    revision.name = "Alder 52";
    revision.document = Document("Alder 52", 99999);
    revision.author = "Ines";
    EXPECT_TRUE((*shelf)->AddRevision(revision)) << "and work goes on";
  }
  return missing;
}

TEST(ShelfPowerLoss, NothingAcknowledgedIsLost) {
  PowerLoss power;
  std::int64_t operations = 0;
  {
    TemporaryFolder folder;
    power.Arm(-1);
    EXPECT_EQ(Work(folder.Path() / "shelf.db").size(), 12u);
    operations = power.Operations();
  }
  ASSERT_GT(operations, 100);
  const char* asked = std::getenv("ISLEBOOK_POWER_LOSSES");
  const int losses = asked != nullptr ? std::atoi(asked) : 60;
  std::mt19937 random(20250314);
  // Each moment of its making, in several ways of losing; then any moment.
  for (int i = 0; i < 90; ++i) Lose(power, i % 30, false, random, true);
  for (int i = 0; i < losses; ++i) Lose(power, static_cast<std::int64_t>(random() % static_cast<unsigned>(operations - 10)), false, random, true);
  std::printf("%d power losses among %lld disk operations\n", losses, static_cast<long long>(operations));
}

// The test itself can fail: a disk that acknowledges syncs and does not do them does lose revisions.
TEST(ShelfPowerLoss, ALyingDiskIsNoticedByThisTest) {
  PowerLoss power;
  std::mt19937 random(7);
  int missing = 0;
  for (int i = 0; i < 12; ++i) missing += Lose(power, 150 + 10 * i, true, random, false);
  EXPECT_GT(missing, 0);
}

}  // namespace
}  // namespace islebook
