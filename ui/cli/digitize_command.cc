#include "ui/cli/digitize_command.h"

namespace islebook {

int RunDigitize(const DigitizeArguments& arguments, const CommonArguments& common) {
  return FailCommand(common, {ErrorCode::kInternal, "this build has no digitizer.", arguments.sheets.front().string()});
}

}  // namespace islebook
