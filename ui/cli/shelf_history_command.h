#pragma once
// islebook shelf diff, revert, merge, close, redigitize: a map's history.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct ShelfDiffArguments {
  std::string from;  // a map file, NAME, NAME@REVISION or NAME@BRANCH
  std::string to;    // likewise; empty: `from` against the revision before it
  ChartFileArguments charts;
};

struct ShelfRevertArguments {
  std::string spec;  // NAME@REVISION to go back to
  std::string message;
  std::string author;
};

struct ShelfMergeArguments {
  std::string name;
  std::string branch;               // to be merged
  std::string into;                 // empty: the main line
  std::vector<std::string> choose;  // "2=theirs"
  std::string rest;                 // "ours", "theirs" or empty
  bool dry_run = false;             // only show
  bool keep_branch = false;         // do not close the branch
  std::string message;
  std::string author;
};

struct ShelfCloseArguments {
  std::string name;
  std::string branch;
};

struct ShelfRedigitizeArguments {
  std::vector<std::string> names;                 // empty: every map on the shelf
  bool accept = false;                            // put what changed on the shelf; else only show
  std::optional<std::filesystem::path> pictures;  // a folder for a picture of each difference
  std::string author;
};

int RunShelfDiff(const ShelfDiffArguments& arguments, const CommonArguments& common);
int RunShelfRevert(const ShelfRevertArguments& arguments, const CommonArguments& common);
int RunShelfMerge(const ShelfMergeArguments& arguments, const CommonArguments& common);
int RunShelfClose(const ShelfCloseArguments& arguments, const CommonArguments& common);
int RunShelfRedigitize(const ShelfRedigitizeArguments& arguments, const CommonArguments& common);

}  // namespace islebook
