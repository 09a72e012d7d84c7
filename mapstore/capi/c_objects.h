#pragma once
// What the files of the C library share: its opaque objects, and the border that nothing throws across. Not installed.

#include <cstdint>
#include <exception>
#include <limits>
#include <new>
#include <string>

#include "mapstore/answers/askable_map.h"
#include "mapstore/capi/islebook.h"
#include "mapstore/units/error.h"

struct islebook_error {
  int32_t code = ISLEBOOK_INTERNAL;
  std::string message, place;
};

struct islebook_map {
  islebook::AskableMap map;
  int32_t threads = 1;
};

namespace islebook::capi {

inline constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

// What can be told even when memory has run out; islebook_error_free leaves it alone.
islebook_error* OutOfMemory();

// The error's code; where asked for, an error object.
int32_t Report(islebook_error** out, const Error& error);

std::unexpected<Error> Missing(const char* what);

// The name of a surge margin, null: the default. `place`: the field of the options.
Result<std::optional<SurgeMargin>> ReadSurgeMargin(const char* name, const char* place);

// Runs the body; an error value or anything thrown becomes a code and, where asked for, an error object.
template <typename Body>
int32_t Guarded(islebook_error** out, Body body) {
  if (out != nullptr) *out = nullptr;
  try {
    const Result<void> done = body();
    return done ? ISLEBOOK_OK : Report(out, done.error());
  } catch (const std::bad_alloc&) {
    if (out != nullptr) *out = OutOfMemory();
    return ISLEBOOK_INTERNAL;
  } catch (const std::exception& failure) {
    try {
      return Report(out, {ErrorCode::kInternal, std::string("the work stopped unexpectedly: ") + failure.what() + ".", ""});
    } catch (const std::exception&) {
      if (out != nullptr) *out = OutOfMemory();
      return ISLEBOOK_INTERNAL;
    }
  }
}

}  // namespace islebook::capi
