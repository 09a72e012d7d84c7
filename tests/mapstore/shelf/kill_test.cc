// A program that adds to the shelf is killed without warning, again and again, at moments of its commits. Every revision that it was told is stored must be
// there, and the shelf must be sound. ISLEBOOK_KILLS sets how often (tests/thousand_kills.sh: 1000).

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <random>
#include <set>
#include <thread>

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using namespace shelf_test;

// Adds revisions until killed; writes each id to `pipe` once AddRevision has returned it.
[[noreturn]] void AddForEver(const std::filesystem::path& file, int round, int pipe) {
  for (int i = 0;; ++i) {
    auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
    if (!shelf) _exit(1);
    for (int k = 0; k < 5; ++k) {
      NewRevision revision;
      revision.name = "Alder 52";
      const std::string sheet(static_cast<std::size_t>(20000 * k + 1), static_cast<char>('a' + k));
      revision.document = Document("Alder 52", 10000 * (round + 1) + 5 * i + k, sheet);
      revision.sheet = sheet;
      revision.author = "Ines";
      const auto added = (*shelf)->AddRevision(revision);
      if (!added) _exit(2);
      const std::string line = added->revision.id;
      if (write(pipe, line.data(), line.size()) != static_cast<ssize_t>(line.size())) _exit(3);
    }
  }
}

TEST(ShelfKill, NothingPromisedIsLost) {
  const char* asked = std::getenv("ISLEBOOK_KILLS");
  const int kills = asked != nullptr ? std::atoi(asked) : 20;
  TemporaryFolder folder;
  const std::filesystem::path file = folder.Path() / "shelf.db";
  std::mt19937 random(20250314);
  std::set<std::string> promised;
  // On a machine that is busy with other work, more often, until as many revisions were promised.
  int round = 0;
  for (; round < kills || round % 10 != 0 || (promised.size() < static_cast<std::size_t>(kills) && round < 10 * kills); ++round) {
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    const pid_t child = fork();
    if (child == 0) {
      close(ends[0]);
      AddForEver(file, round, ends[1]);
    }
    close(ends[1]);
    // Some die while the shelf is made or opened, some in the middle of their adding.
    std::this_thread::sleep_for(std::chrono::microseconds(std::uniform_int_distribution<int>(200, 60000)(random)));
    kill(child, SIGKILL);
    int status = 0;
    waitpid(child, &status, 0);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the writer failed by itself: " << WEXITSTATUS(status);
    char id[64];
    while (read(ends[0], id, sizeof id) == sizeof id) promised.emplace(id, sizeof id);
    close(ends[0]);

    if (round % 10 != 9) continue;  // the next writer opens what this one left, so damage would add up until here
    auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
    ASSERT_TRUE(shelf) << round << ": " << shelf.error().message;
    const auto report = (*shelf)->Verify({});
    ASSERT_TRUE(report) << report.error().message;
    for (const ShelfProblem& problem : report->problems) ADD_FAILURE() << round << ": " << problem.place << ": " << problem.message;
    std::set<std::string> there;
    if (const auto log = (*shelf)->Log("Alder 52")) {
      for (const RevisionRecord& revision : *log) there.insert(revision.id);
    }
    for (const std::string& kept : promised) ASSERT_TRUE(there.contains(kept)) << round << ": a revision that was stored is lost: " << kept;
  }
  EXPECT_GE(promised.size(), static_cast<std::size_t>(kills));
  RecordProperty("kills", round);
  RecordProperty("promised", static_cast<int>(promised.size()));
  std::printf("%d kills, %zu revisions promised and all of them there\n", round, promised.size());
}

}  // namespace
}  // namespace islebook
