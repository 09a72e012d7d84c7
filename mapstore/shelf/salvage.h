#pragma once
// What can be saved of a damaged shelf, into a new one.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

struct SalvageReport {
  std::int64_t maps = 0;
  std::int64_t revisions = 0;            // saved as they were, with their ids
  std::int64_t rewritten_revisions = 0;  // whose history has a gap: saved with what is left before them, under a new id
  std::int64_t lost_revisions = 0;       // known to have been there
  std::int64_t sheets = 0;
  std::int64_t lost_sheets = 0;     // that saved documents name and that were there, or that no longer are what their hash says
  std::vector<std::string> losses;  // one sentence for each thing that is lost or rewritten
};

// Reads whatever can be read of `damaged`, which is left as it is, and puts what its hash vouches for into `to`, which must not be there yet. Nothing doubtful is
// taken over. kShelfDamaged: not even the table of contents can be read; kShelfUnavailable: not a shelf; kCannotWrite; kCancelled, and `to` is not made.
Result<SalvageReport> SalvageSqliteShelf(const std::filesystem::path& damaged, const std::filesystem::path& to,
                                         const std::function<bool(double)>& progress = {});

}  // namespace islebook
