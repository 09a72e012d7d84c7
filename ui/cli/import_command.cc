#include "ui/cli/import_command.h"

#include <algorithm>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/correction.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/correction_recipe.h"
#include "ui/desk/open_map.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

// What is imported, and what it stands on.
struct Import {
  std::string document;  // the map document that comes of it
  PerformanceMap map;
  std::string name;                  // on the shelf; empty: not known
  std::optional<OpenedMap> base;     // that it corrects
  std::vector<std::string> changes;  // against the base
  std::vector<std::string> doubts;   // that came with it
  int recipe_entries = 0;
};

bool IsDocument(const std::filesystem::path& file) { return file.extension() == ".json"; }
bool IsWorkbook(const std::filesystem::path& file) { return file.extension() == ".xlsx" || file.extension() == ".XLSX"; }

std::string NameOfFile(const std::filesystem::path& file) {
  std::string name = file.filename().string();
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

Result<Import> ReadTables(const ImportArguments& arguments, const CommonArguments& common, std::string bytes) {
  Result<CurveTables> tables = IsWorkbook(arguments.file) ? ReadCurveWorkbook(std::move(bytes)) : ReadCurveCsv(bytes);
  if (!tables) return At(tables.error(), arguments.file);
  Import import;
  std::string corrects = arguments.corrects.value_or("");
  if (corrects.empty() && !arguments.as_new && tables->origin) {
    corrects = tables->origin->map;
    if (!tables->origin->revision.empty()) corrects += "@" + tables->origin->revision;
    import.name = tables->origin->revision.empty() ? "" : tables->origin->map;
  }
  if (corrects.empty()) {
    Result<PerformanceMap> map = MapFromTables(*tables);
    if (!map) return At(map.error(), arguments.file);
    import.map = std::move(*map);
    import.doubts = DoubtsOf(import.map);
  } else {
    Result<OpenedMap> base = OpenMap(corrects, ShelfPlace(common));
    if (!base && !arguments.corrects)
      return Fail(
          base.error().code,
          fmt::format(
              "it says that it corrects {}, which cannot be opened: {} Name the map with --corrects, or give --new to take it as a map of its own.",
              ValidUtf8(corrects), base.error().message),
          arguments.file.string());
    if (!base) return std::unexpected(base.error());
    Result<MapCorrection> correction = CorrectMap(base->map, *tables);
    if (!correction) return At(correction.error(), arguments.file);
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

Result<Import> ReadImport(const ImportArguments& arguments, const CommonArguments& common) {
  Result<std::string> bytes = ReadFileContents(arguments.file, std::uintmax_t{256} << 20);
  if (!bytes) return std::unexpected(bytes.error());
  if (!IsDocument(arguments.file)) return ReadTables(arguments, common, std::move(*bytes));
  Result<PerformanceMap> map = ParseMapDocument(*bytes);
  if (!map) return At(map.error(), arguments.file);
  Import import;
  import.map = std::move(*map);
  import.document = std::move(*bytes);
  import.doubts = DoubtsOf(import.map);
  if (arguments.corrects) {
    Result<OpenedMap> base = OpenMap(*arguments.corrects, ShelfPlace(common));
    if (!base) return std::unexpected(base.error());
    if (!base->revision.empty()) import.name = base->name;
    import.base = std::move(*base);
  }
  return import;
}

struct Kept {
  std::string name, revision, branch;
  bool is_new = false;
};

// A new revision on what it corrects: on the main line if that has not moved since, else on a branch of its own.
Result<Kept> KeepOnShelf(const Import& import, const ImportArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(ShelfPlace(common), {.access = ShelfAccess::kCreate});
  if (!shelf) return std::unexpected(shelf.error());
  NewRevision revision;
  revision.name = !arguments.name.empty() ? arguments.name : !import.name.empty() ? import.name : NameOfFile(arguments.file);
  revision.document = import.document;
  revision.author = arguments.author.empty() ? UserName() : arguments.author;
  revision.message = arguments.message;
  if (revision.message.empty()) {
    revision.message = "Imported from " + arguments.file.filename().string();
    for (const std::string& change : import.changes) revision.message += "\n- " + change;
  }
  if (import.base && !import.base->revision.empty() && import.base->name == revision.name) {
    const Result<std::vector<ShelfBranch>> branches = (*shelf)->Branches(revision.name);
    if (!branches) return std::unexpected(branches.error());
    const Result<std::string> canonical = CanonicalJson(import.document);
    const std::string sha256 = canonical ? Sha256Hex(*canonical) : "";
    for (const ShelfBranch& branch : *branches)  // done before
      if (branch.head.document_sha256 == sha256) return Kept{revision.name, branch.head.id, branch.name, false};
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
      const std::string name = "correction of " + import.base->revision.substr(0, 8);
      revision.branch = name;
      for (int i = 2; !is_free(revision.branch); ++i) revision.branch = fmt::format("{} {}", name, i);
    }
  }
  const Result<AddedRevision> added = (*shelf)->AddRevision(revision);
  if (!added) return std::unexpected(added.error());
  return Kept{revision.name, added->revision.id, revision.branch, added->is_new};
}

}  // namespace

int RunImport(const ImportArguments& arguments, const CommonArguments& common) {
  if (arguments.as_new && arguments.corrects)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "--new is a map of its own, --corrects changes one; give one of them.", ""});
  const Result<Import> import = ReadImport(arguments, common);
  if (!import) return FailCommand(common, import.error());
  const bool nothing = import->base && !IsDocument(arguments.file) && import->changes.empty();
  std::optional<Kept> kept;
  std::string file;
  if (!nothing && !arguments.dry_run) {
    if (arguments.out) {
      if (const Result<void> written = ReplaceFileContents(*arguments.out, import->document); !written) return FailCommand(common, written.error());
      file = arguments.out->string();
    } else {
      if (import->base && import->base->revision.empty() && arguments.name.empty())
        return RefuseArguments(
            common, {ErrorCode::kInvalidArgument, "it corrects a map file, not one on the shelf; say where to: --out FILE or --name NAME.", ""});
      Result<Kept> done = KeepOnShelf(*import, arguments, common);
      if (!done) return FailCommand(common, done.error());
      kept = std::move(*done);
    }
  }
  std::vector<std::string> doubts = import->doubts;
  const bool diverged = kept && kept->branch.starts_with("correction of ");
  if (common.json) {
    const Json json = {
        {"file", arguments.file.string()},
        {"corrects", import->base ? Json(import->base->name + (import->base->revision.empty() ? "" : "@" + import->base->revision)) : Json(nullptr)},
        {"changes", import->changes},
        {"recipe_entries", import->recipe_entries},
        {"name", kept ? Json(kept->name) : Json(nullptr)},
        {"revision", kept ? Json(kept->revision) : Json(nullptr)},
        {"branch", kept ? Json(kept->branch) : Json(nullptr)},
        {"is_new", kept && kept->is_new},
        {"document", file.empty() ? Json(nullptr) : Json(file)},
        {"needs_review", doubts}};
    if (const int printed = PrintResult(common, json.dump(2, ' ', false, Json::error_handler_t::replace)); printed != kExitDone) return printed;
  } else {
    std::string text;
    if (import->base && !IsDocument(arguments.file))
      text += nothing ? fmt::format("no difference to {}\n", import->base->name) : fmt::format("changes to {}:\n", import->base->name);
    for (const std::string& change : import->changes) text += "  " + change + "\n";
    if (import->recipe_entries > 0 && !arguments.dry_run)
      text += fmt::format("  {} in the map's recipe, so that the corrections stand when the sheet is digitized again\n",
                          import->recipe_entries == 1 ? "one entry" : fmt::format("{} entries", import->recipe_entries));
    for (const std::string& doubt : doubts) text += "  to look at: " + doubt + "\n";
    if (kept)
      text +=
          fmt::format("{}{}@{}  {}\n", kept->name, kept->branch.empty() ? "" : fmt::format(" ({})", kept->branch), kept->revision.substr(0, 12),
                      kept->is_new ? diverged ? "added as a branch, as the map has changed since the table was written; compare and merge" : "added"
                                   : "was there already");
    if (!file.empty()) text += fmt::format("Wrote {}.\n", OnOneLine(file));
    if (const int printed = PrintResult(common, text); printed != kExitDone) return printed;
  }
  return !doubts.empty() || diverged ? kExitReview : kExitDone;
}

}  // namespace islebook
