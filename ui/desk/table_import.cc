#include "ui/desk/table_import.h"

#include <algorithm>
#include <memory>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/correction.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/desk/correction_recipe.h"

namespace islebook {
namespace {

// A branch for a correction of a state that has been passed.
constexpr char kCorrectionOf[] = "correction of ";

bool IsDocument(const std::filesystem::path& file) { return file.extension() == ".json"; }
bool IsWorkbook(const std::filesystem::path& file) { return file.extension() == ".xlsx" || file.extension() == ".XLSX"; }

std::string NameOfFile(const std::string& name) {
  for (const std::string_view ending : {".map.json", ".json", ".csv", ".xlsx", ".XLSX", ".CSV"})
    if (name.size() > ending.size() && name.ends_with(ending)) return name.substr(0, name.size() - ending.size());
  return name;
}

std::unexpected<Error> At(Error error, const std::filesystem::path& file) {
  error.place = error.place.empty() ? file.string() : file.string() + ", " + error.place;
  return std::unexpected(std::move(error));
}

// What asks for a look in a map as it stands.
std::vector<std::string> DoubtsOf(const PerformanceMap& map) {
  std::vector<std::string> doubts = map.needs_review;
  for (const Curve& curve : map.curves)
    if (curve.needs_review)
      for (const std::string& reason : curve.reasons) doubts.push_back(reason);
  return doubts;
}

Result<Import> ReadTables(const ImportOrder& order, const std::string& shelf_place, std::string bytes) {
  Result<CurveTables> tables = IsWorkbook(order.file) ? ReadCurveWorkbook(std::move(bytes)) : ReadCurveCsv(bytes);
  if (!tables) return At(tables.error(), order.file);
  Import import;
  import.file = order.file.filename().string();
  std::string corrects = order.corrects.value_or("");
  if (corrects.empty() && !order.as_new && tables->origin) {
    corrects = tables->origin->map;
    if (!tables->origin->revision.empty()) corrects += "@" + tables->origin->revision;
    import.name = tables->origin->revision.empty() ? "" : tables->origin->map;
  }
  if (corrects.empty()) {
    Result<PerformanceMap> map = MapFromTables(*tables);
    if (!map) return At(map.error(), order.file);
    import.map = std::move(*map);
    import.doubts = DoubtsOf(import.map);
  } else {
    Result<OpenedMap> base = OpenMap(corrects, shelf_place);
    if (!base && !order.corrects)
      return Fail(
          base.error().code,
          fmt::format(
              "it says that it corrects {}, which cannot be opened: {} Name the map with --corrects, or give --new to take it as a map of its own.",
              ValidUtf8(corrects), base.error().message),
          order.file.string());
    if (!base) return std::unexpected(base.error());
    Result<MapCorrection> correction = CorrectMap(base->map, *tables);
    if (!correction) return At(correction.error(), order.file);
    import.recipe_entries = correction->changes.empty() ? 0 : AddToRecipe(base->map, *correction);
    import.map = std::move(correction->map);
    import.changes = std::move(correction->changes);
    import.doubts = std::move(correction->doubts);
    if (!base->revision.empty()) import.name = base->name;
    import.base = std::move(*base);
  }
  import.document = WriteMapDocument(import.map);
  return import;
}

}  // namespace

std::string Import::ProposedName() const { return name.empty() ? NameOfFile(file) : name; }

Result<Import> ReadImport(const ImportOrder& order, const std::string& shelf_place) {
  Result<std::string> bytes = ReadFileContents(order.file, std::uintmax_t{256} << 20);
  if (!bytes) return std::unexpected(bytes.error());
  if (!IsDocument(order.file)) return ReadTables(order, shelf_place, std::move(*bytes));
  Result<PerformanceMap> map = ParseMapDocument(*bytes);
  if (!map) return At(map.error(), order.file);
  Import import;
  import.file = order.file.filename().string();
  import.is_document = true;
  import.map = std::move(*map);
  import.document = std::move(*bytes);
  import.doubts = DoubtsOf(import.map);
  if (order.corrects) {
    Result<OpenedMap> base = OpenMap(*order.corrects, shelf_place);
    if (!base) return std::unexpected(base.error());
    if (!base->revision.empty()) import.name = base->name;
    import.base = std::move(*base);
  }
  return import;
}

Result<KeptImport> KeepImport(const Import& import, const KeepOrder& order, const std::string& shelf_place) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(shelf_place, {.access = ShelfAccess::kCreate});
  if (!shelf) return std::unexpected(shelf.error());
  NewRevision revision;
  revision.name = order.name.empty() ? import.ProposedName() : order.name;
  revision.document = import.document;
  revision.author = order.author;
  revision.message = order.message;
  if (revision.message.empty()) {
    revision.message = "Imported from " + import.file;
    for (const std::string& change : import.changes) revision.message += "\n- " + change;
  }
  bool diverged = false;
  if (import.base && !import.base->revision.empty() && import.base->name == revision.name) {
    const Result<std::vector<ShelfBranch>> branches = (*shelf)->Branches(revision.name);
    if (!branches) return std::unexpected(branches.error());
    const Result<std::string> canonical = CanonicalJson(import.document);
    const std::string sha256 = canonical ? Sha256Hex(*canonical) : "";
    for (const ShelfBranch& branch : *branches)  // done before
      if (branch.head.document_sha256 == sha256)
        return KeptImport{revision.name, branch.head.id, branch.name, false, branch.name.starts_with(kCorrectionOf)};
    revision.parents = {import.base->revision};
    const auto is_free = [&](const std::string& name) {
      return std::none_of(branches->begin(), branches->end(), [&](const ShelfBranch& branch) { return branch.name == name; });
    };
    bool stands = false;
    for (const ShelfBranch& branch : *branches)
      if (branch.head.id == import.base->revision) {
        revision.branch = branch.name;
        stands = true;
        break;
      }
    if (!stands) {
      diverged = true;
      const std::string name = kCorrectionOf + import.base->revision.substr(0, 8);
      revision.branch = name;
      for (int i = 2; !is_free(revision.branch); ++i) revision.branch = fmt::format("{} {}", name, i);
    }
  }
  const Result<AddedRevision> added = (*shelf)->AddRevision(revision);
  if (!added) return std::unexpected(added.error());
  return KeptImport{revision.name, added->revision.id, revision.branch, added->is_new, diverged};
}

}  // namespace islebook
