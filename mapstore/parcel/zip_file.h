#pragma once
// ZIP archives from strangers, read with care, and our own, written so that the same content has the same bytes. Nothing is ever unpacked to a disk.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

// What an archive may be at most. Beyond it nothing is read: kParcelRefused.
struct ZipLimits {
  std::int64_t max_entries = 300'000;
  std::int64_t max_entry_bytes = std::int64_t{1} << 30;  // unpacked
  std::int64_t max_total_bytes = std::int64_t{8} << 30;  // unpacked, all together
  std::int64_t max_ratio = 200;                          // unpacked to packed, of entries above `free_bytes`
  std::int64_t free_bytes = std::int64_t{8} << 20;
};

struct ZipEntry {
  std::string path;  // as in the archive, "/" between folders; safe: relative, no "..", no control characters
  std::int64_t size = 0;
};

// kParcelDamaged: no archive, truncated, contradicting itself; kParcelRefused: paths that lead out, links and devices, a name twice, encryption,
// sizes beyond the limits or of a bomb.
class ZipReader {
 public:
  static Result<ZipReader> Open(const std::filesystem::path& file, const ZipLimits& limits = {});
  static Result<ZipReader> OpenBytes(std::string bytes, const ZipLimits& limits = {});
  ZipReader(ZipReader&&) noexcept;
  ZipReader& operator=(ZipReader&&) noexcept;
  ~ZipReader();

  const std::vector<ZipEntry>& Entries() const;  // files only, sorted by path
  const ZipEntry* Find(const std::string& path) const;

  // The whole of one entry, checked against its checksum. kNotFound; kParcelRefused above `max_bytes`.
  Result<std::string> Read(const std::string& path, std::int64_t max_bytes) const;
  // The same without keeping it: 64 hex digits.
  Result<std::string> Sha256(const std::string& path) const;

 private:
  struct Archive;
  explicit ZipReader(std::unique_ptr<Archive> archive);
  static Result<ZipReader> Take(std::unique_ptr<Archive> archive, const ZipLimits& limits);
  Result<void> Stream(const std::string& path, const std::function<void(const char*, std::size_t)>& take) const;
  std::unique_ptr<Archive> archive_;
};

struct ZipItem {
  std::string path;
  std::int64_t size = 0;                       // of what `read` gives
  std::function<Result<std::string>()> bytes;  // called once while writing
  bool compress = true;
};

// Items in the order given, no times, no owners: the same items make the same bytes. The file appears whole or not at all. kCannotWrite, or the item's own error.
Result<void> WriteZip(const std::filesystem::path& file, const std::vector<ZipItem>& items);
Result<std::string> ZipBytes(const std::vector<ZipItem>& items);

// Why a path is not fit for an archive; empty if it is.
std::string WrongWithPath(std::string_view path);

}  // namespace islebook
