#include "ui/cli/import_command.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/whole_file.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/shop_defaults.h"
#include "ui/desk/table_import.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

}  // namespace

int RunImport(const ImportArguments& arguments, const CommonArguments& common) {
  if (arguments.as_new && arguments.corrects)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "--new is a map of its own, --corrects changes one; give one of them.", ""});
  const Result<Import> import = ReadImport({arguments.file, arguments.corrects, arguments.as_new}, ShelfPlace(common));
  if (!import) return FailCommand(common, import.error());
  const bool nothing = import->ChangesNothing();
  std::optional<KeptImport> kept;
  std::string file;
  if (!nothing && !arguments.dry_run) {
    if (arguments.out) {
      if (const Result<void> written = ReplaceFileContents(*arguments.out, import->document); !written) return FailCommand(common, written.error());
      file = arguments.out->string();
    } else {
      if (import->base && import->base->revision.empty() && arguments.name.empty())
        return RefuseArguments(
            common, {ErrorCode::kInvalidArgument, "it corrects a map file, not one on the shelf; say where to: --out FILE or --name NAME.", ""});
      Result<KeptImport> done =
          KeepImport(*import, {arguments.name, arguments.author.empty() ? UserName() : arguments.author, arguments.message}, ShelfPlace(common));
      if (!done) return FailCommand(common, done.error());
      kept = std::move(*done);
    }
  }
  std::vector<std::string> doubts = import->doubts;
  const bool diverged = kept && kept->diverged;
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
    if (import->base && !import->is_document)
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
