#include "tests/mapstore/shelf/power_loss_vfs.h"

#include <algorithm>
#include <cstring>
#include <fstream>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include <sqlite3.h>

namespace islebook::shelf_test {
namespace {

struct Change {
  std::int64_t at = 0;
  std::string bytes;
  bool truncates = false;
};

struct DiskFile {
  std::string synced;
  std::vector<Change> since;
};

struct Disk {
  std::map<std::string, DiskFile> files;
  std::int64_t operations = 0;
  std::int64_t dark_at = -1;
  bool dark = false;
  bool lies = false;
};

Disk g_disk;
sqlite3_vfs* g_real = nullptr;

// True: the power is still on.
bool Operate() {
  if (g_disk.dark || g_disk.operations == g_disk.dark_at) {
    g_disk.dark = true;
    return false;
  }
  ++g_disk.operations;
  return true;
}

void Apply(std::string& image, const Change& change) {
  const auto at = static_cast<std::size_t>(change.at);
  if (change.truncates) {
    if (image.size() > at) image.resize(at);
    return;
  }
  if (image.size() < at + change.bytes.size()) image.resize(at + change.bytes.size(), '\0');
  std::memcpy(image.data() + at, change.bytes.data(), change.bytes.size());
}

struct ShimFile {
  sqlite3_file base;
  DiskFile* disk = nullptr;  // null: not kept (shared memory and temporary files)
  sqlite3_file* Real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

ShimFile* Shim(sqlite3_file* file) { return reinterpret_cast<ShimFile*>(file); }
sqlite3_file* Real(sqlite3_file* file) { return Shim(file)->Real(); }

int Close(sqlite3_file* file) { return Real(file)->pMethods->xClose(Real(file)); }
int Read(sqlite3_file* file, void* to, int size, sqlite3_int64 at) { return Real(file)->pMethods->xRead(Real(file), to, size, at); }
int Write(sqlite3_file* file, const void* from, int size, sqlite3_int64 at) {
  if (Shim(file)->disk != nullptr) {
    if (!Operate()) return SQLITE_IOERR_WRITE;
    Shim(file)->disk->since.push_back({at, std::string(static_cast<const char*>(from), static_cast<std::size_t>(size)), false});
  }
  return Real(file)->pMethods->xWrite(Real(file), from, size, at);
}
int Truncate(sqlite3_file* file, sqlite3_int64 size) {
  if (Shim(file)->disk != nullptr) {
    if (!Operate()) return SQLITE_IOERR_TRUNCATE;
    Shim(file)->disk->since.push_back({size, "", true});
  }
  return Real(file)->pMethods->xTruncate(Real(file), size);
}
int Sync(sqlite3_file* file, int) {
  DiskFile* disk = Shim(file)->disk;
  if (disk == nullptr) return SQLITE_OK;
  if (!Operate()) return SQLITE_IOERR_FSYNC;
  if (g_disk.lies) return SQLITE_OK;
  for (const Change& change : disk->since) Apply(disk->synced, change);
  disk->since.clear();
  return SQLITE_OK;  // the real disk need not be waited for
}
int FileSize(sqlite3_file* file, sqlite3_int64* size) { return Real(file)->pMethods->xFileSize(Real(file), size); }
int Lock(sqlite3_file* file, int level) { return Real(file)->pMethods->xLock(Real(file), level); }
int Unlock(sqlite3_file* file, int level) { return Real(file)->pMethods->xUnlock(Real(file), level); }
int CheckReservedLock(sqlite3_file* file, int* out) { return Real(file)->pMethods->xCheckReservedLock(Real(file), out); }
int FileControl(sqlite3_file* file, int what, void* argument) { return Real(file)->pMethods->xFileControl(Real(file), what, argument); }
int SectorSize(sqlite3_file* file) { return Real(file)->pMethods->xSectorSize(Real(file)); }
int DeviceCharacteristics(sqlite3_file* file) { return Real(file)->pMethods->xDeviceCharacteristics(Real(file)); }
int ShmMap(sqlite3_file* file, int page, int size, int extend, void volatile** out) {
  return Real(file)->pMethods->xShmMap(Real(file), page, size, extend, out);
}
int ShmLock(sqlite3_file* file, int offset, int count, int flags) { return Real(file)->pMethods->xShmLock(Real(file), offset, count, flags); }
void ShmBarrier(sqlite3_file* file) { Real(file)->pMethods->xShmBarrier(Real(file)); }
int ShmUnmap(sqlite3_file* file, int remove) { return Real(file)->pMethods->xShmUnmap(Real(file), remove); }

const sqlite3_io_methods kMethods = {2,
                                     Close,
                                     Read,
                                     Write,
                                     Truncate,
                                     Sync,
                                     FileSize,
                                     Lock,
                                     Unlock,
                                     CheckReservedLock,
                                     FileControl,
                                     SectorSize,
                                     DeviceCharacteristics,
                                     ShmMap,
                                     ShmLock,
                                     ShmBarrier,
                                     ShmUnmap,
                                     nullptr,
                                     nullptr};

int Open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
  auto* shim = new (file) ShimFile();
  const int code = g_real->xOpen(g_real, name, shim->Real(), flags, out_flags);
  if (code != SQLITE_OK) {
    shim->base.pMethods = nullptr;
    return code;
  }
  if (name != nullptr && (flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0) shim->disk = &g_disk.files[name];
  shim->base.pMethods = &kMethods;
  return SQLITE_OK;
}

int Delete(sqlite3_vfs*, const char* name, int sync_folder) {
  if (const auto known = g_disk.files.find(name); known != g_disk.files.end()) {
    if (!Operate()) return SQLITE_IOERR_DELETE;
    known->second = {};
  }
  return g_real->xDelete(g_real, name, sync_folder);
}
int Access(sqlite3_vfs*, const char* name, int flags, int* out) { return g_real->xAccess(g_real, name, flags, out); }
int FullPathname(sqlite3_vfs*, const char* name, int size, char* out) { return g_real->xFullPathname(g_real, name, size, out); }
int Randomness(sqlite3_vfs*, int size, char* out) { return g_real->xRandomness(g_real, size, out); }
int Sleep(sqlite3_vfs*, int microseconds) { return g_real->xSleep(g_real, microseconds); }
int CurrentTime(sqlite3_vfs*, double* out) { return g_real->xCurrentTime(g_real, out); }
int GetLastError(sqlite3_vfs*, int size, char* out) { return g_real->xGetLastError(g_real, size, out); }
int CurrentTimeInt64(sqlite3_vfs*, sqlite3_int64* out) { return g_real->xCurrentTimeInt64(g_real, out); }

sqlite3_vfs g_vfs;

}  // namespace

PowerLoss::PowerLoss() {
  g_real = sqlite3_vfs_find("unix");
  g_vfs = {};
  g_vfs.iVersion = 2;
  g_vfs.szOsFile = static_cast<int>(sizeof(ShimFile)) + g_real->szOsFile;
  g_vfs.mxPathname = g_real->mxPathname;
  g_vfs.zName = "power-loss";
  g_vfs.xOpen = Open;
  g_vfs.xDelete = Delete;
  g_vfs.xAccess = Access;
  g_vfs.xFullPathname = FullPathname;
  g_vfs.xRandomness = Randomness;
  g_vfs.xSleep = Sleep;
  g_vfs.xCurrentTime = CurrentTime;
  g_vfs.xGetLastError = GetLastError;
  g_vfs.xCurrentTimeInt64 = CurrentTimeInt64;
  sqlite3_vfs_register(&g_vfs, 1);
  g_disk = {};
}

PowerLoss::~PowerLoss() {
  sqlite3_vfs_register(g_real, 1);
  sqlite3_vfs_unregister(&g_vfs);
}

void PowerLoss::Arm(std::int64_t operation, bool disk_lies) {
  g_disk = {};
  g_disk.dark_at = operation;
  g_disk.lies = disk_lies;
}

std::int64_t PowerLoss::Operations() const { return g_disk.operations; }
bool PowerLoss::IsDark() const { return g_disk.dark; }

void PowerLoss::WriteDisk(const std::filesystem::path& folder, std::mt19937& random) const {
  constexpr std::size_t kSector = 512;
  for (const auto& [name, file] : g_disk.files) {
    std::string image = file.synced;
    // Nothing, everything, or each sector by itself: the three ways in which disks have been seen to fail.
    const unsigned way = random() % 3;
    std::vector<Change> kept;
    for (const Change& change : file.since) {
      if (way == 0) continue;
      if (way == 1 || change.truncates) {
        if (way == 1 || random() % 2 == 0) kept.push_back(change);
        continue;
      }
      for (std::size_t from = 0; from < change.bytes.size();) {
        const std::size_t to_boundary = kSector - (static_cast<std::size_t>(change.at) + from) % kSector;
        const std::size_t length = std::min(to_boundary, change.bytes.size() - from);
        if (random() % 2 == 0) kept.push_back({change.at + static_cast<std::int64_t>(from), change.bytes.substr(from, length), false});
        from += length;
      }
    }
    if (way == 2) std::shuffle(kept.begin(), kept.end(), random);
    for (const Change& change : kept) Apply(image, change);
    if (image.empty() && random() % 2 == 0) continue;  // the folder's entry may be missing, too
    std::ofstream out(folder / std::filesystem::path(name).filename(), std::ios::binary);
    out << image;
  }
}

}  // namespace islebook::shelf_test
