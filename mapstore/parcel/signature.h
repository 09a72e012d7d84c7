#pragma once
// Who packed a parcel: Ed25519 signatures (RFC 8032, by libsodium) over the hashes of a bag's tag files, through which everything else is vouched for.

#include <map>
#include <string>
#include <string_view>

#include "mapstore/parcel/bag.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr const char* kSignatureFile = "signature.json";
inline constexpr int kSignatureSchema = 1;

// A shop's own key. Whoever has the seed can sign in its name.
struct SigningKey {
  std::string seed;        // 64 hex digits, secret
  std::string public_key;  // 64 hex digits
  std::string name;        // of the shop, as it signs
};

SigningKey MakeSigningKey(std::string name);
Result<SigningKey> SigningKeyFromSeed(const std::string& seed, std::string name);  // kInvalidArgument
bool IsPublicKey(std::string_view hex);                                            // 64 hex digits and a point that signatures can be checked with

// 1 to 100 bytes of UTF-8 on one line. kInvalidArgument.
Result<void> CheckSignerName(std::string_view name);

// The text of signature.json for these tag files, itself and the tag manifest left out. The same key and files: the same text.
std::string SignTags(const SigningKey& key, const std::map<std::string, BagFile>& tags);

struct Signature {
  enum class State {
    kNone,   // not signed
    kGood,   // made with that key, over exactly these tag files
    kWrong,  // a signature that does not hold; `reason` says why
  };
  State state = State::kNone;
  std::string public_key;  // of kGood
  std::string signer;      // the name that the signer goes by: their claim, not proof
  std::string reason;
};

// Never fails: what is not a good signature is a wrong one.
Signature CheckSignature(std::string_view text, const std::map<std::string, BagFile>& tags);

}  // namespace islebook
