#pragma once
// islebook shelf tag, note, wheel, remove, restore: what is known about a map besides its document.

#include <optional>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct ShelfTagArguments {
  std::string name;
  std::vector<std::string> tags;  // to put on; none: show what is there
  std::vector<std::string> off;   // to take off
  std::string author;             // empty: the user's name
};

struct ShelfNoteArguments {
  std::string spec;  // NAME, or NAME@REVISION where the note is about that one
  std::string text;  // empty: show what is there
  std::string author;
};

struct ShelfWheelArguments {
  std::string name;
  std::optional<std::string> maker, model;      // what is not given stays as it is
  std::optional<std::string> inducer, exducer;  // in mm, or with their own unit
  std::optional<std::string> speed_limit;       // in rpm, or with its own unit
  std::optional<double> trim, turbine_area_ratio;
  bool forget = false;  // begin with nothing known
  std::string author;
};

struct ShelfRemoveArguments {
  std::vector<std::string> names;
  std::string message;
  std::string author;
};

struct ShelfRestoreArguments {
  std::vector<std::string> names;
  std::string author;
};

int RunShelfTag(const ShelfTagArguments& arguments, const CommonArguments& common);
int RunShelfNote(const ShelfNoteArguments& arguments, const CommonArguments& common);
int RunShelfWheel(const ShelfWheelArguments& arguments, const CommonArguments& common);
int RunShelfRemove(const ShelfRemoveArguments& arguments, const CommonArguments& common);
int RunShelfRestore(const ShelfRestoreArguments& arguments, const CommonArguments& common);

}  // namespace islebook
