#pragma once
// Parcels as strangers may make them: bags whose manifests are right whatever is in them, and ZIP files with anything in their headers.

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "mapstore/parcel/parcel.h"

namespace islebook::parcel_test {

using Files = std::map<std::string, std::string>;  // path in the bag to bytes

// The files of a sound parcel: one map, `revisions` revisions, its sheet.
Files SoundParcel(int revisions = 2);

// data/ files with manifests, declaration and info made for them; files of those names that are given stand as they are.
Files AsBag(Files files);
std::string Zipped(const Files& files, const std::string& base = "maps-parcel");
inline std::string ZippedBag(const Files& files) { return Zipped(AsBag(files)); }

// A ZIP file written byte by byte, stored or with whatever method, sizes and attributes are claimed.
struct RawEntry {
  std::string name;
  std::string bytes;
  std::uint32_t attributes = 0100644u << 16;  // external, of Unix
  std::uint16_t flags = 0;
  std::uint16_t method = 0;
  std::int64_t claimed_size = -1;  // unpacked; -1: as it is
};
std::string RawZip(const std::vector<RawEntry>& entries);
std::vector<RawEntry> RawEntries(const Files& files, const std::string& base = "maps-parcel");

// The packed parcel as bytes.
std::string Bytes(const PackedParcel& packed);

}  // namespace islebook::parcel_test
