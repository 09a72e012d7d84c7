#pragma once
// Every engine that keeps shelves, and the fixture of the suites that run once for each.

#include <functional>
#include <map>
#include <memory>
#include <ostream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/server/server_shelf.h"
#include "mapstore/shelf/shelf.h"
#include "tests/mapstore/shelf/private_server.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook::shelf_test {

struct Engine {
  std::string name;
  // Opens the shelf that belongs to a folder, and makes it the first time. Only after Missing().
  std::function<Result<std::unique_ptr<Shelf>>(const std::filesystem::path& folder)> open;
  std::function<std::string()> missing;  // why this engine cannot be tested here; empty if it can
};

inline void PrintTo(const Engine& engine, std::ostream* stream) { *stream << engine.name; }

// The database of a private server that belongs to a folder.
inline std::string DatabaseOf(const std::filesystem::path& folder) {
  static std::map<std::filesystem::path, std::string> databases;
  std::string why;
  auto [entry, is_new] = databases.try_emplace(folder);
  if (is_new) entry->second = PrivateServer::Get(why)->NewDatabase();
  return entry->second;
}

inline std::vector<Engine> Engines() {
  return {{"sqlite", [](const std::filesystem::path& folder) { return OpenShelf(folder / "shelf.db", {.access = ShelfAccess::kCreate}); },
           [] { return std::string(); }},
          {"server",
           [](const std::filesystem::path& folder) {
             std::string why;
             return OpenShelf(PrivateServer::Get(why)->Url(DatabaseOf(folder)), {.access = ShelfAccess::kCreate});
           },
           [] {
             UseServerShelves();
             std::string why;
             PrivateServer::Get(why);
             return why;
           }}};
}

class ShelfEngineTest : public testing::TestWithParam<Engine> {
 protected:
  void SetUp() override {
    if (const std::string why = GetParam().missing(); !why.empty()) GTEST_SKIP() << why;
    Reopen();
  }

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
