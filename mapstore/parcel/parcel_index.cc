#include "mapstore/parcel/parcel_index.h"

#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/strict_json.h"
#include "mapstore/parcel/parcel.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

std::unexpected<Error> Damaged(const std::string& what) {
  return Fail(ErrorCode::kParcelDamaged, what + " The parcel is damaged or was not made by this program.");
}

// Members that are absent, or of another type, are not there: what must be is checked by who asks.
std::optional<std::string> Text(const Json& json, const char* key) {
  const auto found = json.find(key);
  if (found == json.end() || !found->is_string()) return std::nullopt;
  return found->get<std::string>();
}
std::optional<double> Number(const Json& json, const char* key) {
  const auto found = json.find(key);
  if (found == json.end() || !found->is_number()) return std::nullopt;
  return found->get<double>();
}

constexpr std::pair<const char*, std::optional<double> WheelData::*> kWheelNumbers[] = {{"inducer_mm", &WheelData::inducer_mm},
                                                                                        {"exducer_mm", &WheelData::exducer_mm},
                                                                                        {"trim", &WheelData::trim},
                                                                                        {"turbine_area_ratio", &WheelData::turbine_area_ratio},
                                                                                        {"speed_limit_rpm", &WheelData::speed_limit_rpm}};

std::string WheelJson(const WheelData& wheel) {
  std::string text = "{\"maker\":" + JsonString(wheel.maker) + ",\"model\":" + JsonString(wheel.model);
  for (const auto& [key, member] : kWheelNumbers)
    if (wheel.*member) text += fmt::format(",\"{}\":{}", key, JsonNumber(*(wheel.*member)));
  return text + "}";
}

Result<MapFacts> ReadFacts(const Json& json) {
  MapFacts facts;
  if (const auto tags = json.find("tags"); tags != json.end()) {
    if (!tags->is_array()) return Damaged("its parcel.json has tags that are no list.");
    for (const Json& tag : *tags) {
      if (!tag.is_string() || !CheckTag(tag.get<std::string>())) return Damaged("its parcel.json has a tag that is none.");
      facts.tags.push_back(tag.get<std::string>());
    }
  }
  if (const auto notes = json.find("notes"); notes != json.end()) {
    if (!notes->is_array()) return Damaged("its parcel.json has notes that are no list.");
    for (const Json& one : *notes) {
      MapNote note;
      if (!one.is_object()) return Damaged("its parcel.json has a note that is none.");
      note.author = Text(one, "author").value_or("");
      note.time = Text(one, "time").value_or("");
      note.text = Text(one, "text").value_or("");
      note.revision = Text(one, "revision");
      if (note.author.empty() || note.text.empty() || !CheckRevisionTime(note.time) || (note.revision && !IsSha256Hex(*note.revision)))
        return Damaged("its parcel.json has a note that is none.");
      facts.notes.push_back(std::move(note));
    }
  }
  if (const auto wheel = json.find("wheel"); wheel != json.end()) {
    if (!wheel->is_object()) return Damaged("its parcel.json has wheel data that are none.");
    WheelData data;
    data.maker = Text(*wheel, "maker").value_or("");
    data.model = Text(*wheel, "model").value_or("");
    for (const auto& [key, member] : kWheelNumbers) data.*member = Number(*wheel, key);
    if (const Result<void> good = CheckWheel(data); !good) return Damaged("its parcel.json has wheel data that cannot be: " + good.error().message);
    facts.wheel = std::move(data);
  }
  return facts;
}

}  // namespace

std::string WriteParcelIndex(const ParcelIndex& index) {
  std::string maps;
  for (const ParcelIndexEntry& map : index.maps) {
    std::string tags, notes;
    for (const std::string& tag : map.facts.tags) tags += (tags.empty() ? "" : ",") + JsonString(tag);
    for (const MapNote& note : map.facts.notes) {
      notes += (notes.empty() ? "" : ",") + std::string("{\"author\":") + JsonString(note.author) + ",\"time\":" + JsonString(note.time) +
               ",\"text\":" + JsonString(note.text);
      if (note.revision) notes += ",\"revision\":" + JsonString(*note.revision);
      notes += "}";
    }
    maps += fmt::format("{}{{\"name\":{},\"head\":{},\"tags\":[{}],\"notes\":[{}]{}}}", maps.empty() ? "" : ",", JsonString(map.name),
                        JsonString(map.head), tags, notes, map.facts.wheel ? ",\"wheel\":" + WheelJson(*map.facts.wheel) : "");
  }
  const std::string text = fmt::format(R"({{"document":"map-parcel","schema":{},"sheets":"{}","maps":[{}]}})", kParcelSchema,
                                       index.sheets_left_out ? "left out" : "included", maps);
  return CanonicalJson(text).value_or(text);
}

Result<ParcelIndex> ReadParcelIndex(std::string_view text) {
  const auto json = ParseStrictJson(text);
  if (!json) return Damaged("its parcel.json " + json.error().message);
  if (!json->is_object() || Text(*json, "document") != "map-parcel") return Damaged("its parcel.json is not the index of a parcel.");
  const std::optional<double> schema = Number(*json, "schema");
  if (!schema || *schema < 1) return Damaged("its parcel.json has no schema number.");
  if (*schema > kParcelSchema)
    return Fail(
        ErrorCode::kNewerParcel,
        fmt::format("a later version of Islebook packed it (schema {}, this one knows up to {}); use the later version.", *schema, kParcelSchema));
  ParcelIndex index;
  index.sheets_left_out = Text(*json, "sheets") == "left out";
  const auto maps = json->find("maps");
  if (maps == json->end() || !maps->is_array() || maps->empty()) return Damaged("its parcel.json lists no map.");
  std::set<std::string> names;
  for (const Json& one : *maps) {
    if (!one.is_object()) return Damaged("its parcel.json lists a map that is none.");
    ParcelIndexEntry entry;
    entry.name = Text(one, "name").value_or("");
    entry.head = Text(one, "head").value_or("");
    if (const Result<void> good = CheckMapName(entry.name); !good)
      return Damaged("its parcel.json lists a map under a bad name: " + good.error().message);
    if (!IsSha256Hex(entry.head)) return Damaged("its parcel.json lists a map without its latest revision.");
    if (!names.insert(entry.name).second) return Damaged(fmt::format("its parcel.json lists the map \"{}\" twice.", ValidUtf8(entry.name)));
    Result<MapFacts> facts = ReadFacts(one);
    if (!facts) return std::unexpected(facts.error());
    entry.facts = std::move(*facts);
    index.maps.push_back(std::move(entry));
  }
  return index;
}

Result<RevisionRecord> ReadRevisionFile(std::string_view text) {
  const auto json = ParseStrictJson(text);
  if (!json || !json->is_object()) return Damaged("one of its revisions cannot be read.");
  RevisionRecord record;
  record.author = Text(*json, "author").value_or("");
  record.document_sha256 = Text(*json, "document").value_or("");
  record.message = Text(*json, "message").value_or("");
  record.time = Text(*json, "time").value_or("");
  const auto parents = json->find("parents");
  if (parents == json->end() || !parents->is_array()) return Damaged("one of its revisions cannot be read.");
  for (const Json& parent : *parents) {
    if (!parent.is_string() || !IsSha256Hex(parent.get<std::string>())) return Damaged("one of its revisions names a parent that is none.");
    record.parents.push_back(parent.get<std::string>());
  }
  if (const std::optional<double> schema = Number(*json, "schema"); schema && *schema > kRevisionSchema)
    return Fail(ErrorCode::kNewerParcel, "a later version of Islebook made one of its revisions; use the later version.");
  if (record.author.empty() || !IsSha256Hex(record.document_sha256) || !CheckRevisionTime(record.time))
    return Damaged("one of its revisions cannot be read.");
  // The bytes are fixed: whatever is not exactly this would have another id.
  if (RevisionRecordJson(record) != text) return Damaged("one of its revisions is not written as revisions are.");
  record.id = Sha256Hex(text);
  return record;
}

}  // namespace islebook
