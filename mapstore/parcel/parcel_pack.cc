#include <algorithm>
#include <memory>
#include <set>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/parcel/parcel.h"
#include "mapstore/parcel/parcel_index.h"
#include "mapstore/parcel/summary_page.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

// What a sheet's first bytes say, as the ending that other programs open it by.
const char* EndingOf(std::string_view bytes) {
  const auto begins = [&](std::string_view mark) { return bytes.starts_with(mark); };
  if (begins("\x89PNG\r\n\x1a\n")) return "png";
  if (begins("\xFF\xD8\xFF")) return "jpg";
  if (begins(std::string_view("II*\0", 4)) || begins(std::string_view("MM\0*", 4))) return "tif";
  if (begins("RIFF") && bytes.substr(0, 16).find("WEBP") != std::string_view::npos) return "webp";
  if (begins("BM")) return "bmp";
  if (begins("%PDF-")) return "pdf";
  if (bytes.size() > 2 && bytes[0] == 'P' && bytes[1] >= '1' && bytes[1] <= '7') return "pnm";
  if (bytes.substr(0, 4096).find("<svg") != std::string_view::npos) return "svg";
  return "bin";
}

// Pictures are packed already, and packing them again only costs time.
bool PaysToCompress(std::string_view path) {
  for (const std::string_view ending : {".png", ".jpg", ".webp", ".pdf", ".tif"})
    if (path.ends_with(ending)) return false;
  return true;
}

// A map's name as a folder's: letters and digits of ASCII, in lower case, with hyphens between.
std::string Slug(std::string_view name) {
  std::string slug;
  for (const char c : name) {
    const char low = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    if ((low >= 'a' && low <= 'z') || (low >= '0' && low <= '9'))
      slug += low;
    else if (!slug.empty() && slug.back() != '-')
      slug += '-';
    if (slug.size() >= 40) break;
  }
  while (!slug.empty() && slug.back() == '-') slug.pop_back();
  return slug.empty() ? "maps" : slug;
}

struct ToPack {
  std::string name;
  RevisionRecord head;
  std::vector<RevisionRecord> history;  // latest first
};

// Collects the files of a bag, each once, with its hash and size.
class Collector {
 public:
  void Add(const std::string& path, std::string bytes) {
    const auto kept = std::make_shared<std::string>(std::move(bytes));
    Add(path, {Sha256Hex(*kept), static_cast<std::int64_t>(kept->size())}, [kept]() -> Result<std::string> { return *kept; });
  }
  void Add(const std::string& path, BagFile file, std::function<Result<std::string>()> read) {
    (path.starts_with("data/") ? payload_ : tags_)[path] = file;
    readers_[path] = std::move(read);
  }
  const std::map<std::string, BagFile>& Payload() const { return payload_; }
  const std::map<std::string, BagFile>& Tags() const { return tags_; }

  // Everything under `base`, sorted by path.
  std::vector<ZipItem> Items(const std::string& base) const {
    std::vector<ZipItem> items;
    for (const auto& [path, read] : readers_) {
      const BagFile& file = (path.starts_with("data/") ? payload_ : tags_).at(path);
      items.push_back({base + "/" + path, file.size, read, PaysToCompress(path)});
    }
    return items;
  }

 private:
  std::map<std::string, BagFile> payload_, tags_;
  std::map<std::string, std::function<Result<std::string>()>> readers_;
};

}  // namespace

Result<void> PackOptions::Check() const {
  if (maps.empty()) return Fail(ErrorCode::kInvalidArgument, "name the maps that are to be packed.");
  return {};
}

Result<PackedParcel> PackParcel(Shelf& shelf, const PackOptions& options) {
  if (const Result<void> good = options.Check(); !good) return std::unexpected(good.error());
  std::vector<ToPack> chosen;
  for (const std::string& spec : options.maps) {
    Result<ShownRevision> head = shelf.Show(spec);
    if (!head) return std::unexpected(head.error());
    // By the id, so that a head which another program moves meanwhile does not part a map from its history.
    Result<std::vector<RevisionRecord>> history = shelf.Log(head->name + "@" + head->revision.id);
    if (!history) return std::unexpected(history.error());
    for (const ToPack& other : chosen)
      if (other.name == head->name) return Fail(ErrorCode::kInvalidArgument, "this map is named twice; a parcel carries one line of each map.", spec);
    chosen.push_back({head->name, std::move(head->revision), std::move(*history)});
  }
  std::sort(chosen.begin(), chosen.end(), [](const ToPack& a, const ToPack& b) { return a.name < b.name; });

  PackedParcel packed;
  packed.base = Slug(chosen.front().name) + (chosen.size() > 1 ? fmt::format("-and-{}-more", chosen.size() - 1) : "") + "-parcel";
  Collector files;
  ParcelIndex index;
  index.sheets_left_out = !options.sheets;
  std::vector<SummaryMap> summaries;
  std::set<std::string> revisions, documents;
  std::map<std::string, std::string> sheets;  // SHA-256 to path
  std::set<std::string> missing;
  std::size_t all = 0, done = 0;
  for (const ToPack& one : chosen) all += one.history.size();

  for (ToPack& one : chosen) {
    Result<MapFacts> facts = shelf.Facts(one.name);
    if (!facts) return std::unexpected(facts.error());
    std::set<std::string> here;
    for (const RevisionRecord& record : one.history) here.insert(record.id);
    // A note on another branch's revision would point nowhere.
    for (MapNote& note : facts->notes)
      if (note.revision && !here.contains(*note.revision)) note.revision.reset();
    SummaryMap summary;
    summary.name = one.name;
    summary.document_file = fmt::format("documents/{}.map.json", one.head.document_sha256);
    for (const RevisionRecord& record : one.history) {
      if (options.watch && !options.watch(static_cast<double>(done++) / static_cast<double>(all)))
        return Fail(ErrorCode::kCancelled, "stopped while packing; nothing was written.");
      if (revisions.insert(record.id).second) files.Add(fmt::format("data/revisions/{}.json", record.id), RevisionRecordJson(record));
      const bool is_head = record.id == one.head.id;
      if (documents.contains(record.document_sha256) && !is_head) continue;
      Result<ShownRevision> shown = shelf.ShowRevision(record.id);
      if (!shown) return std::unexpected(shown.error());
      if (documents.insert(record.document_sha256).second) {
        const auto size = static_cast<std::int64_t>(shown->document.size());
        files.Add(fmt::format("data/documents/{}.map.json", record.document_sha256), {record.document_sha256, size},
                  [&shelf, id = record.id]() -> Result<std::string> {
                    Result<ShownRevision> again = shelf.ShowRevision(id);
                    if (!again) return std::unexpected(again.error());
                    return std::move(again->document);
                  });
      }
      if (options.sheets && shown->sheet_sha256 && !sheets.contains(*shown->sheet_sha256)) {
        if (shown->sheet_on_shelf) {
          const std::string& sha256 = *shown->sheet_sha256;
          const Result<std::string> bytes = shelf.Sheet(sha256);
          if (!bytes) return std::unexpected(bytes.error());
          const std::string path = fmt::format("data/sheets/{}.{}", sha256, EndingOf(*bytes));
          sheets.emplace(sha256, path);
          files.Add(path, {sha256, static_cast<std::int64_t>(bytes->size())}, [&shelf, sha256] { return shelf.Sheet(sha256); });
        } else {
          missing.insert(*shown->sheet_sha256);
        }
      }
      if (!is_head) continue;
      Result<PerformanceMap> map = ParseMapDocument(shown->document);
      if (!map) return std::unexpected(map.error());
      summary.map = std::move(*map);
      if (!shown->sheet_sha256)
        summary.sheet_words = "none named";
      else if (const auto found = sheets.find(*shown->sheet_sha256); found != sheets.end())
        summary.sheet_file = found->second.substr(5);
      else
        summary.sheet_words = (options.sheets ? "not on the shelf: " : "left out: ") + *shown->sheet_sha256;
    }
    if (options.chart) {
      // Without a title of its own a chart carries the map's name.
      PerformanceMap titled = summary.map;
      if (titled.title.empty()) titled.title = one.name;
      if (Result<std::string> svg = options.chart(titled)) {
        summary.chart_file = fmt::format("charts/{}.svg", one.head.id);
        files.Add("data/" + *summary.chart_file, std::move(*svg));
      }
    }
    summary.history = std::move(one.history);
    summary.facts = *facts;
    index.maps.push_back({one.name, one.head.id, std::move(*facts)});
    summaries.push_back(std::move(summary));
  }
  files.Add("data/parcel.json", WriteParcelIndex(index));
  files.Add("data/summary.html", SummaryPage(summaries));

  for (const auto& [path, file] : files.Payload()) packed.bytes += file.size;
  packed.maps = static_cast<std::int64_t>(chosen.size());
  packed.revisions = static_cast<std::int64_t>(revisions.size());
  packed.sheets = static_cast<std::int64_t>(sheets.size());
  packed.missing_sheets.assign(missing.begin(), missing.end());
  files.Add("bagit.txt", BagDeclaration());
  files.Add("bag-info.txt",
            BagInfoText({{"External-Description", fmt::format("Performance maps of compressors and turbines: {} maps, {} revisions, {} sheets",
                                                              packed.maps, packed.revisions, packed.sheets)},
                         {"Bag-Software-Agent", "Islebook"},
                         {"Payload-Oxum", fmt::format("{}.{}", packed.bytes, files.Payload().size())}}));
  files.Add("manifest-sha256.txt", ManifestText(files.Payload()));
  if (options.key) files.Add(kSignatureFile, SignTags(*options.key, files.Tags()));
  files.Add("tagmanifest-sha256.txt", ManifestText(files.Tags()));
  packed.items = files.Items(packed.base);
  return packed;
}

}  // namespace islebook
