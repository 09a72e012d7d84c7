#include "mapstore/units/udunits_door.h"

#include <cmath>
#include <memory>
#include <mutex>

#include <udunits2.h>

namespace islebook {
namespace {

struct FreeUnit {
  void operator()(ut_unit* unit) const { ut_free(unit); }
};
struct FreeConverter {
  void operator()(cv_converter* converter) const { cv_free(converter); }
};

std::mutex& Lock() {
  static std::mutex mutex;
  return mutex;
}

// Read once, kept for the life of the program. Call with the lock held.
ut_system* System() {
  static ut_system* const system = [] {
    ut_set_error_message_handler(ut_ignore);
    return ut_read_xml(nullptr);
  }();
  return system;
}

}  // namespace

Result<std::optional<LinearUnit>> UdunitsConversion(const std::string& from, const std::string& to) {
  const std::lock_guard guard(Lock());
  ut_system* const system = System();
  if (system == nullptr) return Fail(ErrorCode::kInternal, "the units database of UDUNITS-2 cannot be read; install the package libudunits2-data.");
  const std::unique_ptr<ut_unit, FreeUnit> a(ut_parse(system, from.c_str(), UT_UTF8)), b(ut_parse(system, to.c_str(), UT_UTF8));
  if (!a || !b || ut_are_convertible(a.get(), b.get()) == 0) return std::nullopt;
  const std::unique_ptr<cv_converter, FreeConverter> converter(ut_get_converter(a.get(), b.get()));
  if (!converter) return std::nullopt;
  LinearUnit linear;
  linear.offset = cv_convert_double(converter.get(), 0.0);
  linear.factor = linear.offset == 0.0 ? cv_convert_double(converter.get(), 1.0) : (cv_convert_double(converter.get(), 1e6) - linear.offset) / 1e6;
  // UDUNITS also converts to reciprocals and logarithms; those are not a factor and an offset.
  const double at_ten = cv_convert_double(converter.get(), 10.0);
  if (!std::isfinite(linear.factor) || !std::isfinite(linear.offset) || linear.factor <= 0.0) return std::nullopt;
  if (!std::isfinite(at_ten) || std::fabs(at_ten - (linear.offset + 10.0 * linear.factor)) > 1e-9 * std::fabs(at_ten)) return std::nullopt;
  return linear;
}

}  // namespace islebook
