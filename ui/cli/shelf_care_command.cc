#include "ui/cli/shelf_care_command.h"

#include <algorithm>
#include <system_error>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/shelf/salvage.h"
#include "ui/cli/shelf_common.h"

namespace islebook {

using namespace shelf_cli;

int RunShelfBackup(const ShelfBackupArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  if (const Result<void> copied = CopyShelf(**shelf, arguments.to); !copied) return FailCommand(common, copied.error());
  const std::string to = ShelfForPeople(arguments.to);
  if (IsServerShelf(arguments.to)) {
    if (common.json) return PrintJson(common, {{"shelf", ShelfForPeople(ShelfPlace(common))}, {"server", to}});
    return common.quiet ? static_cast<int>(kExitDone) : PrintResult(common, to + "\n");
  }
  std::error_code error;
  const auto size = static_cast<std::int64_t>(std::filesystem::file_size(arguments.to, error));
  if (common.json) return PrintJson(common, {{"shelf", ShelfForPeople(ShelfPlace(common))}, {"file", to}, {"bytes", size}});
  return common.quiet ? static_cast<int>(kExitDone) : PrintResult(common, fmt::format("{}  {}\n", to, Bytes(size)));
}

int RunShelfSalvage(const ShelfSalvageArguments& arguments, const CommonArguments& common) {
  if (IsServerShelf(ShelfPlace(common)))
    return FailCommand(
        common,
        {ErrorCode::kInvalidArgument,
         "salvage reads damaged files. A server's shelf is put back from the server's own backups (pg_dump, pg_basebackup), or from a copy by "
         "islebook shelf backup; islebook shelf verify says what is wrong with it.",
         ShelfForPeople(ShelfPlace(common))});
  if (IsServerShelf(arguments.to.string()))
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "salvage saves into a file; islebook shelf backup copies that to a server.",
                                    ShelfForPeople(arguments.to.string())});
  CatchInterrupts();
  ProgressLine progress(common);
  const Result<SalvageReport> report = SalvageSqliteShelf(ShelfPlace(common), arguments.to, [&](double done) {
    progress.Show("saving what can be read", done);
    return !Interrupted();
  });
  progress.Clear();
  if (!report) return FailCommand(common, report.error());
  const int code = report->losses.empty() ? kExitDone : kExitReview;
  if (common.json)
    return std::max(code, PrintJson(common, {{"shelf", ShelfForPeople(ShelfPlace(common))},
                                             {"to", arguments.to.string()},
                                             {"maps", report->maps},
                                             {"revisions", report->revisions},
                                             {"rewritten_revisions", report->rewritten_revisions},
                                             {"lost_revisions", report->lost_revisions},
                                             {"sheets", report->sheets},
                                             {"losses", report->losses}}));
  for (const std::string& loss : report->losses) Say(common, loss);
  if (common.quiet) return code;
  return std::max(
      code, PrintResult(common, fmt::format("{}  {}, {}, {}{}\n", arguments.to.string(), Count(report->maps, "map", "maps"),
                                            Count(report->revisions + report->rewritten_revisions, "revision", "revisions"),
                                            Count(report->sheets, "sheet", "sheets"), report->losses.empty() ? ": everything was saved" : " saved")));
}

}  // namespace islebook
