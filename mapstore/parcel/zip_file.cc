#include "mapstore/parcel/zip_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <optional>
#include <set>
#include <system_error>
#include <unordered_map>

#include <fmt/format.h>
#include <sodium.h>
#include <sys/stat.h>
#include <zip.h>

#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

constexpr std::size_t kEndRecord = 22;  // bytes of "end of central directory" without its comment
constexpr std::size_t kLongestComment = 65535;

std::unexpected<Error> Damaged(std::string why, std::string place) { return Fail(ErrorCode::kParcelDamaged, std::move(why), std::move(place)); }
std::unexpected<Error> Refused(std::string why, std::string place) { return Fail(ErrorCode::kParcelRefused, std::move(why), std::move(place)); }

std::uint64_t Little(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = count; i > 0; --i) value = value << 8 | static_cast<unsigned char>(bytes[at + i - 1]);
  return value;
}

// A path as it may be shown: cut short, only printing characters.
std::string Shown(std::string_view path) {
  std::string shown;
  for (const char c : ValidUtf8(path.substr(0, 120))) shown += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? '?' : c;
  return shown;
}

// Where an archive's bytes come from, for the look at its end before libzip allocates anything.
using ReadAt = std::function<std::string(std::uint64_t at, std::size_t count)>;

// The number of entries that the archive says it has; every place that could be its end is asked. Nullopt: there is no end.
std::optional<std::uint64_t> MostEntriesClaimed(const ReadAt& read_at, std::uint64_t size) {
  const std::size_t length = static_cast<std::size_t>(std::min<std::uint64_t>(size, kEndRecord + kLongestComment));
  const std::uint64_t start = size - length;
  const std::string tail = read_at(start, length);
  std::optional<std::uint64_t> most;
  for (std::size_t at = 0; at + kEndRecord <= tail.size(); ++at) {
    if (std::memcmp(tail.data() + at, "PK\5\6", 4) != 0) continue;
    const std::uint64_t directory_size = Little(tail, at + 12, 4), directory = Little(tail, at + 16, 4);
    const bool is_long = directory_size == 0xFFFFFFFF || directory == 0xFFFFFFFF || Little(tail, at + 10, 2) == 0xFFFF;
    if (!is_long && directory + directory_size > start + at) continue;
    std::uint64_t entries = Little(tail, at + 10, 2);
    if (at >= 20 && std::memcmp(tail.data() + at - 20, "PK\6\7", 4) == 0) {
      const std::uint64_t record = Little(tail, at - 12, 8);
      if (record < size && size - record >= 56) {
        const std::string found = read_at(record, 56);
        if (found.size() == 56 && std::memcmp(found.data(), "PK\6\6", 4) == 0) entries = std::max(entries, Little(found, 32, 8));
      }
    }
    most = std::max(most.value_or(0), entries);
  }
  return most;
}

// What libzip said when it would not open an archive.
std::unexpected<Error> NotOpened(int code, const std::string& words, std::string place) {
  if (code == ZIP_ER_EXISTS)
    return Refused("it holds two files of one name, so that different programs would see different content; do not trust it.", std::move(place));
  return Damaged(fmt::format("the ZIP file is damaged or not complete ({}); ask for it again.", words), std::move(place));
}

}  // namespace

std::string WrongWithPath(std::string_view path) {
  if (path.empty()) return "it is empty";
  if (path.size() > 1000) return "it is longer than 1,000 bytes";
  if (ValidUtf8(path) != path) return "it is not UTF-8 text";
  for (const char c : path) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return "it has a control character";
    if (c == '\\') return "it has a backslash";
    if (c == ':') return "it has a colon, as drives have";
  }
  if (path.front() == '/') return "it begins at the root of the disk";
  for (std::size_t from = 0; from <= path.size();) {
    const std::size_t to = std::min(path.find('/', from), path.size());
    const std::string_view part = path.substr(from, to - from);
    if (part == "..") return "it leads out of its folder";
    if (part == "." || (part.empty() && to != path.size())) return "it has an empty part";
    from = to + 1;
  }
  return "";
}

struct ZipReader::Archive {
  std::string place;  // of errors
  std::string bytes;  // where it was given as such
  zip_t* zip = nullptr;
  std::vector<ZipEntry> entries;
  std::unordered_map<std::string, std::size_t> by_path;  // into entries
  std::vector<zip_uint64_t> numbers;                     // in the archive, of entries
  ~Archive() {
    if (zip != nullptr) zip_discard(zip);
  }
};

ZipReader::ZipReader(std::unique_ptr<Archive> archive) : archive_(std::move(archive)) {}
ZipReader::ZipReader(ZipReader&&) noexcept = default;
ZipReader& ZipReader::operator=(ZipReader&&) noexcept = default;
ZipReader::~ZipReader() = default;

const std::vector<ZipEntry>& ZipReader::Entries() const { return archive_->entries; }

const ZipEntry* ZipReader::Find(const std::string& path) const {
  const auto found = archive_->by_path.find(path);
  return found == archive_->by_path.end() ? nullptr : &archive_->entries[found->second];
}

Result<ZipReader> ZipReader::Open(const std::filesystem::path& file, const ZipLimits& limits) {
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (status.type() == std::filesystem::file_type::not_found) return Fail(ErrorCode::kCannotRead, "there is no such file.", file.string());
  if (error || !std::filesystem::is_regular_file(status)) return Fail(ErrorCode::kCannotRead, "this is not a file that can be read.", file.string());
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return Fail(ErrorCode::kCannotRead, fmt::format("the file cannot be read: {}.", std::strerror(errno)), file.string());
  const std::uint64_t size = std::filesystem::file_size(file, error);
  const auto claimed = MostEntriesClaimed(
      [&stream](std::uint64_t at, std::size_t count) {
        std::string read(count, '\0');
        stream.clear();
        stream.seekg(static_cast<std::streamoff>(at));
        stream.read(read.data(), static_cast<std::streamsize>(count));
        read.resize(static_cast<std::size_t>(stream.gcount()));
        return read;
      },
      size);
  if (!claimed) return Damaged("this is not a ZIP file, or its end is missing; ask for it again.", file.string());
  if (*claimed > static_cast<std::uint64_t>(limits.max_entries))
    return Refused(
        fmt::format("it says that it holds {} files, more than the {} that are ever read; nothing was read.", *claimed, limits.max_entries),
        file.string());
  auto archive = std::make_unique<Archive>();
  archive->place = file.string();
  int code = 0;
  archive->zip = zip_open(file.c_str(), ZIP_RDONLY | ZIP_CHECKCONS, &code);
  if (archive->zip == nullptr) {
    zip_error_t why;
    zip_error_init_with_code(&why, code);
    const std::string words = zip_error_strerror(&why);
    zip_error_fini(&why);
    return NotOpened(code, words, file.string());
  }
  return Take(std::move(archive), limits);
}

Result<ZipReader> ZipReader::OpenBytes(std::string bytes, const ZipLimits& limits) {
  auto archive = std::make_unique<Archive>();
  archive->bytes = std::move(bytes);
  const std::string& held = archive->bytes;
  const auto claimed =
      MostEntriesClaimed([&held](std::uint64_t at, std::size_t count) { return held.substr(static_cast<std::size_t>(at), count); }, held.size());
  if (!claimed) return Damaged("this is not a ZIP file, or its end is missing; ask for it again.", "");
  if (*claimed > static_cast<std::uint64_t>(limits.max_entries))
    return Refused(
        fmt::format("it says that it holds {} files, more than the {} that are ever read; nothing was read.", *claimed, limits.max_entries), "");
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t* source = zip_source_buffer_create(held.data(), held.size(), 0, &why);
  if (source != nullptr) archive->zip = zip_open_from_source(source, ZIP_RDONLY | ZIP_CHECKCONS, &why);
  const std::string words = archive->zip == nullptr ? zip_error_strerror(&why) : "";
  const int code = zip_error_code_zip(&why);
  zip_error_fini(&why);
  if (archive->zip == nullptr) {
    if (source != nullptr) zip_source_free(source);
    return NotOpened(code, words, "");
  }
  return Take(std::move(archive), limits);
}

// Reads what is there and refuses what must not be, before any content is unpacked.
Result<ZipReader> ZipReader::Take(std::unique_ptr<Archive> archive, const ZipLimits& limits) {
  const zip_int64_t count = zip_get_num_entries(archive->zip, 0);
  if (count > limits.max_entries)
    return Refused(fmt::format("it holds {} files, more than the {} that are ever read; nothing was read.", count, limits.max_entries),
                   archive->place);
  std::vector<std::pair<ZipEntry, zip_uint64_t>> files;
  std::set<std::string> names;
  std::int64_t total = 0;
  for (zip_uint64_t i = 0; i < static_cast<zip_uint64_t>(count); ++i) {
    zip_stat_t stat;
    const char* name = zip_get_name(archive->zip, i, ZIP_FL_ENC_RAW);
    if (name == nullptr || zip_stat_index(archive->zip, i, ZIP_FL_ENC_RAW, &stat) != 0)
      return Damaged("a file's entry in the ZIP cannot be read; ask for it again.", archive->place);
    const std::string path = name;
    if (const std::string wrong = WrongWithPath(path); !wrong.empty())
      return Refused(fmt::format("a file in it is named \"{}\": {}. No parcel of this program is so; do not trust it.", Shown(path), wrong),
                     archive->place);
    const bool is_folder = path.back() == '/';
    if (!names.insert(is_folder ? path.substr(0, path.size() - 1) : path).second)
      return Refused(fmt::format("it holds two files named \"{}\", so that different programs would see different content.", Shown(path)),
                     archive->place);
    zip_uint8_t system = 0;
    zip_uint32_t attributes = 0;
    if (zip_file_get_external_attributes(archive->zip, i, 0, &system, &attributes) == 0 && (system == ZIP_OPSYS_UNIX || system == ZIP_OPSYS_OS_X)) {
      const unsigned kind = (attributes >> 16) & S_IFMT;
      if (kind == S_IFLNK)
        return Refused(fmt::format("\"{}\" in it is a link to another file; a parcel holds no links.", Shown(path)), archive->place);
      if (kind != 0 && kind != (is_folder ? S_IFDIR : S_IFREG))
        return Refused(fmt::format("\"{}\" in it is not an ordinary file.", Shown(path)), archive->place);
    }
    if ((stat.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && stat.encryption_method != ZIP_EM_NONE)
      return Refused(fmt::format("\"{}\" in it is encrypted; a parcel is not.", Shown(path)), archive->place);
    if (stat.comp_method != ZIP_CM_STORE && stat.comp_method != ZIP_CM_DEFLATE)
      return Refused(fmt::format("\"{}\" in it is packed by a method that parcels do not use.", Shown(path)), archive->place);
    const auto size = static_cast<std::int64_t>(std::min<zip_uint64_t>(stat.size, INT64_MAX / 2));
    const auto packed = static_cast<std::int64_t>(std::min<zip_uint64_t>(stat.comp_size, INT64_MAX / 2));
    if (is_folder) {
      if (size != 0) return Refused(fmt::format("the folder \"{}\" in it has content of its own.", Shown(path)), archive->place);
      continue;
    }
    if (size > limits.max_entry_bytes)
      return Refused(
          fmt::format("\"{}\" in it would unpack to {} bytes, more than the {} that are ever read.", Shown(path), size, limits.max_entry_bytes),
          archive->place);
    if (size > limits.free_bytes && size / std::max<std::int64_t>(packed, 1) > limits.max_ratio)
      return Refused(
          fmt::format("\"{}\" in it would unpack {} bytes to {}: that is made to fill a disk, not to carry maps.", Shown(path), packed, size),
          archive->place);
    total += size;
    if (total > limits.max_total_bytes)
      return Refused(fmt::format("it would unpack to more than the {} bytes that are ever read.", limits.max_total_bytes), archive->place);
    files.push_back({{path, size}, i});
  }
  std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.first.path < b.first.path; });
  for (auto& [entry, number] : files) {
    archive->by_path.emplace(entry.path, archive->entries.size());
    archive->entries.push_back(std::move(entry));
    archive->numbers.push_back(number);
  }
  // "a" as a file and "a/b" below it cannot both be.
  for (const ZipEntry& entry : archive->entries)
    for (std::size_t slash = entry.path.find('/'); slash != std::string::npos; slash = entry.path.find('/', slash + 1))
      if (archive->by_path.contains(entry.path.substr(0, slash)))
        return Refused(fmt::format("\"{}\" in it is a file and a folder at once.", Shown(entry.path.substr(0, slash))), archive->place);
  return ZipReader(std::move(archive));
}

Result<void> ZipReader::Stream(const std::string& path, const std::function<void(const char*, std::size_t)>& take) const {
  const auto found = archive_->by_path.find(path);
  if (found == archive_->by_path.end()) return Fail(ErrorCode::kNotFound, fmt::format("it has no file \"{}\".", Shown(path)), archive_->place);
  zip_file_t* file = zip_fopen_index(archive_->zip, archive_->numbers[found->second], 0);
  const auto broken = [&] {
    return Damaged(fmt::format("\"{}\" in it cannot be unpacked: the ZIP file is damaged; ask for it again.", Shown(path)), archive_->place);
  };
  if (file == nullptr) return broken();
  std::array<char, 65536> buffer;
  std::int64_t left = archive_->entries[found->second].size;
  while (true) {
    const zip_int64_t got = zip_fread(file, buffer.data(), buffer.size());
    if (got == 0 && left == 0) break;
    if (got <= 0 || got > left) {  // the checksum is wrong, or there is more or less than the archive said
      zip_fclose(file);
      return broken();
    }
    left -= got;
    take(buffer.data(), static_cast<std::size_t>(got));
  }
  if (zip_fclose(file) != 0) return broken();
  return {};
}

Result<std::string> ZipReader::Read(const std::string& path, std::int64_t max_bytes) const {
  const ZipEntry* entry = Find(path);
  if (entry != nullptr && entry->size > max_bytes)
    return Refused(fmt::format("\"{}\" in it has {} bytes; such a file has {} at most.", Shown(path), entry->size, max_bytes), archive_->place);
  std::string bytes;
  if (entry != nullptr) bytes.reserve(static_cast<std::size_t>(std::min<std::int64_t>(entry->size, 1 << 20)));
  const Result<void> read = Stream(path, [&bytes](const char* data, std::size_t size) { bytes.append(data, size); });
  if (!read) return std::unexpected(read.error());
  return bytes;
}

Result<std::string> ZipReader::Sha256(const std::string& path) const {
  crypto_hash_sha256_state state;
  crypto_hash_sha256_init(&state);
  const Result<void> read = Stream(
      path, [&state](const char* data, std::size_t size) { crypto_hash_sha256_update(&state, reinterpret_cast<const unsigned char*>(data), size); });
  if (!read) return std::unexpected(read.error());
  std::array<unsigned char, crypto_hash_sha256_BYTES> digest;
  crypto_hash_sha256_final(&state, digest.data());
  std::string hex;
  for (const unsigned char byte : digest) hex += fmt::format("{:02x}", byte);
  return hex;
}

}  // namespace islebook
