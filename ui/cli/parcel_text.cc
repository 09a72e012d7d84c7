#include "ui/cli/parcel_text.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "ui/cli/shelf_common.h"
#include "ui/desk/parcel_words.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;
using shelf_cli::Count;

const char* TrustWord(ParcelTrust::State state) {
  switch (state) {
    case ParcelTrust::State::kTrusted: return "trusted";
    case ParcelTrust::State::kUnknown: return "unknown";
    case ParcelTrust::State::kUnsigned: return "unsigned";
    case ParcelTrust::State::kWrong: return "wrong";
  }
  return "";
}

const char* MeetingWord(ReceivedAs as) {
  switch (as) {
    case ReceivedAs::kNewMap: return "new";
    case ReceivedAs::kSame: return "same";
    case ReceivedAs::kBehind: return "behind";
    case ReceivedAs::kForward: return "forward";
    case ReceivedAs::kBranch: return "branch";
  }
  return "";
}

Json SignatureJson(const Parcel& parcel, const ParcelTrust& trust) {
  const Signature& signature = parcel.SignedBy();
  Json json = {{"state", TrustWord(trust.state)}};
  if (signature.state == Signature::State::kGood) {
    json["key"] = signature.public_key;
    json["signer"] = signature.signer;
  }
  if (trust.state == ParcelTrust::State::kTrusted) json["name"] = trust.name;
  if (signature.state == Signature::State::kWrong) json["reason"] = signature.reason;
  return json;
}

}  // namespace

std::string LookText(const Parcel& parcel, const ParcelTrust& trust, const std::vector<Foreseen>& foreseen) {
  std::string text = SignatureWords(parcel, trust) + "\n";
  text += fmt::format("{}, {}\n", Count(static_cast<std::int64_t>(parcel.Maps().size()), "map", "maps"),
                      parcel.SheetsLeftOut() ? "sheets left out" : Count(static_cast<std::int64_t>(parcel.Sheets().size()), "sheet", "sheets"));
  std::vector<std::vector<std::string>> rows;
  for (const ParcelMap& map : parcel.Maps()) {
    const RevisionRecord& head = map.history.back();
    const ParcelDocument& document = parcel.Documents().at(head.document_sha256);
    const char* sheet = !document.sheet_sha256                             ? "no sheet named"
                        : parcel.Sheets().contains(*document.sheet_sha256) ? "with its sheet"
                                                                           : "without its sheet";
    std::string here;
    for (const Foreseen& one : foreseen)
      if (one.name == map.name) here = ForeseenWords(one);
    rows.push_back(
        {PlainText(map.name), map.head.substr(0, 12), document.kind.empty() ? "kind not known" : document.kind,
         Count(document.curves, "curve", "curves") + (document.doubts > 0 ? ", " + Count(document.doubts, "doubt", "doubts") : ""), sheet,
         fmt::format("{}, latest {} by {}{}", Count(static_cast<std::int64_t>(map.history.size()), "revision", "revisions"), head.time,
                     PlainText(head.author), head.message.empty() ? "" : ": " + PlainText(head.message.substr(0, head.message.find('\n')))),
         here});
  }
  if (!rows.empty()) text += "\n" + shelf_cli::Table(rows);
  return text;
}

std::string LookJson(const std::filesystem::path& file, const Parcel& parcel, const ParcelTrust& trust, const std::vector<Foreseen>& foreseen) {
  Json maps = Json::array();
  for (const ParcelMap& map : parcel.Maps()) {
    const RevisionRecord& head = map.history.back();
    const ParcelDocument& document = parcel.Documents().at(head.document_sha256);
    Json history = Json::array();
    for (auto record = map.history.rbegin(); record != map.history.rend(); ++record)
      history.push_back({{"revision", record->id},
                         {"parents", record->parents},
                         {"document_sha256", record->document_sha256},
                         {"author", record->author},
                         {"time", record->time},
                         {"message", record->message}});
    Json one = {{"name", map.name},
                {"revision", map.head},
                {"kind", document.kind.empty() ? Json(nullptr) : Json(document.kind)},
                {"title", document.title},
                {"curves", document.curves},
                {"doubts", document.doubts},
                {"sheet_sha256", document.sheet_sha256 ? Json(*document.sheet_sha256) : Json(nullptr)},
                {"sheet_in_parcel", document.sheet_sha256 && parcel.Sheets().contains(*document.sheet_sha256)},
                {"tags", map.facts.tags},
                {"notes", map.facts.notes.size()},
                {"history", std::move(history)}};
    for (const Foreseen& seen : foreseen)
      if (seen.name == map.name) one["here"] = {{"as", MeetingWord(seen.as)}, {"new_revisions", seen.new_revisions}};
    maps.push_back(std::move(one));
  }
  const Json json = {{"file", file.string()},
                     {"signature", SignatureJson(parcel, trust)},
                     {"sheets", parcel.Sheets().size()},
                     {"sheets_left_out", parcel.SheetsLeftOut()},
                     {"maps", std::move(maps)}};
  return json.dump(2, ' ', false, Json::error_handler_t::replace);
}

std::string UnpackedText(const Parcel& parcel, const ParcelTrust& trust, const std::vector<ReceivedMap>& received) {
  std::string text = SignatureWords(parcel, trust) + "\n";
  for (const ReceivedMap& map : received) {
    const std::string count = Count(map.new_revisions, "new revision", "new revisions");
    std::string what;
    switch (map.as) {
      case ReceivedAs::kNewMap: what = "new, " + Count(map.new_revisions, "revision", "revisions"); break;
      case ReceivedAs::kSame: what = "was there already"; break;
      case ReceivedAs::kBehind: what = "was there already, with later revisions"; break;
      case ReceivedAs::kForward: what = "moved forward, " + count; break;
      case ReceivedAs::kBranch:
        what = fmt::format("both sides changed it: theirs is kept as the branch {}@{}, {}; compare and merge them", PlainText(map.name),
                           PlainText(map.branch), count);
        break;
    }
    text += fmt::format("{}  {}\n", PlainText(map.name), what);
    if (map.wheel_differs) text += fmt::format("{}  their wheel data differ from this shelf's, which stand\n", PlainText(map.name));
  }
  return text;
}

std::string UnpackedJson(const std::filesystem::path& file, const std::filesystem::path& shelf, const Parcel& parcel, const ParcelTrust& trust,
                         const std::vector<ReceivedMap>& received) {
  Json maps = Json::array();
  for (const ReceivedMap& map : received)
    maps.push_back({{"name", map.name},
                    {"as", MeetingWord(map.as)},
                    {"branch", map.branch},
                    {"new_revisions", map.new_revisions},
                    {"new_notes", map.new_notes},
                    {"new_tags", map.new_tags},
                    {"wheel_differs", map.wheel_differs}});
  const Json json = {{"file", file.string()}, {"shelf", shelf.string()}, {"signature", SignatureJson(parcel, trust)}, {"maps", std::move(maps)}};
  return json.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace islebook
