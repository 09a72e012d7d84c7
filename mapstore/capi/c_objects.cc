#include "mapstore/capi/c_objects.h"

namespace islebook::capi {

islebook_error* OutOfMemory() {
  static islebook_error error{ISLEBOOK_INTERNAL, "memory ran out.", ""};
  return &error;
}

int32_t Report(islebook_error** out, const Error& error) {
  const auto code = static_cast<int32_t>(error.code);
  if (out == nullptr) return code;
  try {
    *out = new islebook_error{code, error.message, error.place};
  } catch (const std::exception&) {
    *out = OutOfMemory();
  }
  return code;
}

std::unexpected<Error> Missing(const char* what) {
  return Fail(ErrorCode::kInvalidArgument, std::string("the argument ") + what + " is null.", what);
}

Result<std::optional<SurgeMargin>> ReadSurgeMargin(const char* name, const char* place) {
  if (name == nullptr) return std::nullopt;
  const auto margin = ParseSurgeMargin(name);
  if (margin) return margin;
  std::string names;
  for (const auto& definition : SurgeMarginDefinitions()) names += (names.empty() ? "" : ", ") + std::string(definition.name);
  return Fail(ErrorCode::kInvalidArgument, "there is no such surge margin; there are " + names + ".", place);
}

}  // namespace islebook::capi
