#include "mapstore/shelf/server/server_shelf.h"
#include "mapstore/units/error.h"
#include "ui/cli/workshop.h"

namespace islebook {

bool HaveWorkshop() { return true; }
void PrepareProgram(char**) { UseServerShelves(); }

int ContinueInWorkshop(const CommonArguments& common) {
  Complain(common, {ErrorCode::kInternal, "this program is the workshop already.", ""});
  return kExitNotDone;
}

}  // namespace islebook
