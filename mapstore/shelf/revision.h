#pragma once
// What a revision is made of, and how it gets its name. The same on every shelf, whatever engine keeps it.
//
// The record is one JSON object in canonical form (RFC 8785), and the revision's id is the SHA-256 of exactly those bytes:
//   {"author":"...","document":"<sha256>","message":"...","parents":["<sha256>"],"schema":1,"time":"2025-03-14T09:26:53Z"}
// `document` is the SHA-256 of the map document's canonical JSON. So an id vouches for the document and, through the parents, for all of its history.
// These bytes are fixed for ever: a change needs a new `schema`.

#include <string>
#include <string_view>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr int kRevisionSchema = 1;

// The record of `revision`, which need not have its id yet.
std::string RevisionRecordJson(const RevisionRecord& revision);

// The id that belongs to the record.
std::string RevisionId(const RevisionRecord& revision);

// A name: 1 to 200 bytes of UTF-8, no control characters, no '@' (it parts name and revision), no space at either end. kInvalidArgument says what is wrong.
Result<void> CheckMapName(std::string_view name);

// "2025-03-14T09:26:53Z" and a date that exists. kInvalidArgument.
Result<void> CheckRevisionTime(std::string_view time);
std::string CurrentRevisionTime();

bool IsSha256Hex(std::string_view text);

}  // namespace islebook
