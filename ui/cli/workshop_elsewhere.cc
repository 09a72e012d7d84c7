// The commands that the quick program leaves to the workshop. A new command that needs the digitizer or a drawing gets its line here.
#include "ui/cli/workshop.h"

#include <cerrno>
#include <cstring>
#include <filesystem>

#include <fmt/format.h>
#include <unistd.h>

#include "ui/cli/bench_command.h"
#include "ui/cli/chart_command.h"
#include "ui/cli/chart_output.h"
#include "ui/cli/digitize_command.h"
#include "ui/cli/export_command.h"
#include "ui/cli/import_command.h"
#include "ui/cli/parcel_command.h"
#include "ui/cli/shelf_care_command.h"
#include "ui/cli/shelf_command.h"
#include "ui/cli/shelf_facts_command.h"
#include "ui/cli/shelf_find_command.h"
#include "ui/cli/shelf_history_command.h"

namespace islebook {
namespace {

char** g_arguments = nullptr;

}  // namespace

bool HaveWorkshop() { return false; }
void PrepareProgram(char** arguments) { g_arguments = arguments; }

int ContinueInWorkshop(const CommonArguments& common) {
  std::error_code error;
  const std::filesystem::path own = std::filesystem::read_symlink("/proc/self/exe", error);
  const std::filesystem::path workshop = own.parent_path() / ISLEBOOK_WORKSHOP;
  errno = ENOENT;
  if (!error && g_arguments != nullptr) execv(workshop.c_str(), g_arguments);
  Complain(common,
           {ErrorCode::kNotFound,
            fmt::format("the part of Islebook that this command needs cannot be started: {}. It belongs to the same build as islebook; "
                        "\"cmake --build --preset release\" makes both, \"cmake --install build/release --prefix FOLDER\" puts both in place.",
                        std::strerror(errno)),
            workshop.lexically_normal().string()});
  return kExitNotDone;
}

int RunDigitize(const DigitizeArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunBenchCommand(const BenchArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunChart(const ChartArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunExport(const ExportArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunImport(const ImportArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunParcelPack(const ParcelPackArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunParcelLook(const ParcelLookArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunParcelUnpack(const ParcelUnpackArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunParcelKey(const ParcelKeyArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunParcelTrust(const ParcelTrustArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfAdd(const ShelfAddArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfExample(const ShelfExampleArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfList(const ShelfListArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfShow(const ShelfShowArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfLog(const ShelfLogArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfTag(const ShelfTagArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfNote(const ShelfNoteArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfWheel(const ShelfWheelArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfRemove(const ShelfRemoveArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfRestore(const ShelfRestoreArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfFind(const ShelfFindArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfDiff(const ShelfDiffArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfRevert(const ShelfRevertArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfMerge(const ShelfMergeArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfClose(const ShelfCloseArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfRedigitize(const ShelfRedigitizeArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfBackup(const ShelfBackupArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfSalvage(const ShelfSalvageArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }
int RunShelfVerify(const ShelfVerifyArguments&, const CommonArguments& common) { return ContinueInWorkshop(common); }

Result<std::vector<std::filesystem::path>> WriteCharts(const ChartFileArguments&, const PerformanceMap&, const ChartOverlay&, const ChartOptions&,
                                                       int) {
  return Fail(ErrorCode::kInternal, "charts are drawn by the workshop.", "");
}

}  // namespace islebook
