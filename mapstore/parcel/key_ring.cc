#include "mapstore/parcel/key_ring.h"

#include <algorithm>
#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr std::string_view kOwnMark = "islebook-signing-key 1 ed25519 ";
constexpr std::string_view kPublicMark = "islebook-key 1 ed25519 ";
constexpr const char* kOwnFile = "shop.key";
constexpr const char* kTrustedFile = "trusted.keys";

std::string_view Trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t\r\n");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r\n") - from + 1);
}

// "MARK KEY NAME" as key and name.
std::optional<std::pair<std::string, std::string>> KeyAndName(std::string_view line, std::string_view mark) {
  if (!line.starts_with(mark)) return std::nullopt;
  line.remove_prefix(mark.size());
  if (line.size() < 66 || line[64] != ' ') return std::nullopt;
  return std::pair(std::string(line.substr(0, 64)), std::string(line.substr(65)));
}

bool Exists(const std::filesystem::path& file) {
  std::error_code error;
  return std::filesystem::exists(file, error);
}

// A new file that nobody else may read, never one in place of another.
Result<void> WriteSecret(const std::filesystem::path& file, std::string_view text) {
  const auto fail = [&file](int why) {
    return Fail(ErrorCode::kCannotWrite, fmt::format("the key cannot be kept: {}.", std::strerror(why)), file.string());
  };
  const std::string part = file.string() + ".part";
  ::unlink(part.c_str());
  const int descriptor = ::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (descriptor < 0) return fail(errno);
  int why = 0;
  if (::write(descriptor, text.data(), text.size()) != static_cast<ssize_t>(text.size())) why = errno == 0 ? ENOSPC : errno;
  if (why == 0 && ::fsync(descriptor) != 0) why = errno;
  ::close(descriptor);
  if (why == 0 && ::link(part.c_str(), file.c_str()) != 0) why = errno;  // fails where another program made a key meanwhile
  ::unlink(part.c_str());
  if (why != 0) return fail(why);
  return {};
}

}  // namespace

std::string PublicKeyLine(const TrustedKey& key) { return fmt::format("{}{} {}\n", kPublicMark, key.public_key, key.name); }

std::string KeyInGroups(std::string_view public_key) {
  std::string groups;
  for (std::size_t i = 0; i < public_key.size(); i += 8) groups += (i > 0 ? " " : "") + std::string(public_key.substr(i, 8));
  return groups;
}

Result<TrustedKey> ParsePublicKey(std::string_view text) {
  text = Trimmed(text);
  TrustedKey key;
  if (auto parts = KeyAndName(text, kPublicMark)) {
    key = {std::move(parts->first), std::move(parts->second)};
    if (const Result<void> good = CheckSignerName(key.name); !good) return std::unexpected(good.error());
  } else {
    for (const char c : text) {
      if (c == ' ' || c == ':' || c == '-') continue;
      key.public_key += c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c;
    }
  }
  if (!IsPublicKey(key.public_key))
    return Fail(ErrorCode::kInvalidArgument, "this is no public key: give the file that the other shop sent, or the key's 64 digits.");
  return key;
}

Result<KeyRing> KeyRing::Open(const std::filesystem::path& folder) {
  KeyRing ring;
  ring.folder_ = folder;
  if (const std::filesystem::path file = folder / kOwnFile; Exists(file)) {
    struct stat status;
    if (::stat(file.c_str(), &status) == 0 && (status.st_mode & 077) != 0)
      return Fail(ErrorCode::kCannotRead, "others may read the shop's signing key; take that away (chmod 600) and ask who has had it.",
                  file.string());
    const Result<std::string> text = ReadFileContents(file, 10'000);
    if (!text) return std::unexpected(text.error());
    auto parts = KeyAndName(Trimmed(*text), kOwnMark);
    Result<SigningKey> key =
        parts && CheckSignerName(parts->second) ? SigningKeyFromSeed(parts->first, parts->second) : Fail(ErrorCode::kCannotRead, "");
    if (!key) return Fail(ErrorCode::kCannotRead, "this is not a signing key as islebook parcel key makes it; put back a copy.", file.string());
    ring.own_ = std::move(*key);
  }
  if (const std::filesystem::path file = folder / kTrustedFile; Exists(file)) {
    const Result<std::string> text = ReadFileContents(file, 10'000'000);
    if (!text) return std::unexpected(text.error());
    std::string_view rest = *text;
    for (int line = 1; !rest.empty(); ++line) {
      const std::size_t end = std::min(rest.find('\n'), rest.size());
      const std::string_view one = Trimmed(rest.substr(0, end));
      rest.remove_prefix(std::min(end + 1, rest.size()));
      if (one.empty() || one.front() == '#') continue;
      auto parts = KeyAndName(one, kPublicMark);
      if (!parts || !IsPublicKey(parts->first))
        return Fail(ErrorCode::kCannotRead, fmt::format("line {} is no trusted key; mend or remove it.", line), file.string());
      ring.trusted_.push_back({std::move(parts->first), std::move(parts->second)});
    }
    std::stable_sort(ring.trusted_.begin(), ring.trusted_.end(), [](const TrustedKey& a, const TrustedKey& b) { return a.name < b.name; });
  }
  return ring;
}

std::optional<std::string> KeyRing::NameOf(const std::string& public_key) const {
  if (own_ && own_->public_key == public_key) return own_->name;
  for (const TrustedKey& key : trusted_)
    if (key.public_key == public_key) return key.name;
  return std::nullopt;
}

Result<SigningKey> KeyRing::MakeOwn(const std::string& name) {
  if (own_) return Fail(ErrorCode::kInvalidArgument, "the shop has a key already, and a key is never replaced.", (folder_ / kOwnFile).string());
  if (const Result<void> good = CheckSignerName(name); !good) return std::unexpected(good.error());
  std::error_code error;
  std::filesystem::create_directories(folder_, error);
  if (error) return Fail(ErrorCode::kCannotWrite, fmt::format("the folder for keys cannot be made: {}.", error.message()), folder_.string());
  SigningKey key = MakeSigningKey(name);
  if (const Result<void> kept = WriteSecret(folder_ / kOwnFile, fmt::format("{}{} {}\n", kOwnMark, key.seed, key.name)); !kept)
    return std::unexpected(kept.error());
  own_ = key;
  return key;
}

Result<void> KeyRing::WriteTrusted(const std::vector<TrustedKey>& keys) const {
  std::error_code error;
  std::filesystem::create_directories(folder_, error);
  if (error) return Fail(ErrorCode::kCannotWrite, fmt::format("the folder for keys cannot be made: {}.", error.message()), folder_.string());
  std::string text;
  for (const TrustedKey& key : keys) text += PublicKeyLine(key);
  return ReplaceFileContents(folder_ / kTrustedFile, text);
}

Result<bool> KeyRing::Trust(const TrustedKey& key) {
  if (const Result<void> good = CheckSignerName(key.name); !good) return std::unexpected(good.error());
  std::vector<TrustedKey> keys;
  for (const TrustedKey& one : trusted_) {
    if (one.public_key == key.public_key && one.name == key.name) return false;
    if (one.public_key != key.public_key) keys.push_back(one);
  }
  keys.push_back(key);
  std::stable_sort(keys.begin(), keys.end(), [](const TrustedKey& a, const TrustedKey& b) { return a.name < b.name; });
  if (const Result<void> written = WriteTrusted(keys); !written) return std::unexpected(written.error());
  trusted_ = std::move(keys);
  return true;
}

Result<bool> KeyRing::Forget(const std::string& public_key) {
  std::vector<TrustedKey> keys = trusted_;
  if (std::erase_if(keys, [&](const TrustedKey& key) { return key.public_key == public_key; }) == 0) return false;
  if (const Result<void> written = WriteTrusted(keys); !written) return std::unexpected(written.error());
  trusted_ = std::move(keys);
  return true;
}

}  // namespace islebook
