// The shelf as a file: who may open it, what damage looks like, and what happens when the disk, the power or another program interferes.

#include "mapstore/shelf/sqlite_shelf.h"

#include <gtest/gtest.h>
#include <sched.h>
#include <sqlite3.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>
#include <csignal>

#include "mapstore/map/canonical_json.h"
#include "mapstore/shelf/sqlite_schema.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using namespace shelf_test;
using namespace std::chrono_literals;

NewRevision Revision(const std::string& name, int speed) {
  NewRevision revision;
  revision.name = name;
  revision.document = Document(name, speed);
  revision.author = "Ines";
  return revision;
}

class SqliteShelfTest : public testing::Test {
 protected:
  Result<std::unique_ptr<Shelf>> Open(ShelfAccess access, std::chrono::milliseconds timeout = 5000ms) {
    return OpenSqliteShelf(file_, {.access = access, .busy_timeout = timeout});
  }

  // A shelf with `count` revisions of one map, closed.
  void Fill(int count) {
    auto shelf = Open(ShelfAccess::kCreate);
    ASSERT_TRUE(shelf) << shelf.error().message;
    for (int i = 0; i < count; ++i) {
      NewRevision revision = Revision("Alder 52", 90000 + i);
      revision.sheet = "the sheet's bytes";
      ASSERT_TRUE((*shelf)->AddRevision(revision));
    }
  }

  void ExpectSound(std::int64_t revisions) {
    auto shelf = Open(ShelfAccess::kRead);
    ASSERT_TRUE(shelf) << shelf.error().message;
    const Result<ShelfReport> report = (*shelf)->Verify({});
    ASSERT_TRUE(report) << report.error().message;
    for (const ShelfProblem& problem : report->problems) ADD_FAILURE() << problem.place << ": " << problem.message;
    EXPECT_EQ(report->revisions, revisions);
  }

  // What another program could do to the file.
  void Meddle(const std::string& sql) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file_.c_str(), &database), SQLITE_OK);
    char* message = nullptr;
    EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &message), SQLITE_OK) << message;
    sqlite3_close(database);
  }

  std::vector<ShelfProblem> Problems() {
    auto shelf = Open(ShelfAccess::kRead);
    if (!shelf) return {{"open", shelf.error().message}};
    const Result<ShelfReport> report = (*shelf)->Verify({});
    if (!report) return {{"verify", report.error().message}};
    return report->problems;
  }

  void ExpectProblem(const std::string& place, const std::string& words) {
    for (const ShelfProblem& problem : Problems())
      if (problem.place.starts_with(place) && problem.message.find(words) != std::string::npos) return;
    ADD_FAILURE() << "no problem at " << place << " with the words: " << words;
    for (const ShelfProblem& problem : Problems()) ADD_FAILURE() << problem.place << ": " << problem.message;
  }

  TemporaryFolder folder_;
  std::filesystem::path file_ = folder_.Path() / "a folder" / "shelf.db";
};

TEST_F(SqliteShelfTest, IsMadeWithItsFolderOnlyWhenAsked) {
  for (const ShelfAccess access : {ShelfAccess::kRead, ShelfAccess::kWrite}) {
    const auto shelf = Open(access);
    ASSERT_FALSE(shelf);
    EXPECT_EQ(shelf.error().code, ErrorCode::kNotFound);
    EXPECT_FALSE(std::filesystem::exists(file_.parent_path()));
  }
  Fill(1);
  EXPECT_TRUE(Open(ShelfAccess::kRead));
  EXPECT_TRUE(Open(ShelfAccess::kWrite));
}

TEST_F(SqliteShelfTest, TheFileSaysWhatItIs) {
  Fill(1);
  const std::string bytes = ReadFile(file_);
  EXPECT_EQ(bytes.substr(0, 15), "SQLite format 3");
  EXPECT_EQ(bytes.substr(68, 4), "Isle");                      // application_id, big-endian, at byte 68: sqlite.org/fileformat2.html
  EXPECT_EQ(bytes.substr(60, 4), std::string("\0\0\0\3", 4));  // user_version, at byte 60
  EXPECT_EQ(bytes.substr(18, 2), "\2\2");                      // write-ahead log, at bytes 18 and 19
  EXPECT_FALSE(std::filesystem::exists(file_.string() + "-wal"));
}

TEST_F(SqliteShelfTest, OddFileNamesAreTakenAsTheyAre) {
  for (const char* name : {"50% off?.db", "a#b&c=d.db", ":memory:", "Prüfstand.db"}) {
    file_ = folder_.Path() / name;
    Fill(1);
    EXPECT_TRUE(std::filesystem::exists(file_)) << name;
    ExpectSound(1);
  }
}

TEST_F(SqliteShelfTest, FilesThatAreNoShelfAreRefusedAndLeftAlone) {
  file_ = folder_.Path() / "shelf.db";
  sqlite3* other = nullptr;
  const std::filesystem::path foreign = folder_.Path() / "foreign.db";
  ASSERT_EQ(sqlite3_open(foreign.c_str(), &other), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(other, "CREATE TABLE cows (name TEXT); INSERT INTO cows VALUES ('Bella');", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(other);
  const std::vector<std::string> contents = {"just some text", std::string("\x89PNG\r\n\x1a\n", 8) + std::string(100, 'x'), std::string(5000, '\0'),
                                             ReadFile(foreign), "SQLite format 3" + std::string(2000, '\x55')};
  for (const std::string& bytes : contents) {
    WriteFile(file_, bytes);
    for (const ShelfAccess access : {ShelfAccess::kRead, ShelfAccess::kWrite, ShelfAccess::kCreate}) {
      const auto shelf = Open(access);
      ASSERT_FALSE(shelf) << bytes.substr(0, 15);
      EXPECT_EQ(shelf.error().code, ErrorCode::kShelfUnavailable) << shelf.error().message;
      EXPECT_EQ(ReadFile(file_), bytes);
    }
  }
  file_ = folder_.Path();
  EXPECT_EQ(Open(ShelfAccess::kCreate).error().code, ErrorCode::kShelfUnavailable);
  file_ = "/dev/null";
  EXPECT_EQ(Open(ShelfAccess::kCreate).error().code, ErrorCode::kShelfUnavailable);
}

TEST_F(SqliteShelfTest, AnEmptyFileBecomesAShelfOnlyWhenAdding) {
  file_ = folder_.Path() / "shelf.db";
  WriteFile(file_, "");
  EXPECT_EQ(Open(ShelfAccess::kRead).error().code, ErrorCode::kShelfUnavailable);
  EXPECT_EQ(Open(ShelfAccess::kWrite).error().code, ErrorCode::kShelfUnavailable);
  EXPECT_EQ(ReadFile(file_), "");
  Fill(1);
  ExpectSound(1);
}

TEST_F(SqliteShelfTest, ALaterVersionsShelfIsRefusedAndLeftAlone) {
  Fill(1);
  Meddle("PRAGMA user_version = 999");
  const std::string before = ReadFile(file_);
  for (const ShelfAccess access : {ShelfAccess::kRead, ShelfAccess::kWrite, ShelfAccess::kCreate}) {
    const auto shelf = Open(access);
    ASSERT_FALSE(shelf);
    EXPECT_EQ(shelf.error().code, ErrorCode::kNewerShelf);
    EXPECT_NE(shelf.error().message.find("999"), std::string::npos);
  }
  EXPECT_EQ(ReadFile(file_), before);
}

TEST_F(SqliteShelfTest, NothingIsOverwrittenEvenByOthers) {
  Fill(2);
  {
    auto shelf = Open(ShelfAccess::kWrite);
    ASSERT_TRUE(shelf);
    ASSERT_TRUE((*shelf)->SetTag("Alder 52", "ferry", true, "Ines"));
    ASSERT_TRUE((*shelf)->AddNote("Alder 52", {"Ines", "2025-03-14T09:26:53Z", "from the brochure", std::nullopt}));
    ASSERT_TRUE((*shelf)->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 52.0, 71.0, std::nullopt, std::nullopt, 130000.0}, "Ines"));
    ASSERT_TRUE((*shelf)->SetRemoved("Alder 52", true, "Ines", "kept twice"));
    ASSERT_TRUE((*shelf)->SetRemoved("Alder 52", false, "Ines", ""));
  }
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(file_.c_str(), &database), SQLITE_OK);
  for (const char* table : {"sheets", "documents", "revisions", "parents", "maps", "heads", "tags", "notes", "wheels", "removals"}) {
    EXPECT_NE(sqlite3_exec(database, (std::string("DELETE FROM ") + table).c_str(), nullptr, nullptr, nullptr), SQLITE_OK) << table;
  }
  for (const char* change :
       {"UPDATE sheets SET bytes = x'00'", "UPDATE documents SET body = '{}'", "UPDATE revisions SET author = 'x'", "UPDATE parents SET position = 1",
        "UPDATE maps SET name = 'x'", "UPDATE heads SET revision = 1", "UPDATE tags SET tag = 'x'", "UPDATE notes SET text = 'x'",
        "UPDATE wheels SET maker = 'x'", "UPDATE removals SET removed = 0"})
    EXPECT_NE(sqlite3_exec(database, change, nullptr, nullptr, nullptr), SQLITE_OK) << change;
  sqlite3_close(database);
  ExpectSound(2);
}

TEST_F(SqliteShelfTest, VerifyFindsEveryKindOfMeddling) {
  struct Case {
    std::string sql;
    std::string place;
    std::string words;
  };
  const std::vector<Case> cases = {
      {"DROP TRIGGER sheets_stay; UPDATE sheets SET bytes = x'00ff';", "sheet ", "not what its hash says"},
      {"DROP TRIGGER documents_stay; UPDATE documents SET body = replace(body, '90000', '90009');", "document ", "not what its hash says"},
      {"DROP TRIGGER documents_stay; UPDATE documents SET title = 'Rowan 83';", "document ", "the list was altered"},
      {"DROP TRIGGER documents_stay; UPDATE documents SET kind = 'turbine';", "document ", "the list was altered"},
      {"DROP TRIGGER documents_stay; UPDATE documents SET sheet = NULL;", "document ", "the list was altered"},
      {"DROP TRIGGER revisions_stay; UPDATE revisions SET author = 'somebody else' WHERE number = 2;", "revision ", "do not say the same"},
      {"DROP TRIGGER revisions_stay; UPDATE revisions SET time = '1999-01-01T00:00:00Z' WHERE number = 2;", "revision ", "do not say the same"},
      {"DROP TRIGGER revisions_stay; UPDATE revisions SET record = replace(record, 'Ines', 'Ina'), author = 'Ina';", "revision ",
       "not what its hash says"},
      {"DROP TRIGGER parents_remain; DELETE FROM parents;", "revision ", "do not say the same"},
      {"PRAGMA foreign_keys = OFF; DROP TRIGGER documents_remain; DELETE FROM documents WHERE body LIKE '%90001%';", "revision ",
       "its document is lost"},
      {"PRAGMA foreign_keys = OFF; DROP TRIGGER revisions_remain; DELETE FROM revisions WHERE number = 3;", "map Alder 52", "no revision"},
      {"DROP TRIGGER heads_remain; DELETE FROM heads;", "map Alder 52", "no revision"},
      {"DROP TRIGGER heads_remain;", "file", "heads_remain is missing"},
      {"DELETE FROM words;", "map Alder 52", "not in the index of words"},
      {"DROP TRIGGER heads_stay; UPDATE heads SET closed = 1;", "map Alder 52", "no revision"},
      {"CREATE TABLE cows (name TEXT);", "file", "cows was added"},
      {"DROP INDEX heads_by_branch; CREATE INDEX heads_by_branch ON heads (number);", "file", "heads_by_branch is missing or was altered"},
      {"INSERT INTO documents VALUES ('" + Sha256Hex("{ }") + "', NULL, '', NULL, '{ }')", "document ", "canonical"},
      {"INSERT INTO documents VALUES ('" + Sha256Hex("{}") + "', NULL, '', NULL, '{}')", "document ", "not a map document"},
  };
  for (const Case& one : cases) {
    SCOPED_TRACE(one.sql);
    std::filesystem::remove_all(file_.parent_path());
    Fill(3);
    ExpectSound(3);
    Meddle(one.sql);
    ExpectProblem(one.place, one.words);
  }
}

TEST_F(SqliteShelfTest, ADamagedDocumentIsNeverShown) {
  Fill(1);
  Meddle("DROP TRIGGER documents_stay; UPDATE documents SET body = replace(body, '90000', '90009')");
  auto shelf = Open(ShelfAccess::kRead);
  ASSERT_TRUE(shelf);
  EXPECT_EQ((*shelf)->Show("Alder 52").error().code, ErrorCode::kShelfDamaged);
}

TEST_F(SqliteShelfTest, ADamagedSheetIsNeverGivenOut) {
  Fill(1);
  Meddle("DROP TRIGGER sheets_stay; UPDATE sheets SET bytes = x'00ff'");
  auto shelf = Open(ShelfAccess::kRead);
  ASSERT_TRUE(shelf);
  EXPECT_EQ((*shelf)->Sheet(Sha256Hex("the sheet's bytes")).error().code, ErrorCode::kShelfDamaged);
}

// Cut at every page and at odd places: an error or a reported problem each time, never a crash and never a sound report.
TEST_F(SqliteShelfTest, AFileCutShortIsDiagnosed) {
  Fill(40);
  const std::string whole = ReadFile(file_);
  ASSERT_GT(whole.size(), 20u * 4096u);
  std::vector<std::size_t> lengths = {1, 15, 16, 99, 100, 512, 5000, whole.size() - 1};
  for (std::size_t length = 4096; length < whole.size(); length += 4096) lengths.push_back(length);
  for (const std::size_t length : lengths) {
    WriteFile(file_, whole.substr(0, length));
    EXPECT_FALSE(Problems().empty()) << length;
    auto shelf = Open(ShelfAccess::kRead);
    if (!shelf) {
      EXPECT_TRUE(shelf.error().code == ErrorCode::kShelfDamaged || shelf.error().code == ErrorCode::kShelfUnavailable)
          << length << ": " << shelf.error().message;
      continue;
    }
    const auto list = (*shelf)->List();
    EXPECT_TRUE(list || list.error().code == ErrorCode::kShelfDamaged) << length;
    const auto log = (*shelf)->Log("Alder 52");
    EXPECT_TRUE(log || log.error().code == ErrorCode::kShelfDamaged) << length;
  }
}

// One page after another overwritten with rubbish. Free pages hold nothing, so a report may be sound only if every revision is still right.
TEST_F(SqliteShelfTest, OverwrittenPagesAreDiagnosed) {
  Fill(40);
  const std::string whole = ReadFile(file_);
  for (std::size_t page = 4096; page + 4096 <= whole.size(); page += 4096) {
    std::string bytes = whole;
    for (std::size_t i = page; i < page + 4096; ++i) bytes[i] = static_cast<char>(i * 31 + 7);
    WriteFile(file_, bytes);
    EXPECT_FALSE(Problems().empty()) << page;
  }
}

TEST_F(SqliteShelfTest, ReadingNeedsNoPermissionToWrite) {
  Fill(2);
  ASSERT_EQ(chmod(folder_.Path().c_str(), 0755), 0);
  ASSERT_EQ(chmod(file_.parent_path().c_str(), 0555), 0);
  ASSERT_EQ(chmod(file_.c_str(), 0444), 0);
  const int code = RunInChild([&] {
    if (!BecomeNobody()) return 100;
    auto reading = Open(ShelfAccess::kRead);
    if (!reading) return 1;
    if ((*reading)->Log("Alder 52").value_or(std::vector<RevisionRecord>()).size() != 2) return 2;
    if (const auto report = (*reading)->Verify({}); !report || !report->problems.empty()) return 3;
    if (const auto refused = (*reading)->AddRevision(Revision("Rowan 83", 1)); refused || refused.error().code != ErrorCode::kCannotWrite) return 4;
    auto writing = Open(ShelfAccess::kWrite);
    if (writing) {
      const auto added = (*writing)->AddRevision(Revision("Rowan 83", 1));
      if (added || added.error().code != ErrorCode::kCannotWrite) return 5;
    } else if (writing.error().code != ErrorCode::kCannotWrite && writing.error().code != ErrorCode::kShelfUnavailable) {
      return 6;
    }
    return 0;
  });
  ASSERT_EQ(chmod(file_.parent_path().c_str(), 0755), 0);
  EXPECT_EQ(code, 0);
  ExpectSound(2);
}

TEST_F(SqliteShelfTest, AReadOnlyFileIsNotAddedTo) {
  Fill(1);
  ASSERT_EQ(chmod(folder_.Path().c_str(), 0755), 0);
  ASSERT_EQ(chmod(file_.parent_path().c_str(), 0777), 0);
  ASSERT_EQ(chmod(file_.c_str(), 0444), 0);
  const int code = RunInChild([&] {
    if (!BecomeNobody()) return 100;
    auto shelf = Open(ShelfAccess::kCreate);
    if (!shelf) return shelf.error().code == ErrorCode::kCannotWrite ? 0 : 1;
    const auto added = (*shelf)->AddRevision(Revision("Rowan 83", 1));
    return !added && added.error().code == ErrorCode::kCannotWrite ? 0 : 2;
  });
  EXPECT_EQ(code, 0);
  ExpectSound(1);
}

TEST_F(SqliteShelfTest, AFolderThatMayNotBeWrittenIsNamed) {
  ASSERT_EQ(chmod(folder_.Path().c_str(), 0555), 0);
  const int code = RunInChild([&] {
    if (!BecomeNobody()) return 100;
    const auto shelf = Open(ShelfAccess::kCreate);
    if (shelf) return 1;
    return shelf.error().code == ErrorCode::kCannotWrite && !shelf.error().place.empty() ? 0 : 2;
  });
  EXPECT_EQ(code, 0);
}

// A limit on the size of files stands for a full disk: at every limit the add either succeeds whole or leaves the shelf as it was.
TEST_F(SqliteShelfTest, AFullDiskChangesNothing) {
  Fill(3);
  const std::string big(400000, 'x');
  int refused = 0, added = 0;
  for (const rlim_t limit : {8192u, 20000u, 60000u, 100000u, 200000u, 410000u, 430000u, 500000u, 4000000u}) {
    const int code = RunInChild([&] {
      std::signal(SIGXFSZ, SIG_IGN);
      auto shelf = Open(ShelfAccess::kWrite);
      if (!shelf) return 1;
      const rlimit small{limit, limit};
      setrlimit(RLIMIT_FSIZE, &small);
      NewRevision revision = Revision("Rowan " + std::to_string(limit), 50000);
      revision.document = Document("Rowan 83", 50000, big);
      revision.sheet = big;
      revision.time = "2025-03-14T09:26:53Z";
      const auto result = (*shelf)->AddRevision(revision);
      if (result) return 0;
      if (result.error().code != ErrorCode::kCannotWrite) return 2;
      return (*shelf)->Log("Alder 52").value_or(std::vector<RevisionRecord>()).size() == 3 ? 3 : 4;
    });
    EXPECT_TRUE(code == 0 || code == 3) << limit << ": " << code;
    refused += code == 3;
    added += code == 0;
    ExpectSound(3 + (added > 0 ? 1 : 0));  // the same record each time: one revision, as many names as adds succeeded
  }
  EXPECT_GT(refused, 0);
  EXPECT_GT(added, 0);
}

TEST_F(SqliteShelfTest, AFullDiskWhileTheShelfIsMade) {
  for (const rlim_t limit : {0u, 100u, 4096u, 20000u}) {
    std::filesystem::remove_all(file_.parent_path());
    const int code = RunInChild([&] {
      std::signal(SIGXFSZ, SIG_IGN);
      const rlimit small{limit, limit};
      setrlimit(RLIMIT_FSIZE, &small);
      const auto shelf = Open(ShelfAccess::kCreate);
      return !shelf && shelf.error().code == ErrorCode::kCannotWrite ? 0 : 1;
    });
    EXPECT_EQ(code, 0) << limit;
    Fill(1);  // what was left is no obstacle
    ExpectSound(1);
  }
}

// A disk that is really full: a small one in memory, mounted where this test alone sees it.
TEST_F(SqliteShelfTest, ASmallDiskRunsFull) {
  constexpr int kCannotMount = 77;
  const std::filesystem::path disk = folder_.Path() / "disk";
  std::filesystem::create_directory(disk);
  const int code = RunInChild([&] {
    if (unshare(CLONE_NEWNS) != 0 || mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0 ||
        mount("none", disk.c_str(), "tmpfs", 0, "size=1m") != 0)
      return kCannotMount;
    file_ = disk / "shelf.db";
    auto shelf = Open(ShelfAccess::kCreate);
    if (!shelf) return 1;
    std::size_t added = 0;
    for (int i = 0; i < 200; ++i) {
      NewRevision revision = Revision("Alder 52", 90000 + i);
      const std::string sheet(30000, static_cast<char>(i));
      revision.document = Document("Alder 52", 90000 + i, sheet);
      revision.sheet = sheet;
      const auto result = (*shelf)->AddRevision(revision);
      if (result) {
        ++added;
        continue;
      }
      if (result.error().code != ErrorCode::kCannotWrite) return 2;
      const auto log = (*shelf)->Log("Alder 52");
      if (!log || log->size() != added) return 3;
      const auto report = (*shelf)->Verify({});
      if (!report || !report->problems.empty()) return 4;
      shelf->reset();
      auto again = Open(ShelfAccess::kRead);
      if (!again) return 5;
      const auto still = (*again)->Log("Alder 52");
      return added > 3 && still && still->size() == added ? 0 : 6;
    }
    return 7;  // never full
  });
  if (code == kCannotMount) GTEST_SKIP() << "this process may not mount a small disk";
  EXPECT_EQ(code, 0);
}

// A shelf of each schema that was ever released is kept in tests/old_files and must open for ever.
TEST_F(SqliteShelfTest, TheFirstSchemasFileOpens) {
  std::filesystem::create_directory(file_.parent_path());
  std::filesystem::copy_file(std::filesystem::path(ISLEBOOK_SOURCE_DIR) / "tests" / "old_files" / "shelf_schema_1.db", file_);
  ExpectSound(3);
  auto shelf = Open(ShelfAccess::kWrite);
  ASSERT_TRUE(shelf) << shelf.error().message;
  const auto shown = (*shelf)->Show("Alder 52");
  ASSERT_TRUE(shown) << shown.error().message;
  EXPECT_EQ(shown->revision.id, "fb3b46d70462d3502ae9324a5ef5024ab9e4069e33fc352e165549eca84f08a4");
  EXPECT_EQ(shown->revision.parents.size(), 1u);
  EXPECT_EQ(*(*shelf)->Sheet(*shown->sheet_sha256), "the sheet's bytes");
  ASSERT_TRUE((*shelf)->AddRevision(Revision("Alder 52", 95000)));
  EXPECT_EQ((*shelf)->Log("Alder 52")->size(), 3u);
}

TEST_F(SqliteShelfTest, TheSecondSchemasFileOpens) {
  std::filesystem::create_directory(file_.parent_path());
  std::filesystem::copy_file(std::filesystem::path(ISLEBOOK_SOURCE_DIR) / "tests" / "old_files" / "shelf_schema_2.db", file_);
  ExpectSound(4);
  auto shelf = Open(ShelfAccess::kWrite);
  ASSERT_TRUE(shelf) << shelf.error().message;
  EXPECT_EQ((*shelf)->Show("Alder 52")->revision.id, "f63162ac45ee58f208667ef47435c8256239c8e4885404db8d67ca40605c583a");
  EXPECT_EQ((*shelf)->Show("Alder 52@by eye")->revision.id, "4f887845acec29e53d40f175dbca1e52c8b4540b0f419206bea73fe5a3e2b0dd");
  const auto facts = (*shelf)->Facts("Alder 52");
  ASSERT_TRUE(facts) << facts.error().message;
  EXPECT_EQ(facts->tags, std::vector<std::string>{"lake ferry"});
  EXPECT_EQ(facts->notes.front().text, "from the brochure");
  EXPECT_EQ(facts->wheel->inducer_mm, 52.0);
  EXPECT_EQ((*shelf)->List()->size(), 1u);
  EXPECT_EQ((*shelf)->Find({.words = "brochure"})->size(), 1u);
  EXPECT_EQ((*shelf)->Find({.removed = true})->front().name, "Rowan 83");
}

// On a disc that cannot be written it is brought up to date in memory, and the file stays byte for byte.
TEST_F(SqliteShelfTest, AnOldFileIsReadWhereNothingCanBeWritten) {
  std::filesystem::create_directory(file_.parent_path());
  const std::filesystem::path old = std::filesystem::path(ISLEBOOK_SOURCE_DIR) / "tests" / "old_files" / "shelf_schema_1.db";
  std::filesystem::copy_file(old, file_);
  std::filesystem::permissions(folder_.Path(), std::filesystem::perms(0755));
  std::filesystem::permissions(file_, std::filesystem::perms(0444));
  std::filesystem::permissions(file_.parent_path(), std::filesystem::perms(0555));
  const int code = RunInChild([&] {
    if (!BecomeNobody()) return 1;
    auto shelf = Open(ShelfAccess::kRead);
    if (!shelf) return 2;
    const auto shown = (*shelf)->Show("Alder 52");
    if (!shown || shown->revision.id != "fb3b46d70462d3502ae9324a5ef5024ab9e4069e33fc352e165549eca84f08a4") return 3;
    if ((*shelf)->Find({.words = "alder"})->size() != 1) return 4;
    const auto report = (*shelf)->Verify({});
    if (!report || !report->problems.empty()) return 5;
    if ((*shelf)->SetTag("Alder 52", "ferry", true, "Ines")) return 6;
    return 0;
  });
  std::filesystem::permissions(file_.parent_path(), std::filesystem::perms(0755));
  EXPECT_EQ(code, 0);
  EXPECT_EQ(ReadFile(file_), ReadFile(old));
}

// What is written to a file that another took the place of would be lost, so it is refused.
TEST_F(SqliteShelfTest, AReplacedFileIsNoticed) {
  Fill(1);
  auto shelf = Open(ShelfAccess::kWrite);
  ASSERT_TRUE(shelf);
  const std::filesystem::path other = folder_.Path() / "other.db";
  std::filesystem::copy_file(file_, other);
  std::filesystem::rename(other, file_);
  const auto added = (*shelf)->AddRevision(Revision("Alder 52", 95000));
  ASSERT_FALSE(added);
  EXPECT_EQ(added.error().code, ErrorCode::kShelfUnavailable);
  EXPECT_NE(added.error().message.find("replaced"), std::string::npos) << added.error().message;
  EXPECT_EQ((*shelf)->SetTag("Alder 52", "ferry", true, "Ines").error().code, ErrorCode::kShelfUnavailable);
  shelf->reset();
  ExpectSound(1);
  std::filesystem::remove(file_);
  ASSERT_FALSE(std::filesystem::exists(file_));
}

TEST_F(SqliteShelfTest, ABusyShelfSaysSo) {
  Fill(1);
  Result<SqliteDatabase> other = SqliteDatabase::Open(file_, DatabaseAccess::kReadWrite, 0ms);
  ASSERT_TRUE(other);
  auto shelf = Open(ShelfAccess::kWrite, 50ms);
  ASSERT_TRUE(shelf);
  {
    Result<Transaction> holding = Transaction::Begin(*other, Transaction::Kind::kWrite);
    ASSERT_TRUE(holding);
    const auto added = (*shelf)->AddRevision(Revision("Rowan 83", 50000));
    ASSERT_FALSE(added);
    EXPECT_EQ(added.error().code, ErrorCode::kShelfBusy);
    EXPECT_EQ((*shelf)->List()->size(), 1u);  // readers are not in the way of a writer, nor it in theirs
  }
  EXPECT_TRUE((*shelf)->AddRevision(Revision("Rowan 83", 50000)));
}

TEST_F(SqliteShelfTest, ATransactionRollsBackUnlessCommitted) {
  Fill(1);
  Result<SqliteDatabase> database = SqliteDatabase::Open(file_, DatabaseAccess::kReadWrite, 0ms);
  ASSERT_TRUE(database);
  {
    Result<Transaction> writing = Transaction::Begin(*database, Transaction::Kind::kWrite);
    ASSERT_TRUE(writing);
    ASSERT_TRUE(database->Execute("INSERT INTO maps (name) VALUES ('lost')"));
  }
  EXPECT_EQ(*database->Integer("SELECT count(*) FROM maps"), 1);
  {
    Result<Transaction> writing = Transaction::Begin(*database, Transaction::Kind::kWrite);
    ASSERT_TRUE(writing);
    ASSERT_TRUE(database->Execute("INSERT INTO maps (name) VALUES ('kept')"));
    ASSERT_TRUE(writing->Commit());
  }
  EXPECT_EQ(*database->Integer("SELECT count(*) FROM maps"), 2);
}

// Eight programs make the shelf and add to it at the same time, on one name and on their own.
TEST_F(SqliteShelfTest, ManyProgramsWriteAtOnce) {
  constexpr int kPrograms = 8, kAdds = 12;
  std::vector<pid_t> children;
  for (int program = 0; program < kPrograms; ++program) {
    const pid_t child = fork();
    if (child == 0) {
      int code = 0;
      for (int i = 0; i < kAdds && code == 0; ++i) {
        auto shelf = Open(ShelfAccess::kCreate, 60000ms);
        if (!shelf)
          code = 10 + static_cast<int>(shelf.error().code) % 100;
        else if (!(*shelf)->AddRevision(Revision("shared", 1000 * (program + 1) + i)))
          code = 2;
        else if (!(*shelf)->AddRevision(Revision("own " + std::to_string(program), i)))
          code = 3;
        else if (!(*shelf)->List())
          code = 4;
      }
      _exit(code);
    }
    children.push_back(child);
  }
  for (const pid_t child : children) {
    int status = 0;
    waitpid(child, &status, 0);
    EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0) << (WIFEXITED(status) ? WEXITSTATUS(status) : -1);
  }
  ExpectSound(2 * kPrograms * kAdds);
  auto shelf = Open(ShelfAccess::kRead);
  EXPECT_EQ((*shelf)->Log("shared")->size(), static_cast<std::size_t>(kPrograms * kAdds));  // one line: each add stood on the one before
  EXPECT_EQ((*shelf)->List()->size(), 1u + kPrograms);
}

}  // namespace
}  // namespace islebook
