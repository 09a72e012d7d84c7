#pragma once
// Every engine that keeps shelves, and the fixture of the suites that run once for each.

#include <functional>
#include <memory>
#include <ostream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mapstore/shelf/shelf.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook::shelf_test {

struct Engine {
  std::string name;
  std::function<Result<std::unique_ptr<Shelf>>(const std::filesystem::path& folder)> open;  // makes it the first time
};

inline void PrintTo(const Engine& engine, std::ostream* stream) { *stream << engine.name; }

inline std::vector<Engine> Engines() {
  return {{"sqlite", [](const std::filesystem::path& folder) { return OpenSqliteShelf(folder / "shelf.db", {.access = ShelfAccess::kCreate}); }}};
}

class ShelfEngineTest : public testing::TestWithParam<Engine> {
 protected:
  void SetUp() override { Reopen(); }

  void Reopen() {
    shelf_.reset();
    auto opened = GetParam().open(folder_.Path());
    ASSERT_TRUE(opened) << opened.error().message;
    shelf_ = std::move(*opened);
  }

  static NewRevision Revision(const std::string& name, int speed) {
    NewRevision revision;
    revision.name = name;
    revision.document = Document(name, speed);
    revision.author = "Ines";
    revision.message = "speed " + std::to_string(speed);
    return revision;
  }

  AddedRevision Add(const NewRevision& revision) {
    Result<AddedRevision> added = shelf_->AddRevision(revision);
    EXPECT_TRUE(added) << (added ? "" : added.error().message);
    return added.value_or(AddedRevision{});
  }

  void ExpectSound(std::int64_t maps, std::int64_t revisions) {
    const Result<ShelfReport> report = shelf_->Verify({});
    ASSERT_TRUE(report) << report.error().message;
    for (const ShelfProblem& problem : report->problems) ADD_FAILURE() << problem.place << ": " << problem.message;
    EXPECT_EQ(report->maps, maps);
    EXPECT_EQ(report->revisions, revisions);
  }

  TemporaryFolder folder_;
  std::unique_ptr<Shelf> shelf_;
};

}  // namespace islebook::shelf_test
