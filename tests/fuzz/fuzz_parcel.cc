// A parcel from strange hands, in two ways. As bytes of a ZIP; and, as hashes would stop nearly every change there, as files ("PATH\n" and content, parted by lines of
// "----"), of which a bag with right manifests is made. Whatever it is: an error with words, or a parcel whose every promise holds and which a shelf takes whole.
#include <filesystem>
#include <memory>

#include <unistd.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/parcel/parcel.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/parcel/parcel_test_support.h"

namespace {

using namespace islebook;

constexpr std::string_view kParting = "\n----\n";

std::string AsText(const parcel_test::Files& files) {
  std::string text;
  for (const auto& [path, content] : files) text += (text.empty() ? "" : std::string(kParting)) + path + "\n" + content;
  return text;
}

parcel_test::Files AsFiles(std::string_view text) {
  parcel_test::Files files;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(kParting), text.size());
    const std::string_view one = text.substr(0, end);
    const std::size_t line = std::min(one.find('\n'), one.size());
    const std::string path(one.substr(0, line));
    if (!path.empty() && WrongWithPath(path).empty() && files.size() < 100) files[path] = std::string(one.substr(std::min(line + 1, one.size())));
    text.remove_prefix(std::min(end + kParting.size(), text.size()));
  }
  return files;
}

const std::filesystem::path& ShelfFile() {
  static const std::filesystem::path file = [] {
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / ("islebook-fuzz-parcel-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder);
    return folder / "shelf.db";
  }();
  return file;
}

void TryShelf(const Parcel& parcel) {
  static std::unique_ptr<Shelf> shelf = [] {
    std::error_code error;
    std::filesystem::remove_all(ShelfFile().parent_path(), error);
    return std::move(*OpenSqliteShelf(ShelfFile(), {.access = ShelfAccess::kCreate}));
  }();
  const auto received = UnpackParcel(parcel, *shelf, BranchFor(parcel, std::nullopt));
  if (!received) {
    FUZZ_CHECK(!received.error().message.empty());
    return;
  }
  FUZZ_CHECK(received->size() == parcel.Maps().size());
  const auto again = UnpackParcel(parcel, *shelf, BranchFor(parcel, std::nullopt));
  FUZZ_CHECK(again);
  for (const ReceivedMap& map : *again) FUZZ_CHECK(map.new_revisions == 0 && map.as != ReceivedAs::kNewMap && map.as != ReceivedAs::kForward);
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  const parcel_test::Files sound = parcel_test::SoundParcel(2);
  parcel_test::Files is_signed = parcel_test::AsBag(sound);
  std::map<std::string, BagFile> tags;
  for (const auto& [path, content] : is_signed)
    if (!path.starts_with("data/")) tags[path] = {Sha256Hex(content), 0};
  parcel_test::Files with_signature = sound;
  with_signature[kSignatureFile] = SignTags(*SigningKeyFromSeed(std::string(64, '7'), "Tarnside Engine Works"), tags);
  return {AsText(sound), AsText(with_signature), parcel_test::ZippedBag(sound),
          parcel_test::RawZip(parcel_test::RawEntries(parcel_test::AsBag(sound)))};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string bytes(reinterpret_cast<const char*>(data), size);
  if (!bytes.starts_with("PK")) {
    const parcel_test::Files files = AsFiles(bytes);
    if (files.empty()) return 0;
    // Two paths may contradict each other ("a" and "a/b"); the reader refuses those.
    bytes = parcel_test::ZippedBag(files);
  }
  const ZipLimits limits{.max_entries = 1000, .max_entry_bytes = 4 << 20, .max_total_bytes = 8 << 20};
  const Result<Parcel> parcel = Parcel::OpenBytes(std::move(bytes), {.limits = limits});
  if (!parcel) {
    FUZZ_CHECK(!parcel.error().message.empty());
    return 0;
  }
  FUZZ_CHECK(!parcel->Maps().empty());
  for (const ParcelMap& map : parcel->Maps()) {
    FUZZ_CHECK(!map.history.empty() && map.history.back().id == map.head);
    for (const RevisionRecord& record : map.history) FUZZ_CHECK(Sha256Hex(*parcel->Document(record.document_sha256)) == record.document_sha256);
  }
  for (const auto& [sha256, path] : parcel->Sheets()) FUZZ_CHECK(Sha256Hex(*parcel->Sheet(sha256)) == sha256);
  TryShelf(*parcel);
  return 0;
}
