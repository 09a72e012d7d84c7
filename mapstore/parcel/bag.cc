#include "mapstore/parcel/bag.h"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

constexpr std::int64_t kMaxTagFile = 64 << 20;
constexpr std::string_view kPayload = "data/";

std::unexpected<Error> Damaged(std::string why, std::string place = {}) { return Fail(ErrorCode::kParcelDamaged, std::move(why), std::move(place)); }

std::string Shown(std::string_view text) {
  std::string shown;
  for (const char c : ValidUtf8(text.substr(0, 120))) shown += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? '?' : c;
  return shown;
}

// Lines as RFC 8493 has them: LF, CR or CR LF.
std::vector<std::string_view> Lines(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    lines.push_back(text.substr(0, end));
    const std::size_t step = end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n' ? 2 : 1;
    text.remove_prefix(std::min(end + step, text.size()));
  }
  return lines;
}

// Section 2.1.3: only CR, LF and % are escaped.
std::string Unescaped(std::string_view path) {
  std::string plain;
  for (std::size_t i = 0; i < path.size(); ++i) {
    const std::string_view code = path.substr(i, 3);
    if (code == "%25")
      plain += '%';
    else if (code == "%0A" || code == "%0a")
      plain += '\n';
    else if (code == "%0D" || code == "%0d")
      plain += '\r';
    else {
      plain += path[i];
      continue;
    }
    i += 2;
  }
  return plain;
}

std::string Escaped(std::string_view path) {
  std::string escaped;
  for (const char c : path) {
    if (c == '%')
      escaped += "%25";
    else if (c == '\n')
      escaped += "%0A";
    else if (c == '\r')
      escaped += "%0D";
    else
      escaped += c;
  }
  return escaped;
}

Result<std::vector<std::pair<std::string, std::string>>> ReadLabels(std::string_view text, const std::string& name) {
  if (ValidUtf8(text) != text) return Damaged(fmt::format("{} is not UTF-8 text.", name));
  std::vector<std::pair<std::string, std::string>> labels;
  for (const std::string_view line : Lines(text)) {
    if (line.empty()) continue;
    if ((line.front() == ' ' || line.front() == '\t') && !labels.empty()) {  // goes on from the line before
      labels.back().second += ' ' + std::string(line.substr(std::min(line.find_first_not_of(" \t"), line.size())));
      continue;
    }
    const std::size_t colon = line.find(':');
    if (colon == std::string_view::npos || colon == 0) return Damaged(fmt::format("{} has a line that is no \"Label: value\".", name));
    std::string_view value = line.substr(colon + 1);
    value.remove_prefix(std::min(value.find_first_not_of(" \t"), value.size()));
    labels.emplace_back(line.substr(0, colon), value);
  }
  return labels;
}

Result<void> CheckDeclaration(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) return Damaged("its bagit.txt begins with a byte order mark, which a bag must not have.");
  const auto labels = ReadLabels(text, "its bagit.txt");
  if (!labels) return std::unexpected(labels.error());
  if (labels->size() != 2 || (*labels)[0].first != "BagIt-Version" || (*labels)[1].first != "Tag-File-Character-Encoding")
    return Damaged("its bagit.txt is not the declaration of a bag (RFC 8493).");
  if ((*labels)[0].second != "1.0" && (*labels)[0].second != "0.97")
    return Damaged(fmt::format("it is a bag of version {}, which this program does not read.", Shown((*labels)[0].second)));
  if ((*labels)[1].second != "UTF-8") return Damaged("its tag files are not in UTF-8.");
  return {};
}

// The one folder at the top that holds everything.
Result<std::string> BaseFolder(const ZipReader& zip) {
  std::optional<std::string> base;
  for (const ZipEntry& entry : zip.Entries()) {
    const std::size_t slash = entry.path.find('/');
    if (slash == std::string::npos) return Damaged(fmt::format("\"{}\" stands outside of the bag's folder.", Shown(entry.path)));
    const std::string top = entry.path.substr(0, slash);
    if (base && *base != top) return Damaged("it holds more than one folder at its top; a bag has one.");
    base = top;
  }
  if (!base) return Damaged("it is empty.");
  return *base;
}

// Every file that the manifest lists is there with that hash. `files` are hashed already.
Result<void> Compare(const std::map<std::string, std::string>& manifest, const std::map<std::string, BagFile>& files, const std::string& name,
                     bool complete) {
  for (const auto& [path, sha256] : manifest) {
    const auto found = files.find(path);
    if (found == files.end()) return Damaged(fmt::format("{} lists \"{}\", which is missing; ask for the parcel again.", name, Shown(path)));
    if (found->second.sha256 != sha256)
      return Damaged(fmt::format("\"{}\" is not what {} says: its content was changed or damaged; ask for the parcel again.", Shown(path), name));
  }
  if (complete)
    for (const auto& [path, file] : files)
      if (!manifest.contains(path)) return Damaged(fmt::format("\"{}\" is in it, but {} does not list it.", Shown(path), name));
  return {};
}

}  // namespace

std::string BagDeclaration() { return "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"; }

std::string BagInfoText(const std::vector<std::pair<std::string, std::string>>& labels) {
  std::string text;
  for (const auto& [label, value] : labels) {
    std::string line = value;
    for (char& c : line)
      if (c == '\n' || c == '\r') c = ' ';
    text += label + ": " + line + "\n";
  }
  return text;
}

std::string ManifestText(const std::map<std::string, BagFile>& files) {
  std::string text;
  for (const auto& [path, file] : files) text += file.sha256 + "  " + Escaped(path) + "\n";
  return text;
}

Result<std::map<std::string, std::string>> ReadManifest(std::string_view text, const std::string& name) {
  std::map<std::string, std::string> manifest;
  for (const std::string_view line : Lines(text)) {
    if (line.empty()) continue;
    const std::size_t end = line.find_first_of(" \t");
    const std::size_t start = end == std::string_view::npos ? end : line.find_first_not_of(" \t", end);
    if (start == std::string_view::npos) return Damaged(fmt::format("{} has a line without a hash and a path.", name));
    std::string sha256(line.substr(0, end));
    std::transform(sha256.begin(), sha256.end(), sha256.begin(), [](char c) { return c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c; });
    if (sha256.size() != 64 || sha256.find_first_not_of("0123456789abcdef") != std::string::npos)
      return Damaged(fmt::format("{} has a line whose first word is no SHA-256.", name));
    std::string path = Unescaped(line.substr(start));
    if (path.starts_with("*")) path.erase(0, 1);  // as some checksum programs mark binary files
    if (path.starts_with("./")) path.erase(0, 2);
    if (const std::string wrong = WrongWithPath(path); !wrong.empty())
      return Fail(ErrorCode::kParcelRefused, fmt::format("{} lists a file \"{}\": {}. Do not trust this parcel.", name, Shown(path), wrong));
    if (!manifest.emplace(path, std::move(sha256)).second) return Damaged(fmt::format("{} lists \"{}\" twice.", name, Shown(path)));
  }
  return manifest;
}

Result<Bag> ReadBag(const ZipReader& zip, const std::function<bool(double)>& watch) {
  const Result<std::string> base = BaseFolder(zip);
  if (!base) return std::unexpected(base.error());
  Bag bag;
  bag.base = *base;
  const std::string prefix = bag.base + "/";
  if (zip.Find(prefix + "bagit.txt") == nullptr) return Damaged("it holds no bag: bagit.txt is missing.");
  if (zip.Find(prefix + "fetch.txt") != nullptr)
    return Damaged("it leaves files to be fetched from elsewhere (fetch.txt), which is not done; ask for a parcel that is whole.");

  const auto text_of = [&](const std::string& path) { return zip.Read(prefix + path, kMaxTagFile); };
  const Result<std::string> declaration = text_of("bagit.txt");
  if (!declaration) return std::unexpected(declaration.error());
  if (const Result<void> good = CheckDeclaration(*declaration); !good) return std::unexpected(good.error());
  std::map<std::string, std::string> manifests[2];
  const char* const names[2] = {"manifest-sha256.txt", "tagmanifest-sha256.txt"};
  for (int i = 0; i < 2; ++i) {
    if (zip.Find(prefix + names[i]) == nullptr) return Damaged(fmt::format("{} is missing.", names[i]));
    const Result<std::string> text = text_of(names[i]);
    if (!text) return std::unexpected(text.error());
    auto read = ReadManifest(*text, names[i]);
    if (!read) return std::unexpected(read.error());
    manifests[i] = std::move(*read);
  }

  std::int64_t total = 0, done = 0;
  for (const ZipEntry& entry : zip.Entries()) total += entry.size;
  for (const ZipEntry& entry : zip.Entries()) {
    if (watch && !watch(total == 0 ? 0.0 : static_cast<double>(done) / static_cast<double>(total)))
      return Fail(ErrorCode::kCancelled, "stopped while the parcel was checked; nothing was changed.");
    Result<std::string> sha256 = zip.Sha256(entry.path);
    if (!sha256) return std::unexpected(sha256.error());
    const std::string path = entry.path.substr(prefix.size());
    (path.starts_with(kPayload) ? bag.payload : bag.tags)[path] = {std::move(*sha256), entry.size};
    done += entry.size;
  }
  if (const Result<void> good = Compare(manifests[0], bag.payload, names[0], true); !good) return std::unexpected(good.error());
  if (const Result<void> good = Compare(manifests[1], bag.tags, names[1], false); !good) return std::unexpected(good.error());
  if (!manifests[1].contains(names[0])) return Damaged("tagmanifest-sha256.txt does not list manifest-sha256.txt.");

  if (bag.tags.contains("bag-info.txt")) {
    const Result<std::string> text = text_of("bag-info.txt");
    if (!text) return std::unexpected(text.error());
    auto labels = ReadLabels(*text, "bag-info.txt");
    if (!labels) return std::unexpected(labels.error());
    bag.info = std::move(*labels);
  }
  for (const auto& [label, value] : bag.info) {
    if (label != "Payload-Oxum") continue;
    std::int64_t bytes = 0;
    for (const auto& [path, file] : bag.payload) bytes += file.size;
    if (value != fmt::format("{}.{}", bytes, bag.payload.size()))
      return Damaged(fmt::format("bag-info.txt speaks of another amount of content (Payload-Oxum {}) than is in it.", Shown(value)));
  }
  return bag;
}

}  // namespace islebook
