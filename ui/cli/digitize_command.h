#pragma once
// islebook digitize: pictures in, map documents out.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct DigitizeArguments {
  std::vector<std::filesystem::path> sheets;
  std::filesystem::path out;
  std::string kind;  // "compressor", "turbine" or empty: look and see
  std::optional<std::filesystem::path> recipe;
  int jobs = 0;                                 // sheets worked on at a time; 0: as many as there are processors
  std::optional<int> page;                      // of a PDF or a multi-page TIFF, from 1
  bool proof = false;                           // also STEM.proof.png
  std::optional<std::filesystem::path> stages;  // folder for one picture a stage
};

int RunDigitize(const DigitizeArguments& arguments, const CommonArguments& common);

}  // namespace islebook
