#include "tests/mapstore/parcel/parcel_test_support.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/parcel/parcel_index.h"
#include "mapstore/shelf/revision.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook::parcel_test {
namespace {

void Little(std::string& out, std::uint64_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out += static_cast<char>(value >> (8 * i));
}

// ISO 3309, as ZIP uses it.
std::uint32_t Crc32(const std::string& bytes) {
  std::uint32_t crc = 0xFFFFFFFF;
  for (const char c : bytes) {
    crc ^= static_cast<unsigned char>(c);
    for (int i = 0; i < 8; ++i) crc = crc >> 1 ^ (crc & 1 ? 0xEDB88320u : 0u);
  }
  return ~crc;
}

}  // namespace

Files SoundParcel(int revisions) {
  Files files;
  RevisionRecord record;
  for (int i = 0; i < revisions; ++i) {
    const std::string document = *CanonicalJson(shelf_test::Document("Alder 52", 90000 + i));
    if (i > 0) record.parents = {record.id};
    record.document_sha256 = Sha256Hex(document);
    record.author = "Ines";
    record.time = fmt::format("2025-03-14T09:26:{:02}Z", i % 60);
    record.message = fmt::format("revision {}", i + 1);
    record.id = RevisionId(record);
    files["data/documents/" + record.document_sha256 + ".map.json"] = document;
    files["data/revisions/" + record.id + ".json"] = RevisionRecordJson(record);
  }
  files["data/parcel.json"] = WriteParcelIndex({false, {{"Alder 52", record.id, {}}}});
  const std::string sheet = "the sheet's bytes";
  files["data/sheets/" + Sha256Hex(sheet) + ".bin"] = sheet;
  return files;
}

Files AsBag(Files files) {
  std::map<std::string, BagFile> payload, tags;
  std::int64_t bytes = 0;
  for (const auto& [path, content] : files) {
    if (!path.starts_with("data/")) continue;
    payload[path] = {Sha256Hex(content), static_cast<std::int64_t>(content.size())};
    bytes += static_cast<std::int64_t>(content.size());
  }
  files.try_emplace("bagit.txt", BagDeclaration());
  files.try_emplace("bag-info.txt", BagInfoText({{"Payload-Oxum", fmt::format("{}.{}", bytes, payload.size())}}));
  files.try_emplace("manifest-sha256.txt", ManifestText(payload));
  for (const auto& [path, content] : files)
    if (!path.starts_with("data/") && path != "tagmanifest-sha256.txt") tags[path] = {Sha256Hex(content), 0};
  files.try_emplace("tagmanifest-sha256.txt", ManifestText(tags));
  return files;
}

std::string Zipped(const Files& files, const std::string& base) {
  std::vector<ZipItem> items;
  for (const auto& [path, content] : files)
    items.push_back({base + "/" + path, static_cast<std::int64_t>(content.size()), [&content]() -> Result<std::string> { return content; }, true});
  const Result<std::string> bytes = ZipBytes(items);
  EXPECT_TRUE(bytes) << (bytes ? "" : bytes.error().message);
  return bytes.value_or("");
}

// After the ZIP application note (APPNOTE 6.3): local headers with content, the central directory, its end.
std::string RawZip(const std::vector<RawEntry>& entries) {
  std::string zip, directory;
  for (const RawEntry& entry : entries) {
    const std::uint64_t offset = zip.size();
    const std::uint64_t size = entry.claimed_size < 0 ? entry.bytes.size() : static_cast<std::uint64_t>(entry.claimed_size);
    std::string common;  // from "version needed" to the extra field's length
    Little(common, 20, 2);
    Little(common, entry.flags, 2);
    Little(common, entry.method, 2);
    Little(common, 0, 2);
    Little(common, 33, 2);
    Little(common, Crc32(entry.bytes), 4);
    Little(common, entry.bytes.size(), 4);
    Little(common, size, 4);
    Little(common, entry.name.size(), 2);
    Little(common, 0, 2);
    zip += "PK\3\4" + common + entry.name + entry.bytes;
    directory += "PK\1\2";
    Little(directory, 3 << 8 | 20, 2);  // made on Unix
    directory += common;
    Little(directory, 0, 2);  // comment
    Little(directory, 0, 2);  // disk
    Little(directory, 0, 2);  // internal attributes
    Little(directory, entry.attributes, 4);
    Little(directory, offset, 4);
    directory += entry.name;
  }
  const std::uint64_t start = zip.size(), count = entries.size();
  zip += directory;
  if (count >= 0xFFFF) {  // ZIP64
    const std::uint64_t record = zip.size();
    zip += "PK\6\6";
    Little(zip, 44, 8);
    Little(zip, 45, 2);
    Little(zip, 45, 2);
    Little(zip, 0, 4);
    Little(zip, 0, 4);
    Little(zip, count, 8);
    Little(zip, count, 8);
    Little(zip, directory.size(), 8);
    Little(zip, start, 8);
    zip += "PK\6\7";
    Little(zip, 0, 4);
    Little(zip, record, 8);
    Little(zip, 1, 4);
  }
  zip += "PK\5\6";
  Little(zip, 0, 2);
  Little(zip, 0, 2);
  Little(zip, std::min<std::uint64_t>(count, 0xFFFF), 2);
  Little(zip, std::min<std::uint64_t>(count, 0xFFFF), 2);
  Little(zip, directory.size(), 4);
  Little(zip, start, 4);
  Little(zip, 0, 2);
  return zip;
}

std::vector<RawEntry> RawEntries(const Files& files, const std::string& base) {
  std::vector<RawEntry> entries;
  for (const auto& [path, content] : files) entries.push_back({base + "/" + path, content});
  return entries;
}

std::string Bytes(const PackedParcel& packed) {
  const Result<std::string> bytes = ZipBytes(packed.items);
  EXPECT_TRUE(bytes) << (bytes ? "" : bytes.error().message);
  return bytes.value_or("");
}

}  // namespace islebook::parcel_test
