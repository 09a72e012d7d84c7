#pragma once
// Reads a bench case file (TOML; CASE_FILE.md).

#include <filesystem>
#include <string>
#include <string_view>

#include "mapstore/bench/bench_case.h"
#include "mapstore/units/error.h"

namespace islebook {

// kBadCase with the file and line as place and a sentence that names the key and says what to write instead; `file` is used in messages only.
Result<BenchCase> ParseCase(std::string_view text, const std::string& file);
Result<BenchCase> ReadCaseFile(const std::filesystem::path& file);

}  // namespace islebook
