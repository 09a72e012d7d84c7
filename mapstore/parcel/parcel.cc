#include "mapstore/parcel/parcel.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/parcel/parcel_index.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

constexpr std::int64_t kMaxIndex = 256 << 20;
constexpr std::int64_t kMaxRecord = 16 << 20;
constexpr std::int64_t kMaxDocument = 64 << 20;
constexpr std::string_view kRevisions = "data/revisions/", kDocuments = "data/documents/", kSheets = "data/sheets/";

std::unexpected<Error> Damaged(std::string why) { return Fail(ErrorCode::kParcelDamaged, std::move(why)); }

// "data/sheets/<sha256>.png" as its hash; empty if it is not so named.
std::string HashInName(std::string_view path, std::string_view folder) {
  path.remove_prefix(folder.size());
  const std::string name(path.substr(0, std::min(path.find('.'), path.size())));
  return IsSha256Hex(name) && path.find('/') == std::string_view::npos ? name : std::string();
}

std::string Short(const std::string& id) { return id.substr(0, 12); }

Error At(Error error, const std::filesystem::path& file) {
  if (error.place.empty()) error.place = file.string();
  return error;
}

}  // namespace

Result<Parcel> Parcel::Open(const std::filesystem::path& file, const Options& options) {
  Result<ZipReader> zip = ZipReader::Open(file, options.limits);
  if (!zip) return std::unexpected(zip.error());
  Result<Parcel> parcel = Take(std::move(*zip), options);
  if (!parcel) return std::unexpected(At(parcel.error(), file));
  return parcel;
}

Result<Parcel> Parcel::OpenBytes(std::string bytes, const Options& options) {
  Result<ZipReader> zip = ZipReader::OpenBytes(std::move(bytes), options.limits);
  if (!zip) return std::unexpected(zip.error());
  return Take(std::move(*zip), options);
}

Result<std::string> Parcel::ReadFile(const std::string& path, std::int64_t max_bytes) const { return zip_.Read(bag_.base + "/" + path, max_bytes); }

Result<Parcel> Parcel::Take(ZipReader zip, const Options& options) {
  // Hashing is the first half of the work, reading documents the second.
  const auto half = [&](double from) { return [&options, from](double part) { return !options.watch || options.watch(from + 0.5 * part); }; };
  Result<Bag> bag = ReadBag(zip, half(0.0));
  if (!bag) return std::unexpected(bag.error());
  Parcel parcel(std::move(zip), std::move(*bag));
  if (parcel.bag_.tags.contains(kSignatureFile)) {
    const Result<std::string> text = parcel.ReadFile(kSignatureFile, kMaxIndex);
    if (!text) return std::unexpected(text.error());
    parcel.signature_ = CheckSignature(*text, parcel.bag_.tags);
  }
  if (!parcel.bag_.payload.contains("data/parcel.json")) return Damaged("it is a sound bag, but not a parcel of maps: data/parcel.json is missing.");
  Options second = options;
  second.watch = half(0.5);
  if (const Result<void> read = parcel.ReadDocuments(second); !read) return std::unexpected(read.error());
  if (const Result<void> read = parcel.ReadMaps(); !read) return std::unexpected(read.error());
  return parcel;
}

Result<void> Parcel::ReadDocuments(const Options& options) {
  std::size_t done = 0;
  for (const auto& [path, file] : bag_.payload) {
    if (options.watch && !options.watch(static_cast<double>(done++) / static_cast<double>(bag_.payload.size())))
      return Fail(ErrorCode::kCancelled, "stopped while the parcel was read; nothing was changed.");
    if (path.starts_with(kSheets)) {
      const std::string sha256 = HashInName(path, kSheets);
      if (sha256.empty() || sha256 != file.sha256) return Damaged(fmt::format("the sheet \"{}\" is not what its name says.", path));
      if (!sheets_.emplace(sha256, path).second) return Damaged(fmt::format("the sheet {} is in it twice.", Short(sha256)));
    }
    if (!path.starts_with(kDocuments)) continue;
    const std::string sha256 = HashInName(path, kDocuments);
    if (path != fmt::format("{}{}.map.json", kDocuments, sha256) || sha256 != file.sha256)
      return Damaged(fmt::format("the map document \"{}\" is not what its name says.", path));
    const Result<std::string> text = ReadFile(path, kMaxDocument);
    if (!text) return std::unexpected(text.error());
    const Result<PerformanceMap> map = ParseMapDocument(*text);
    if (!map) return Fail(map.error().code, fmt::format("the map document {} {}", Short(sha256), map.error().message));
    const Result<std::string> canonical = CanonicalJson(*text);
    if (!canonical || *canonical != *text) return Damaged(fmt::format("the map document {} is not in canonical form (RFC 8785).", Short(sha256)));
    ParcelDocument document;
    if (map->kind) document.kind = MapKindName(*map->kind);
    document.title = map->title;
    document.curves = static_cast<std::int64_t>(map->curves.size());
    document.doubts = static_cast<std::int64_t>(map->needs_review.size()) +
                      std::count_if(map->curves.begin(), map->curves.end(), [](const Curve& curve) { return curve.needs_review; });
    if (map->source && !map->source->sha256.empty()) document.sheet_sha256 = map->source->sha256;
    documents_.emplace(sha256, std::move(document));
  }
  return {};
}

Result<void> Parcel::ReadMaps() {
  const Result<std::string> index_text = ReadFile("data/parcel.json", kMaxIndex);
  if (!index_text) return std::unexpected(index_text.error());
  Result<ParcelIndex> index = ReadParcelIndex(*index_text);
  if (!index) return std::unexpected(index.error());
  sheets_left_out_ = index->sheets_left_out;

  std::map<std::string, RevisionRecord> revisions;
  for (const auto& [path, file] : bag_.payload) {
    if (!path.starts_with(kRevisions)) continue;
    const std::string id = HashInName(path, kRevisions);
    if (path != fmt::format("{}{}.json", kRevisions, id) || id != file.sha256)
      return Damaged(fmt::format("the revision \"{}\" is not what its name says.", path));
    const Result<std::string> text = ReadFile(path, kMaxRecord);
    if (!text) return std::unexpected(text.error());
    Result<RevisionRecord> record = ReadRevisionFile(*text);
    if (!record) return std::unexpected(record.error());
    if (!documents_.contains(record->document_sha256)) return Damaged(fmt::format("the map document of revision {} is missing.", Short(id)));
    revisions.emplace(id, std::move(*record));
  }
  std::set<std::string> used;
  for (ParcelIndexEntry& entry : index->maps) {
    ParcelMap map{entry.name, entry.head, {}, std::move(entry.facts)};
    // Depth first without recursion, parents in order: every parent stands before its children, and the same history always in the same order.
    std::set<std::string> seen;
    std::vector<std::pair<std::string, std::size_t>> open = {{map.head, 0}};
    while (!open.empty()) {
      const std::string id = open.back().first;
      const auto found = revisions.find(id);
      if (found == revisions.end()) return Damaged(fmt::format("the history of \"{}\" is not whole: revision {} is missing.", map.name, Short(id)));
      const RevisionRecord& record = found->second;
      bool deeper = false;
      while (open.back().second < record.parents.size() && !deeper) {
        const std::string& parent = record.parents[open.back().second++];
        if (!seen.contains(parent)) {
          open.emplace_back(parent, 0);
          deeper = true;
        }
      }
      if (deeper) continue;
      open.pop_back();
      if (seen.insert(id).second) map.history.push_back(record);
    }
    used.insert(seen.begin(), seen.end());
    for (const MapNote& note : map.facts.notes)
      if (note.revision && !seen.contains(*note.revision))
        return Damaged(fmt::format("a note of \"{}\" speaks of a revision that is not in it.", map.name));
    maps_.push_back(std::move(map));
  }
  if (used.size() != revisions.size()) return Damaged("it holds a revision that belongs to none of its maps.");
  std::sort(maps_.begin(), maps_.end(), [](const ParcelMap& a, const ParcelMap& b) { return a.name < b.name; });
  return {};
}

Result<std::string> Parcel::Document(const std::string& sha256) const {
  Result<std::string> text = ReadFile(fmt::format("{}{}.map.json", kDocuments, sha256), kMaxDocument);
  if (text && Sha256Hex(*text) != sha256) return Damaged(fmt::format("the map document {} changed while it was read.", Short(sha256)));
  return text;
}

Result<std::string> Parcel::Sheet(const std::string& sha256) const {
  const auto found = sheets_.find(sha256);
  if (found == sheets_.end()) return Fail(ErrorCode::kNotFound, "the parcel does not hold this sheet.", ValidUtf8(sha256));
  Result<std::string> bytes = ReadFile(found->second, INT64_MAX);
  if (bytes && Sha256Hex(*bytes) != sha256) return Damaged(fmt::format("the sheet {} changed while it was read.", Short(sha256)));
  return bytes;
}

}  // namespace islebook
