#include "ui/desk/parcel_words.h"

#include <cstdlib>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"

namespace islebook {

std::filesystem::path DefaultKeyFolder() {
  if (const char* keys = std::getenv("ISLEBOOK_KEYS"); keys != nullptr && *keys != '\0') return keys;
  const char* home = std::getenv("HOME");
  const char* config = std::getenv("XDG_CONFIG_HOME");
  const std::filesystem::path base =
      config != nullptr && *config == '/' ? std::filesystem::path(config) : std::filesystem::path(home == nullptr ? "." : home) / ".config";
  return base / "islebook" / "keys";
}

ParcelTrust TrustOf(const Parcel& parcel, const KeyRing& ring) {
  const Signature& signature = parcel.SignedBy();
  switch (signature.state) {
    case Signature::State::kNone: return {ParcelTrust::State::kUnsigned, ""};
    case Signature::State::kWrong: return {ParcelTrust::State::kWrong, ""};
    case Signature::State::kGood: break;
  }
  if (const std::optional<std::string> name = ring.NameOf(signature.public_key)) return {ParcelTrust::State::kTrusted, *name};
  return {ParcelTrust::State::kUnknown, ""};
}

std::string PlainText(std::string_view text) {
  std::string plain;
  for (const char c : ValidUtf8(text)) plain += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
  // The C1 controls, two bytes each in UTF-8, would reach a terminal too.
  for (std::size_t at = plain.find('\xC2'); at != std::string::npos; at = plain.find('\xC2', at + 1))
    if (at + 1 < plain.size() && static_cast<unsigned char>(plain[at + 1]) < 0xA0) plain.replace(at, 2, " ");
  return plain;
}

std::string SignatureWords(const Parcel& parcel, const ParcelTrust& trust) {
  const Signature& signature = parcel.SignedBy();
  switch (trust.state) {
    case ParcelTrust::State::kTrusted: return fmt::format("signed by {}, whose key is trusted here", PlainText(trust.name));
    case ParcelTrust::State::kUnknown:
      return fmt::format(
          "signed by an unknown key that calls itself \"{}\":\n  {}\n  ask that shop for its key by another way, compare, then: islebook parcel "
          "trust",
          PlainText(signature.signer), KeyInGroups(signature.public_key));
    case ParcelTrust::State::kUnsigned: return "not signed: the content is whole, but nothing says who packed it";
    case ParcelTrust::State::kWrong: return fmt::format("WRONG SIGNATURE: {}", PlainText(signature.reason));
  }
  return "";
}

std::string ForeseenWords(const Foreseen& one) {
  const std::string count = fmt::format("{} new {}", one.new_revisions, one.new_revisions == 1 ? "revision" : "revisions");
  switch (one.as) {
    case ReceivedAs::kNewMap: return "new on this shelf";
    case ReceivedAs::kSame: return "this shelf has it";
    case ReceivedAs::kBehind: return "this shelf has it, and later revisions";
    case ReceivedAs::kForward: return fmt::format("later than this shelf's, {}", count);
    case ReceivedAs::kBranch: return fmt::format("this shelf has changed it too: would become a branch, {}", count);
  }
  return "";
}

}  // namespace islebook
