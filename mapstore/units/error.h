#pragma once
// Errors are values. Every fallible operation returns Result<T>; the message is one sentence for a person:
// what happened, where, what to do. Codes are numbered by layer and never renumbered.

#include <expected>
#include <string>
#include <utility>

namespace islebook {

enum class ErrorCode : int {
  // General, 1-99.
  kInvalidArgument = 1,  // the caller's options or arguments are off
  kNotFound = 2,
  kCannotRead = 3,   // a file or stream cannot be read
  kCannotWrite = 4,  // folder not writable, disk full
  kCancelled = 5,    // the caller's progress callback asked to stop
  kInternal = 6,     // a library failed in a way that should not happen
  // mapstore/units, 1000-1099.
  kUnknownUnit = 1000,
  kIncompatibleUnit = 1001,
  kOutOfRange = 1002,
  // mapstore/map, 1100-1199.
  kMalformedDocument = 1100,
  kUnsupportedSchema = 1101,
  kWrongKind = 1102,
  // mapstore/shelf, 2000-2099.
  kShelfUnavailable = 2000,
  kShelfDamaged = 2001,
  kShelfBusy = 2002,
  kNewerShelf = 2003,
  // mapstore/parcel, 2100-2199.
  kParcelDamaged = 2100,  // truncated, no parcel at all, or its content is not what its manifests say
  kParcelRefused = 2101,  // made to do harm, or beyond what a parcel may be
  kWrongSignature = 2102,
  kNewerParcel = 2103,
  kNoKey = 2104,
  kBadTable = 2105,  // a CSV or spreadsheet that is no table of curves
  // mapstore/surface and query, 3000-3199.
  kNotEnoughCurves = 3000,
  kOffMap = 3100,
  // mapstore/bench, 3200-3299.
  kBadCase = 3200,
  // digitizer, 5000-5999: sheet 50xx, page 51xx, ridges 52xx, print 53xx, axes 54xx, curves 55xx, labels 56xx, assemble 57xx, recipe 58xx, session 59xx.
  kNotASheet = 5000,  // empty, truncated, not a picture
  kSheetTooLarge = 5001,
  kSheetTooSmall = 5002,
  kNoPage = 5100,
  kNoReader = 5300,  // the print reader's language data are missing
  kNoChart = 5400,
  kBadRecipe = 5800,
};

struct Error {
  ErrorCode code = ErrorCode::kInternal;
  std::string message;  // a sentence: what happened and what to do
  std::string place;    // file, key, line or curve that it is about; may be empty
};

template <typename T>
using Result = std::expected<T, Error>;

inline std::unexpected<Error> Fail(ErrorCode code, std::string message, std::string place = {}) {
  return std::unexpected(Error{code, std::move(message), std::move(place)});
}

}  // namespace islebook
