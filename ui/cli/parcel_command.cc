#include "ui/cli/parcel_command.h"

#include <algorithm>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/key_ring.h"
#include "mapstore/parcel/parcel.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/cli/chart_output.h"
#include "ui/cli/parcel_text.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/output_file.h"
#include "ui/desk/parcel_words.h"

namespace islebook {
namespace {

using shelf_cli::Count;
using shelf_cli::Json;
using shelf_cli::PrintJson;

Result<Parcel> OpenParcel(const std::filesystem::path& file, const CommonArguments& common) {
  ProgressLine progress(common);
  Parcel::Options options;
  options.watch = [&progress](double part) {
    progress.Show("checking", part);
    return !Interrupted();
  };
  return Parcel::Open(file, options);
}

}  // namespace

int RunParcelPack(const ParcelPackArguments& arguments, const CommonArguments& common) {
  if (arguments.all == !arguments.maps.empty())
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "name the maps to pack, or give --all.", ""});
  CatchInterrupts();
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(ShelfPlace(common), {.access = ShelfAccess::kRead});
  if (!shelf) return FailCommand(common, shelf.error());
  PackOptions options;
  options.maps = arguments.maps;
  if (arguments.all) {
    const Result<std::vector<ShelfEntry>> entries = (*shelf)->List();
    if (!entries) return FailCommand(common, entries.error());
    for (const ShelfEntry& entry : *entries) options.maps.push_back(entry.name);
    if (entries->empty())
      return FailCommand(common, {ErrorCode::kNotFound, "the shelf is empty: there is nothing to pack.", ShelfForPeople(ShelfPlace(common))});
  }
  options.sheets = !arguments.no_sheets;
  if (!arguments.unsigned_) {
    const Result<KeyRing> ring = KeyRing::Open(arguments.keys.value_or(DefaultKeyFolder()));
    if (!ring) return FailCommand(common, ring.error());
    options.key = ring->Own();
  }
  if (!arguments.no_charts)
    options.chart = [](const PerformanceMap& map) {
      ChartOptions chart;
      chart.show_key = false;
      return ChartAsSvg(map, chart);
    };
  ProgressLine progress(common);
  options.watch = [&progress](double part) {
    progress.Show("packing", part);
    return !Interrupted();
  };
  const Result<PackedParcel> packed = PackParcel(**shelf, options);
  progress.Clear();
  if (!packed) return FailCommand(common, packed.error());
  const std::filesystem::path file = arguments.out ? *arguments.out : std::filesystem::path(packed->base + ".zip");
  if (const Result<void> written = WriteZip(file, packed->items); !written) return FailCommand(common, written.error());

  for (const std::string& sheet : packed->missing_sheets)
    Say(common, fmt::format("The sheet {} is not on the shelf, and so not in the parcel.", sheet.substr(0, 12)));
  if (common.json) {
    return PrintJson(common, {{"file", file.string()},
                              {"maps", packed->maps},
                              {"revisions", packed->revisions},
                              {"sheets", packed->sheets},
                              {"missing_sheets", packed->missing_sheets},
                              {"signed_by", options.key ? Json{{"name", options.key->name}, {"key", options.key->public_key}} : Json(nullptr)}});
  }
  return PrintResult(
      common, fmt::format("{}: {}, {}, {}; {}\n", file.string(), Count(packed->maps, "map", "maps"),
                          Count(packed->revisions, "revision", "revisions"), options.sheets ? Count(packed->sheets, "sheet", "sheets") : "no sheets",
                          options.key           ? "signed as " + options.key->name
                          : arguments.unsigned_ ? "not signed"
                                                : "not signed, as this shop has no key (islebook parcel key makes one)"));
}

int RunParcelLook(const ParcelLookArguments& arguments, const CommonArguments& common) {
  CatchInterrupts();
  const Result<KeyRing> ring = KeyRing::Open(arguments.keys.value_or(DefaultKeyFolder()));
  if (!ring) return FailCommand(common, ring.error());
  const Result<Parcel> parcel = OpenParcel(arguments.file, common);
  if (!parcel) return FailCommand(common, parcel.error());
  const ParcelTrust trust = TrustOf(*parcel, *ring);
  // How it stands to the shelf, where there is one; looking never makes one.
  std::vector<Foreseen> foreseen;
  if (Result<std::unique_ptr<Shelf>> shelf = OpenShelf(ShelfPlace(common), {.access = ShelfAccess::kRead}); shelf) {
    Result<std::vector<Foreseen>> found = ForeseeUnpack(*parcel, **shelf);
    if (!found) return FailCommand(common, found.error());
    foreseen = std::move(*found);
  } else if (shelf.error().code != ErrorCode::kNotFound) {
    Complain(common, shelf.error());
  }
  const int printed = PrintResult(common, common.json ? LookJson(arguments.file, *parcel, trust, foreseen) : LookText(*parcel, trust, foreseen));
  if (printed != kExitDone) return printed;
  if (trust.state == ParcelTrust::State::kWrong) {
    Complain(common, {ErrorCode::kWrongSignature, fmt::format("the signature does not hold: {}. Do not use it.", parcel->SignedBy().reason),
                      arguments.file.string()});
    return kExitNotDone;
  }
  return trust.state == ParcelTrust::State::kUnknown ? kExitReview : kExitDone;
}

int RunParcelUnpack(const ParcelUnpackArguments& arguments, const CommonArguments& common) {
  CatchInterrupts();
  const Result<KeyRing> ring = KeyRing::Open(arguments.keys.value_or(DefaultKeyFolder()));
  if (!ring) return FailCommand(common, ring.error());
  const Result<Parcel> parcel = OpenParcel(arguments.file, common);
  if (!parcel) return FailCommand(common, parcel.error());
  const ParcelTrust trust = TrustOf(*parcel, *ring);
  if (trust.state == ParcelTrust::State::kWrong)
    return FailCommand(
        common, {ErrorCode::kWrongSignature, fmt::format("its signature does not hold ({}); nothing was taken over.", parcel->SignedBy().reason),
                 arguments.file.string()});
  if (arguments.trusted_only && trust.state != ParcelTrust::State::kTrusted)
    return FailCommand(common, {ErrorCode::kNoKey,
                                trust.state == ParcelTrust::State::kUnsigned
                                    ? "it is not signed; nothing was taken over."
                                    : fmt::format("it is signed by a key that is not trusted here ({}); nothing was taken over.",
                                                  KeyInGroups(parcel->SignedBy().public_key)),
                                arguments.file.string()});
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(ShelfPlace(common), {.access = ShelfAccess::kCreate});
  if (!shelf) return FailCommand(common, shelf.error());
  const std::optional<std::string> name = trust.state == ParcelTrust::State::kTrusted ? std::optional(trust.name) : std::nullopt;
  const Result<std::vector<ReceivedMap>> received = UnpackParcel(*parcel, **shelf, BranchFor(*parcel, name));
  if (!received) {
    Error error = received.error();
    error.place = arguments.file.string() + (error.place.empty() ? "" : ": " + error.place);
    return FailCommand(common, error);
  }
  const int printed = PrintResult(common, common.json ? UnpackedJson(arguments.file, ShelfForPeople(ShelfPlace(common)), *parcel, trust, *received)
                                                      : UnpackedText(*parcel, trust, *received));
  if (printed != kExitDone) return printed;
  const bool diverged =
      std::any_of(received->begin(), received->end(), [](const ReceivedMap& map) { return map.as == ReceivedAs::kBranch || map.wheel_differs; });
  return trust.state == ParcelTrust::State::kUnknown || diverged ? kExitReview : kExitDone;
}

int RunParcelKey(const ParcelKeyArguments& arguments, const CommonArguments& common) {
  const std::filesystem::path folder = arguments.keys.value_or(DefaultKeyFolder());
  Result<KeyRing> ring = KeyRing::Open(folder);
  if (!ring) return FailCommand(common, ring.error());
  bool is_new = false;
  if (!ring->Own()) {
    if (arguments.name.empty())
      return FailCommand(common, {ErrorCode::kNoKey, "this shop has no key yet; --name \"NAME OF THE SHOP\" makes one.", folder.string()});
    if (const Result<void> good = CheckSignerName(arguments.name); !good) return RefuseArguments(common, good.error());
    if (const Result<SigningKey> made = ring->MakeOwn(arguments.name); !made) return FailCommand(common, made.error());
    is_new = true;
  } else if (!arguments.name.empty() && arguments.name != ring->Own()->name) {
    return FailCommand(common, {ErrorCode::kInvalidArgument,
                                fmt::format("this shop signs as {} already, and a key is never replaced.", ring->Own()->name), folder.string()});
  }
  const TrustedKey own{ring->Own()->public_key, ring->Own()->name};
  if (arguments.out)
    if (const Result<void> written = WriteWholeFile(*arguments.out, PublicKeyLine(own)); !written) return FailCommand(common, written.error());
  if (is_new) Say(common, fmt::format("Made the shop's key in {}. Keep a copy of shop.key where only you can read it.", folder.string()));
  if (common.json)
    return PrintJson(common, {{"name", own.name},
                              {"key", own.public_key},
                              {"is_new", is_new},
                              {"folder", folder.string()},
                              {"file", arguments.out ? Json(arguments.out->string()) : Json(nullptr)}});
  return PrintResult(common,
                     fmt::format("{}\n{}\n{}", own.name, KeyInGroups(own.public_key),
                                 arguments.out ? fmt::format("Give {} to those who are to trust this shop.\n", arguments.out->string()) : ""));
}

int RunParcelTrust(const ParcelTrustArguments& arguments, const CommonArguments& common) {
  Result<KeyRing> ring = KeyRing::Open(arguments.keys.value_or(DefaultKeyFolder()));
  if (!ring) return FailCommand(common, ring.error());
  bool changed = false;
  if (arguments.key.empty()) {
    if (arguments.remove || !arguments.name.empty())
      return RefuseArguments(common, {ErrorCode::kInvalidArgument, "say which key: the file that the other shop sent, or its 64 digits.", ""});
  } else {
    std::error_code error;
    std::string text = arguments.key;
    if (std::filesystem::is_regular_file(arguments.key, error)) {
      const Result<std::string> read = ReadFileContents(arguments.key, 10'000);
      if (!read) return FailCommand(common, read.error());
      text = *read;
    }
    Result<TrustedKey> key = ParsePublicKey(text);
    if (!key && arguments.remove) {  // a name serves too
      for (const TrustedKey& one : ring->Trusted())
        if (one.name == arguments.key) key = one;
    }
    if (!key) return FailCommand(common, {key.error().code, key.error().message, arguments.key.substr(0, 80)});
    if (!arguments.name.empty()) key->name = arguments.name;
    if (!arguments.remove && key->name.empty())
      return RefuseArguments(common, {ErrorCode::kInvalidArgument, "say whose key it is: --name \"NAME OF THE SHOP\".", ""});
    if (!arguments.remove && ring->Own() && ring->Own()->public_key == key->public_key)
      return FailCommand(common, {ErrorCode::kInvalidArgument, "this is the shop's own key, which is trusted anyway.", arguments.key});
    const Result<bool> done = arguments.remove ? ring->Forget(key->public_key) : ring->Trust(*key);
    if (!done) return FailCommand(common, done.error());
    if (arguments.remove && !*done) return FailCommand(common, {ErrorCode::kNotFound, "this key was not trusted.", arguments.key.substr(0, 80)});
    changed = *done;
    Say(common, arguments.remove ? "The key is no longer trusted. What was unpacked stays."
                : *done          ? fmt::format("Trusted as {}.", key->name)
                                 : "It was trusted already.");
  }
  if (common.json) {
    Json keys = Json::array();
    for (const TrustedKey& key : ring->Trusted()) keys.push_back({{"name", key.name}, {"key", key.public_key}});
    return PrintJson(common, {{"changed", changed}, {"trusted", keys}});
  }
  if (!arguments.key.empty()) return kExitDone;
  std::string text;
  for (const TrustedKey& key : ring->Trusted()) text += fmt::format("{}  {}\n", KeyInGroups(key.public_key), key.name);
  return PrintResult(common, text.empty() ? "No other shop's key is trusted yet.\n" : text);
}

}  // namespace islebook
