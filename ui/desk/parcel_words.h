#pragma once
// A parcel before it is unpacked: who signed it, what that is worth here, and what it would bring. The same words at every door.

#include <filesystem>
#include <string>
#include <string_view>

#include "mapstore/parcel/key_ring.h"
#include "mapstore/parcel/parcel.h"

namespace islebook {

// $ISLEBOOK_KEYS, else islebook/keys in the XDG configuration directory.
std::filesystem::path DefaultKeyFolder();

struct ParcelTrust {
  enum class State { kTrusted, kUnknown, kUnsigned, kWrong };
  State state = State::kUnsigned;
  std::string name;  // by which a trusted key is known here
};

// The trust that a parcel's signature has here.
ParcelTrust TrustOf(const Parcel& parcel, const KeyRing& ring);

// A stranger's text on a terminal or in a window: no control characters, one line.
std::string PlainText(std::string_view text);
// "signed by Tarnside Engine Works, whose key is trusted here".
std::string SignatureWords(const Parcel& parcel, const ParcelTrust& trust);
// "later than this shelf's, 2 new revisions".
std::string ForeseenWords(const Foreseen& one);

}  // namespace islebook
