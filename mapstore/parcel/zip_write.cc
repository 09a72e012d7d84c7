#include <cerrno>
#include <cstring>
#include <optional>

#include <fmt/format.h>
#include <sys/stat.h>
#include <zip.h>

#include "mapstore/parcel/zip_file.h"

namespace islebook {
namespace {

constexpr zip_uint16_t kNoDate = 1 << 5 | 1,
                       kNoHour = 0;  // 1980-01-01 00:00, the earliest that a ZIP knows; set as it stands there, whatever the time zone
constexpr zip_uint32_t kFileMode = (S_IFREG | 0644u) << 16;

// One item while libzip takes its bytes, piece by piece.
struct Supply {
  const ZipItem* item = nullptr;
  std::optional<Error>* failure = nullptr;  // of any item, for the caller
  std::string bytes;
  std::size_t at = 0;
  zip_error_t error;
};

zip_int64_t Supplied(void* user, void* data, zip_uint64_t length, zip_source_cmd_t command) {
  Supply& supply = *static_cast<Supply*>(user);
  switch (command) {
    case ZIP_SOURCE_OPEN: {
      Result<std::string> bytes = supply.item->bytes();
      if (bytes && static_cast<std::int64_t>(bytes->size()) != supply.item->size)
        bytes = Fail(ErrorCode::kInternal, "its size changed while it was packed; pack again.", supply.item->path);
      if (!bytes) {
        if (!*supply.failure) *supply.failure = bytes.error();
        zip_error_set(&supply.error, ZIP_ER_INTERNAL, 0);
        return -1;
      }
      supply.bytes = std::move(*bytes);
      supply.at = 0;
      return 0;
    }
    case ZIP_SOURCE_READ: {
      const std::size_t count = std::min<std::size_t>(static_cast<std::size_t>(length), supply.bytes.size() - supply.at);
      std::memcpy(data, supply.bytes.data() + supply.at, count);
      supply.at += count;
      return static_cast<zip_int64_t>(count);
    }
    case ZIP_SOURCE_CLOSE: std::string().swap(supply.bytes); return 0;
    case ZIP_SOURCE_STAT: {
      zip_stat_t* stat = ZIP_SOURCE_GET_ARGS(zip_stat_t, data, length, &supply.error);
      if (stat == nullptr) return -1;
      zip_stat_init(stat);
      stat->valid = ZIP_STAT_SIZE;
      stat->size = static_cast<zip_uint64_t>(supply.item->size);
      return sizeof *stat;
    }
    case ZIP_SOURCE_ERROR: return zip_error_to_data(&supply.error, data, length);
    case ZIP_SOURCE_FREE: return 0;
    case ZIP_SOURCE_SUPPORTS:
      return zip_source_make_command_bitmap(ZIP_SOURCE_OPEN, ZIP_SOURCE_READ, ZIP_SOURCE_CLOSE, ZIP_SOURCE_STAT, ZIP_SOURCE_ERROR, ZIP_SOURCE_FREE,
                                            -1);
    default: zip_error_set(&supply.error, ZIP_ER_OPNOTSUPP, 0); return -1;
  }
}

// Takes `target` over; it is kept by whoever kept a reference of their own.
Result<void> WriteTo(zip_source_t* target, const std::vector<ZipItem>& items, const std::string& place) {
  zip_error_t why;
  zip_error_init(&why);
  const auto fail = [&](const char* words) {
    return Fail(ErrorCode::kCannotWrite, fmt::format("the ZIP file cannot be written: {}.", words), place);
  };
  zip_t* zip = zip_open_from_source(target, ZIP_CREATE | ZIP_TRUNCATE, &why);
  if (zip == nullptr) {
    const auto failed = fail(zip_error_strerror(&why));
    zip_error_fini(&why);
    zip_source_free(target);
    return failed;
  }
  zip_error_fini(&why);
  std::optional<Error> failure;
  std::vector<Supply> supplies(items.size());
  for (std::size_t i = 0; i < items.size(); ++i) {
    supplies[i].item = &items[i];
    supplies[i].failure = &failure;
    zip_error_init(&supplies[i].error);
    zip_source_t* source = zip_source_function(zip, Supplied, &supplies[i]);
    const zip_int64_t number = source == nullptr ? -1 : zip_file_add(zip, items[i].path.c_str(), source, ZIP_FL_ENC_UTF_8);
    if (number < 0) {
      if (source != nullptr) zip_source_free(source);
      const auto failed = fail(zip_strerror(zip));
      zip_discard(zip);
      return failed;
    }
    const auto index = static_cast<zip_uint64_t>(number);
    // The highest level, named so that no default can change it.
    if (zip_set_file_compression(zip, index, items[i].compress ? ZIP_CM_DEFLATE : ZIP_CM_STORE, items[i].compress ? 9 : 0) != 0 ||
        zip_file_set_dostime(zip, index, kNoHour, kNoDate, 0) != 0 ||
        zip_file_set_external_attributes(zip, index, 0, ZIP_OPSYS_UNIX, kFileMode) != 0) {
      const auto failed = fail(zip_strerror(zip));
      zip_discard(zip);
      return failed;
    }
  }
  if (zip_close(zip) != 0) {
    const auto failed = failure ? std::unexpected(*failure) : fail(zip_strerror(zip));
    zip_discard(zip);
    return failed;
  }
  return {};
}

}  // namespace

Result<void> WriteZip(const std::filesystem::path& file, const std::vector<ZipItem>& items) {
  std::error_code error;
  if (std::filesystem::is_directory(file, error)) return Fail(ErrorCode::kCannotWrite, "this is a folder; name a file.", file.string());
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t* target = zip_source_file_create(file.c_str(), 0, -1, &why);
  if (target == nullptr) {
    const std::string words = zip_error_strerror(&why);
    zip_error_fini(&why);
    return Fail(ErrorCode::kCannotWrite, fmt::format("the ZIP file cannot be written: {}.", words), file.string());
  }
  zip_error_fini(&why);
  return WriteTo(target, items, file.string());
}

Result<std::string> ZipBytes(const std::vector<ZipItem>& items) {
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t* target = zip_source_buffer_create(nullptr, 0, 0, &why);
  zip_error_fini(&why);
  if (target == nullptr) return Fail(ErrorCode::kInternal, "there is no memory for the ZIP file.");
  zip_source_keep(target);
  const Result<void> written = WriteTo(target, items, "");
  std::string bytes;
  if (written) {
    zip_stat_t stat;
    if (zip_source_stat(target, &stat) == 0 && (stat.valid & ZIP_STAT_SIZE) != 0 && zip_source_open(target) == 0) {
      bytes.resize(static_cast<std::size_t>(stat.size));
      const zip_int64_t got = zip_source_read(target, bytes.data(), bytes.size());
      bytes.resize(static_cast<std::size_t>(std::max<zip_int64_t>(got, 0)));
      zip_source_close(target);
    }
  }
  zip_source_free(target);
  if (!written) return std::unexpected(written.error());
  if (bytes.empty()) return Fail(ErrorCode::kInternal, "the ZIP file came out empty.");
  return bytes;
}

}  // namespace islebook
