#pragma once
// islebook serve: the query service.

#include <filesystem>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct ServeArguments {
  std::vector<std::string> maps;  // map documents; the shelf's maps are served beside them
  std::string address = "127.0.0.1";
  int port = 8352;                                  // 0: any that is free
  std::optional<std::filesystem::path> token_file;  // else $ISLEBOOK_TOKEN
};

// Serves until it is stopped: kExitInterrupted after an interrupt from the keyboard, kExitDone after SIGTERM.
int RunServe(const ServeArguments& arguments, const CommonArguments& common);

}  // namespace islebook
