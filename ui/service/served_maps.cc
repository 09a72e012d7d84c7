#include "ui/service/served_maps.h"

#include <algorithm>
#include <string_view>

#include <fmt/format.h>
#include <sys/stat.h>

#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf_maps.h"

namespace islebook {
namespace {

constexpr std::size_t kMapsKept = 64;

Result<ServedMaps::Map> Build(PerformanceMap document, std::string name, std::string revision) {
  auto made = AskableMap::Make(std::move(document), std::move(name), std::move(revision));
  if (!made) return std::unexpected(made.error());
  return std::make_shared<const AskableMap>(std::move(*made));
}

template <typename Keep>
void Forget(Keep& kept) {
  if (kept.size() < kMapsKept) return;
  kept.erase(std::min_element(kept.begin(), kept.end(), [](const auto& a, const auto& b) { return a.second.used < b.second.used; }));
}

}  // namespace

std::string ServedName(const std::filesystem::path& file) {
  std::string name = file.filename().string();
  for (const char* ending : {".map.json", ".json"})
    if (name.ends_with(ending) && name.size() > std::string_view(ending).size()) return name.substr(0, name.size() - std::string_view(ending).size());
  return name;
}

ServedMaps::ServedMaps(std::string shelf, const std::vector<std::filesystem::path>& files) : shelf_place_(std::move(shelf)) {
  for (const std::filesystem::path& file : files) files_[ServedName(file)] = file;
}

ServedMaps::Stamp ServedMaps::StampOf(const std::filesystem::path& file) {
  struct stat status{};
  if (stat(file.c_str(), &status) != 0) return {};
  return {status.st_mtim.tv_sec, status.st_mtim.tv_nsec, status.st_size, static_cast<std::int64_t>(status.st_ino)};
}

Result<Shelf*> ServedMaps::OpenShelf() {
  if (!shelf_) {
    auto opened = islebook::OpenShelf(shelf_place_, {.access = ShelfAccess::kRead, .busy_timeout = std::chrono::milliseconds(2000)});
    if (!opened) return std::unexpected(opened.error());
    shelf_ = std::move(*opened);
  }
  return shelf_.get();
}

// Drops what was known of the shelf if it has changed since; whether there is a shelf.
Result<bool> ServedMaps::LookAtShelf() {
  if (IsServerShelf(shelf_place_)) {
    const auto now = std::chrono::steady_clock::now();
    if (shelf_ && now - shelf_seen_ < std::chrono::milliseconds(200)) return true;
    Result<std::string> mark = Fail(ErrorCode::kShelfUnavailable, "");
    // A connection that was lost is made anew.
    for (int attempt = 0; attempt < 2 && !mark; ++attempt) {
      auto open = OpenShelf();
      mark = open ? (*open)->Mark() : Result<std::string>(std::unexpected(open.error()));
      if (!mark) shelf_.reset();
    }
    if (!mark) {
      resolved_.clear();
      if (mark.error().code == ErrorCode::kNotFound) return false;
      return std::unexpected(mark.error());
    }
    shelf_seen_ = now;
    if (*mark != shelf_mark_) resolved_.clear();
    shelf_mark_ = std::move(*mark);
    return true;
  }
  const std::array<Stamp, 2> now{StampOf(shelf_place_), StampOf(shelf_place_ + "-wal")};
  if (now != shelf_stamp_) {
    if (now[0].inode != shelf_stamp_[0].inode) shelf_.reset();
    shelf_stamp_ = now;
    resolved_.clear();
  }
  return shelf_stamp_[0] != Stamp{};
}

Result<ServedMaps::Map> ServedMaps::Find(const std::string& name) {
  const std::scoped_lock lock(mutex_);
  if (const auto file = files_.find(name); file != files_.end()) {
    const Stamp stamp = StampOf(file->second);
    const auto kept = by_file_.find(name);
    if (kept != by_file_.end() && kept->second.stamp == stamp) return kept->second.map;
    auto document = ReadMapFile(file->second);
    if (!document) return std::unexpected(document.error());
    auto map = Build(std::move(*document), name, "");
    if (map) by_file_[name] = {stamp, *map, 0};
    return map;
  }
  const Result<bool> there = LookAtShelf();
  if (!there) return std::unexpected(there.error());
  if (const auto known = resolved_.find(name); known != resolved_.end()) return known->second;
  const auto missing = [&name] {
    return Fail(ErrorCode::kNotFound, "there is no map of that name; /v1/maps lists what there is.", name.substr(0, 200));
  };
  if (!*there) return missing();
  auto open = OpenShelf();
  if (!open) return std::unexpected(open.error());
  auto shown = (*open)->Show(name);
  if (!shown && shown.error().code == ErrorCode::kNotFound) return missing();
  if (!shown) return std::unexpected(shown.error());
  const std::string key = shown->revision.id + "/" + shown->name;
  if (const auto kept = by_revision_.find(key); kept != by_revision_.end()) {
    kept->second.used = ++clock_;
    if (resolved_.size() > 4 * kMapsKept) resolved_.clear();
    resolved_[name] = kept->second.map;
    return kept->second.map;
  }
  auto document = ParseMapDocument(shown->document);
  if (!document) return std::unexpected(document.error());
  auto map = Build(std::move(*document), shown->name, shown->revision.id);
  if (!map) return map;
  Forget(by_revision_);
  by_revision_[key] = {{}, *map, ++clock_};
  resolved_[name] = *map;
  return map;
}

std::optional<double> ServedMaps::SpeedLimit(const std::string& name) {
  const std::scoped_lock lock(mutex_);
  if (files_.contains(name)) return std::nullopt;
  const Result<bool> there = LookAtShelf();
  if (!there || !*there) return std::nullopt;
  auto open = OpenShelf();
  return open ? SpeedLimitOnRecord(**open, name.substr(0, name.find('@'))) : std::nullopt;
}

// What the shelf lists; nothing where there is no shelf.
Result<std::vector<ShelfEntry>> ServedMaps::ShelfEntries() {
  const std::scoped_lock lock(mutex_);
  const Result<bool> there = LookAtShelf();
  if (!there) return std::unexpected(there.error());
  if (!*there) return std::vector<ShelfEntry>{};
  auto open = OpenShelf();
  if (!open) return std::unexpected(open.error());
  return (*open)->List();
}

Result<std::vector<std::string>> ServedMaps::Names() {
  const auto entries = ShelfEntries();
  if (!entries) return std::unexpected(entries.error());
  std::vector<std::string> names;
  for (const auto& [name, file] : files_) names.push_back(name);
  for (const ShelfEntry& entry : *entries)
    if (!files_.contains(entry.name)) names.push_back(entry.name);
  return names;
}

Result<std::string> ServedMaps::List() {
  const auto entries = ShelfEntries();
  if (!entries) return std::unexpected(entries.error());
  std::string out = "[";
  const auto add = [&out](const std::string& name, const std::string& kind, const std::string& title, const std::string& revision) {
    out += out.size() > 1 ? ",\n " : "\n ";
    out += fmt::format("{{\"name\": {}, \"kind\": {}, \"title\": {}, \"revision\": {}}}", JsonString(name), kind.empty() ? "null" : JsonString(kind),
                       JsonString(title), revision.empty() ? "null" : JsonString(revision));
  };
  for (const auto& [name, file] : files_)
    if (auto map = Find(name)) add(name, (*map)->is_turbine() ? "turbine" : "compressor", (*map)->map().title, "");
  for (const ShelfEntry& entry : *entries)
    if (!files_.contains(entry.name)) add(entry.name, entry.kind, entry.title, entry.head.id);
  return out + (out.size() > 1 ? "\n]" : "]");
}

}  // namespace islebook
