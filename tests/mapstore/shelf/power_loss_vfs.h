#pragma once
// A file system that loses power: it stands between SQLite and the real one, remembers what was written since each file was last synced, and at a chosen
// operation the power goes. What then lies on the disk is what was synced, plus whatever part of the rest a disk may have got to, in any order, torn at sectors.
// Method: the crash tests described at sqlite.org/atomiccommit.html and sqlite.org/testing.html (section 3.3).

#include <cstdint>
#include <filesystem>
#include <random>

namespace islebook::shelf_test {

class PowerLoss {
 public:
  // From now on every database opened by this process goes through here, until destruction. One at a time.
  PowerLoss();
  ~PowerLoss();
  PowerLoss(const PowerLoss&) = delete;
  PowerLoss& operator=(const PowerLoss&) = delete;

  // The power goes before operation number `operation` (writes, truncations, syncs, deletions, counted from 0); later ones fail.
  // `disk_lies`: syncs are acknowledged and not done, which no program survives.
  void Arm(std::int64_t operation, bool disk_lies = false);
  std::int64_t Operations() const;  // so far
  bool IsDark() const;              // the power has gone

  // Writes what is on the disk into `folder`, under the files' own names.
  void WriteDisk(const std::filesystem::path& folder, std::mt19937& random) const;
};

}  // namespace islebook::shelf_test
