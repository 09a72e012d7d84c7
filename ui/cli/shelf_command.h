#pragma once
// islebook shelf: maps into the library, and what the library holds.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct ShelfAddArguments {
  std::vector<std::filesystem::path> files;    // map documents
  std::string name;                            // of the one map; empty: the file's name without its ending
  std::optional<std::filesystem::path> sheet;  // the picture that the one map was made from, to be kept too
  std::string message;
  std::string author;  // empty: the user's name
  std::string branch;  // empty: the main line
};

struct ShelfListArguments {};

struct ShelfExampleArguments {
  std::string author;  // empty: the user's name
};

struct ShelfShowArguments {
  std::string spec;                               // NAME or NAME@REVISION
  std::optional<std::filesystem::path> document;  // also write the map document to this file
  std::optional<std::filesystem::path> sheet;     // also write the sheet to this file
};

struct ShelfLogArguments {
  std::string name;
};

struct ShelfVerifyArguments {};

int RunShelfAdd(const ShelfAddArguments& arguments, const CommonArguments& common);
int RunShelfList(const ShelfListArguments& arguments, const CommonArguments& common);
// The invented maps that come with the program, digitized and put on the shelf.
int RunShelfExample(const ShelfExampleArguments& arguments, const CommonArguments& common);
int RunShelfShow(const ShelfShowArguments& arguments, const CommonArguments& common);
int RunShelfLog(const ShelfLogArguments& arguments, const CommonArguments& common);
int RunShelfVerify(const ShelfVerifyArguments& arguments, const CommonArguments& common);

}  // namespace islebook
