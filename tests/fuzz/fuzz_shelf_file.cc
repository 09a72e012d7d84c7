// A shelf's file with any bytes altered: read, searched, verified, saved from. Nothing crashes, nothing altered is ever given out as sound, and what salvage makes is sound.
//
// The input is a list of changes to a sound shelf: three bytes of place (modulo the file's size), a byte of length, then so many bytes; a length of 0 cuts the file there.
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include <unistd.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/revision.h"
#include "mapstore/shelf/salvage.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/fuzz/fuzz_target.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace {

using namespace islebook;

const std::filesystem::path& Folder() {
  static const std::filesystem::path folder = [] {
    std::error_code error;
    const std::filesystem::path memory = "/dev/shm";
    std::string pattern =
        ((std::filesystem::is_directory(memory, error) ? memory : std::filesystem::temp_directory_path()) / "fuzz-shelf-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) std::abort();
    std::atexit([] {
      std::error_code ignored;
      std::filesystem::remove_all(Folder(), ignored);
    });
    return std::filesystem::path(pattern);
  }();
  return folder;
}

struct Sound {
  std::string bytes;
  std::set<std::string> ids;
};

const Sound& SoundShelf() {
  static const Sound sound = [] {
    Sound made;
    const std::filesystem::path file = Folder() / "sound.db";
    {
      auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
      FUZZ_CHECK(shelf);
      PerformanceMap map = InventCompressor(2, {.lines = 3, .points = 6}).map;
      for (int i = 0; i < 4; ++i) {
        NewRevision revision;
        revision.name = i < 3 ? "Alder 52" : "Rowan 83";
        map.title = "state " + std::to_string(i);
        revision.document = WriteMapDocument(map);
        revision.author = "Ines";
        revision.time = "2025-03-14T09:26:53Z";
        if (i == 2) revision.branch = "by eye";
        const auto added = (*shelf)->AddRevision(revision);
        FUZZ_CHECK(added);
        made.ids.insert(added->revision.id);
      }
      FUZZ_CHECK((*shelf)->AddSheet("the sheet's bytes"));
      FUZZ_CHECK((*shelf)->SetTag("Alder 52", "ferry", true, "Ines"));
      FUZZ_CHECK((*shelf)->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 52.0, 71.0, {}, {}, {}}, "Ines"));
    }
    std::ifstream stream(file, std::ios::binary);
    made.bytes.assign(std::istreambuf_iterator<char>(stream), {});
    return made;
  }();
  return sound;
}

// Only what its hash vouches for comes out.
void CheckShown(const Result<ShownRevision>& shown) {
  if (!shown) return;
  FUZZ_CHECK(Sha256Hex(shown->document) == shown->revision.document_sha256);
}

void Use(Shelf& shelf) {
  if (const auto list = shelf.List()) {
    for (const ShelfEntry& entry : *list) {
      CheckShown(shelf.Show(entry.name));
      (void)shelf.Log(entry.name);
      (void)shelf.Branches(entry.name);
      (void)shelf.Facts(entry.name);
    }
  }
  for (const std::string& id : SoundShelf().ids) CheckShown(shelf.ShowRevision(id));
  if (const auto sheets = shelf.Sheets())
    for (const StoredSheet& sheet : *sheets)
      if (const auto bytes = shelf.Sheet(sheet.sha256)) FUZZ_CHECK(Sha256Hex(*bytes) == sheet.sha256);
  (void)shelf.Find({.words = "alder"});
  (void)shelf.Find({.tags = {"ferry"}, .inducer_min_mm = 50});
  (void)shelf.ReachAt(0.2, 2.0, 0.0, 0.0, [](const ReachHit&) { return true; });
  const auto report = shelf.Verify({});
  if (!report || !report->problems.empty()) return;
  // A shelf that verifies holds records that are what their ids say.
  if (const auto list = shelf.List()) {
    for (const ShelfEntry& entry : *list) {
      const auto log = shelf.Log(entry.name);
      FUZZ_CHECK(log);
      for (const RevisionRecord& record : *log) FUZZ_CHECK(RevisionId(record) == record.id);
      FUZZ_CHECK(shelf.Show(entry.name));
    }
  }
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  using namespace std::string_literals;
  return {"\x00\x00\x10\x04\xff\xff\xff\xff"s, "\x00\x10\x00\x08\x0d\x00\x00\x00\x05\x00\x00\x00"s, "\x01\x20\x00\x02zz\x00\x90\x05\x01\x00"s,
          "\x01\x00\x00\x00"s, "\x00\x00\x12\x02\x01\x01"s};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string bytes = SoundShelf().bytes;
  for (std::size_t at = 0; at + 4 <= size && !bytes.empty();) {
    const std::size_t place = ((std::size_t{data[at]} << 16) | (std::size_t{data[at + 1]} << 8) | data[at + 2]) % bytes.size();
    const std::size_t length = data[at + 3];
    at += 4;
    if (length == 0) bytes.resize(place);
    for (std::size_t i = 0; i < length && at < size && place + i < bytes.size(); ++i) bytes[place + i] = static_cast<char>(data[at++]);
  }
  const std::filesystem::path file = Folder() / "altered.db", saved = Folder() / "saved.db";
  for (const char* ending : {"", "-wal", "-shm", "-journal"}) {
    std::error_code ignored;
    std::filesystem::remove(file.string() + ending, ignored);
    std::filesystem::remove(saved.string() + ending, ignored);
  }
  {
    std::ofstream stream(file, std::ios::binary);
    stream << bytes;
  }
  if (auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kRead, .busy_timeout = std::chrono::milliseconds(0)})) Use(**shelf);
  if (size % 8 == 0) {
    if (SalvageSqliteShelf(file, saved)) {
      auto shelf = OpenSqliteShelf(saved, {.access = ShelfAccess::kRead});
      FUZZ_CHECK(shelf);
      const auto report = (*shelf)->Verify({});
      FUZZ_CHECK(report && report->problems.empty());
    }
  }
  return 0;
}
