#include "mapstore/parcel/signature.h"

#include <array>
#include <vector>

#include <sodium.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/json_text.h"
#include "mapstore/map/strict_json.h"

namespace islebook {
namespace {

// Stands before what is signed, so that a signature made for a parcel is never one for something else.
constexpr std::string_view kPurpose = "islebook parcel signature 1\n";

using Seed = std::array<unsigned char, crypto_sign_SEEDBYTES>;
using Public = std::array<unsigned char, crypto_sign_PUBLICKEYBYTES>;
using Secret = std::array<unsigned char, crypto_sign_SECRETKEYBYTES>;

// Random numbers need the library started; that it may be done many times and from any thread is its promise.
void Prepare() {
  static const int started = sodium_init();
  (void)started;
}

template <typename Bytes>
std::string Hex(const Bytes& bytes) {
  std::string hex(bytes.size() * 2 + 1, '\0');
  sodium_bin2hex(hex.data(), hex.size(), bytes.data(), bytes.size());
  hex.pop_back();
  return hex;
}

template <typename Bytes>
bool FromHex(std::string_view hex, Bytes& bytes) {
  std::size_t length = 0;
  return hex.size() == bytes.size() * 2 && hex.find_first_not_of("0123456789abcdef") == std::string_view::npos &&
         sodium_hex2bin(bytes.data(), bytes.size(), hex.data(), hex.size(), nullptr, &length, nullptr) == 0 && length == bytes.size();
}

// Canonical JSON (RFC 8785): keys sorted, no space. Without `signature` it is what is signed.
std::string Statement(const std::string& public_key, const std::string& signer, const std::map<std::string, std::string>& files,
                      const std::string& signature) {
  std::string text = R"({"algorithm":"Ed25519","files":{)";
  bool first = true;
  for (const auto& [path, sha256] : files) {
    text += (first ? "" : ",") + JsonString(path) + ":" + JsonString(sha256);
    first = false;
  }
  text += "},\"public_key\":" + JsonString(public_key) + ",\"schema\":" + std::to_string(kSignatureSchema);
  if (!signature.empty()) text += ",\"signature\":" + JsonString(signature);
  return text + ",\"signer\":" + JsonString(signer) + "}";
}

std::map<std::string, std::string> SignedFiles(const std::map<std::string, BagFile>& tags) {
  std::map<std::string, std::string> files;
  for (const auto& [path, file] : tags)
    if (path != kSignatureFile && !path.starts_with("tagmanifest-")) files.emplace(path, file.sha256);
  return files;
}

}  // namespace

Result<void> CheckSignerName(std::string_view name) {
  const auto refuse = [](const char* why) { return Fail(ErrorCode::kInvalidArgument, std::string("this cannot be a signer's name: ") + why); };
  if (name.empty() || name.size() > 100) return refuse("it has 1 to 100 bytes.");
  if (ValidUtf8(name) != name) return refuse("it is UTF-8 text.");
  if (name.front() == ' ' || name.back() == ' ') return refuse("no space stands at its ends.");
  for (const char c : name)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return refuse("it stands on one line.");
  return {};
}

SigningKey MakeSigningKey(std::string name) {
  Prepare();
  Seed seed;
  randombytes_buf(seed.data(), seed.size());
  SigningKey key = *SigningKeyFromSeed(Hex(seed), std::move(name));
  sodium_memzero(seed.data(), seed.size());
  return key;
}

Result<SigningKey> SigningKeyFromSeed(const std::string& hex, std::string name) {
  Seed seed;
  if (!FromHex(hex, seed)) return Fail(ErrorCode::kInvalidArgument, "a key's seed is 64 hex digits.");
  Public public_key;
  Secret secret;
  crypto_sign_seed_keypair(public_key.data(), secret.data(), seed.data());
  sodium_memzero(secret.data(), secret.size());
  return SigningKey{hex, Hex(public_key), std::move(name)};
}

bool IsPublicKey(std::string_view hex) {
  Public key;
  std::array<unsigned char, crypto_scalarmult_curve25519_BYTES> other;
  return FromHex(hex, key) && crypto_sign_ed25519_pk_to_curve25519(other.data(), key.data()) == 0;  // refuses points of small order
}

std::string SignTags(const SigningKey& key, const std::map<std::string, BagFile>& tags) {
  Prepare();
  Seed seed;
  Public public_key;
  Secret secret;
  if (!FromHex(key.seed, seed)) return "";
  crypto_sign_seed_keypair(public_key.data(), secret.data(), seed.data());
  const std::map<std::string, std::string> files = SignedFiles(tags);
  const std::string message = std::string(kPurpose) + Statement(key.public_key, key.name, files, "");
  std::array<unsigned char, crypto_sign_BYTES> signature;
  crypto_sign_detached(signature.data(), nullptr, reinterpret_cast<const unsigned char*>(message.data()), message.size(), secret.data());
  sodium_memzero(secret.data(), secret.size());
  sodium_memzero(seed.data(), seed.size());
  return Statement(key.public_key, key.name, files, Hex(signature)) + "\n";
}

Signature CheckSignature(std::string_view text, const std::map<std::string, BagFile>& tags) {
  Prepare();
  const auto wrong = [](std::string why) { return Signature{Signature::State::kWrong, "", "", std::move(why)}; };
  const auto json = ParseStrictJson(text);
  if (!json || !json->is_object()) return wrong("its signature.json cannot be read");
  const auto word = [&](const char* key) {
    return json->contains(key) && (*json)[key].is_string() ? (*json)[key].get<std::string>() : std::string();
  };
  if (!json->contains("schema") || !(*json)["schema"].is_number_integer()) return wrong("its signature.json cannot be read");
  if ((*json)["schema"] != kSignatureSchema) return wrong("it was signed in a way that a later version of Islebook knows; use that version");
  if (word("algorithm") != "Ed25519") return wrong("it is signed by another method than Ed25519");
  const std::string public_key = word("public_key"), signer = word("signer");
  if (!CheckSignerName(signer)) return wrong("its signature.json names no signer");
  if (!json->contains("files") || !(*json)["files"].is_object()) return wrong("its signature.json cannot be read");
  std::map<std::string, std::string> files;
  for (const auto& [path, sha256] : (*json)["files"].items()) {
    if (!sha256.is_string()) return wrong("its signature.json cannot be read");
    files.emplace(path, sha256.get<std::string>());
  }
  Public key;
  std::array<unsigned char, crypto_sign_BYTES> signature;
  if (!IsPublicKey(public_key) || !FromHex(public_key, key) || !FromHex(word("signature"), signature))
    return wrong("its key or signature is malformed");
  const std::string message = std::string(kPurpose) + Statement(public_key, signer, files, "");
  if (crypto_sign_verify_detached(signature.data(), reinterpret_cast<const unsigned char*>(message.data()), message.size(), key.data()) != 0)
    return wrong("the signature was not made with the key that it names, or what was signed has been changed");
  if (files != SignedFiles(tags)) return wrong("the content is not what was signed: something was changed, added or taken away afterwards");
  return Signature{Signature::State::kGood, public_key, signer, ""};
}

}  // namespace islebook
