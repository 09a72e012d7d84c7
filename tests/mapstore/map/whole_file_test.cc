#include "mapstore/map/whole_file.h"

#include <csignal>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

namespace islebook {
namespace {

using ::testing::HasSubstr;
namespace fs = std::filesystem;

class WholeFile : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("islebook-whole-file-" + std::to_string(getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override {
    fs::permissions(folder_, fs::perms::owner_all);
    fs::remove_all(folder_);
  }
  std::size_t FilesInFolder() const { return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder_), fs::directory_iterator())); }
  fs::path folder_;
};

TEST_F(WholeFile, WritesReplacesAndReads) {
  const fs::path file = folder_ / "a.txt";
  ASSERT_TRUE(ReplaceFileContents(file, "one"));
  EXPECT_EQ(*ReadFileContents(file), "one");
  ASSERT_TRUE(ReplaceFileContents(file, std::string(300000, 'x')));
  EXPECT_EQ(ReadFileContents(file)->size(), 300000u);
  EXPECT_EQ(FilesInFolder(), 1u);
}

TEST_F(WholeFile, KeepsPermissionsAndLinks) {
  const fs::path file = folder_ / "a.txt", link = folder_ / "link.txt";
  ASSERT_TRUE(ReplaceFileContents(file, "one"));
  fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
  fs::create_symlink("a.txt", link);
  ASSERT_TRUE(ReplaceFileContents(link, "two"));
  EXPECT_TRUE(fs::is_symlink(link));
  EXPECT_EQ(*ReadFileContents(file), "two");
  EXPECT_EQ(fs::status(file).permissions(), fs::perms::owner_read | fs::perms::owner_write);
}

TEST_F(WholeFile, PlacesThatCannotBeWrittenGiveASentence) {
  const auto absent = ReplaceFileContents(folder_ / "no" / "a.txt", "x");
  ASSERT_FALSE(absent);
  EXPECT_EQ(absent.error().code, ErrorCode::kCannotWrite);
  EXPECT_THAT(absent.error().message, HasSubstr("does not exist"));
  const auto folder = ReplaceFileContents(folder_, "x");
  ASSERT_FALSE(folder);
  EXPECT_THAT(folder.error().message, HasSubstr("folder"));
  std::ofstream(folder_ / "file") << "x";
  const auto through = ReplaceFileContents(folder_ / "file" / "a.txt", "x");
  ASSERT_FALSE(through);
  EXPECT_THAT(through.error().message, HasSubstr("not a folder"));
  EXPECT_EQ(FilesInFolder(), 1u);
}

TEST_F(WholeFile, UnwritableFolderGivesASentence) {
  ASSERT_TRUE(ReplaceFileContents(folder_ / "a.txt", "old"));
  fs::permissions(folder_, fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read | fs::perms::others_exec);
  const bool root = geteuid() == 0;  // who may write everywhere; be nobody for the moment
  if (root) {
    ASSERT_EQ(seteuid(65534), 0);
  }
  const auto written = ReplaceFileContents(folder_ / "a.txt", "x");
  const auto made = ReplaceFileContents(folder_ / "b.txt", "x");
  if (root) {
    ASSERT_EQ(seteuid(0), 0);
  }
  ASSERT_FALSE(written || made);
  EXPECT_EQ(written.error().code, ErrorCode::kCannotWrite);
  EXPECT_THAT(written.error().message, HasSubstr("permission"));
  EXPECT_EQ(*ReadFileContents(folder_ / "a.txt"), "old");
}

TEST_F(WholeFile, FullDeviceGivesASentence) {
  if (!fs::exists("/dev/full")) GTEST_SKIP() << "no /dev/full here";
  const auto written = ReplaceFileContents("/dev/full", "x");
  ASSERT_FALSE(written);
  EXPECT_THAT(written.error().message, HasSubstr("disk is full"));
}

// A write that fails half way (here at the limit of file size) leaves the old file and no other.
TEST_F(WholeFile, FailureHalfWayKeepsTheOldFile) {
  const fs::path file = folder_ / "a.txt";
  ASSERT_TRUE(ReplaceFileContents(file, "old"));
  std::signal(SIGXFSZ, SIG_IGN);
  rlimit before{};
  getrlimit(RLIMIT_FSIZE, &before);
  rlimit small = before;
  small.rlim_cur = 4096;
  ASSERT_EQ(setrlimit(RLIMIT_FSIZE, &small), 0);
  const auto written = ReplaceFileContents(file, std::string(100000, 'n'));
  setrlimit(RLIMIT_FSIZE, &before);
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::kCannotWrite);
  EXPECT_EQ(*ReadFileContents(file), "old");
  EXPECT_EQ(FilesInFolder(), 1u);
}

TEST_F(WholeFile, ReadingWhatIsNoFile) {
  EXPECT_THAT(ReadFileContents(folder_ / "absent").error().message, HasSubstr("does not exist"));
  EXPECT_THAT(ReadFileContents(folder_).error().message, HasSubstr("folder"));
  ASSERT_TRUE(ReplaceFileContents(folder_ / "a.txt", std::string(1000, 'x')));
  EXPECT_THAT(ReadFileContents(folder_ / "a.txt", 10).error().message, HasSubstr("longer"));
}

}  // namespace
}  // namespace islebook
