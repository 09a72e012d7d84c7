// Parcels made to do harm, or damaged on their way: each is refused with a reason, and nothing is written.

#include <filesystem>

#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/parcel/parcel_index.h"
#include "mapstore/shelf/revision.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/parcel/parcel_test_support.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using namespace parcel_test;
using shelf_test::TemporaryFolder;

// Opening it, and unpacking whatever was opened, both from memory and from a file, must end in this error; the shelf stays empty and no file appears.
void ExpectRefused(const std::string& bytes, ErrorCode code, const std::string& word) {
  TemporaryFolder folder;
  const std::filesystem::path file = folder.Path() / "stranger.zip";
  shelf_test::WriteFile(file, bytes);
  for (const bool from_file : {false, true}) {
    const Result<Parcel> parcel = from_file ? Parcel::Open(file, {}) : Parcel::OpenBytes(bytes, {});
    Result<void> outcome;
    if (!parcel) {
      outcome = std::unexpected(parcel.error());
    } else {
      auto shelf = OpenSqliteShelf(folder.Path() / "shelf.db", {.access = ShelfAccess::kCreate});
      ASSERT_TRUE(shelf);
      if (const auto received = UnpackParcel(*parcel, **shelf, "from a parcel"); !received) outcome = std::unexpected(received.error());
      EXPECT_TRUE((*shelf)->List()->empty());
      EXPECT_EQ((*shelf)->Verify({})->revisions, 0);
      EXPECT_EQ((*shelf)->Verify({})->sheets, 0);
    }
    ASSERT_FALSE(outcome) << "was taken";
    EXPECT_EQ(outcome.error().code, code) << outcome.error().message;
    EXPECT_NE(outcome.error().message.find(word), std::string::npos) << outcome.error().message;
    if (from_file && !parcel) {
      EXPECT_FALSE(outcome.error().place.empty());
    }
  }
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder.Path()))
    EXPECT_TRUE(entry.path() == file || entry.path().filename().string().starts_with("shelf.db")) << entry.path();
}

TEST(HostileParcel, TheSoundOneIsTaken) {
  const Result<Parcel> parcel = Parcel::OpenBytes(ZippedBag(SoundParcel()), {});
  ASSERT_TRUE(parcel) << parcel.error().message;
  EXPECT_EQ(parcel->Maps().size(), 1u);
  EXPECT_EQ(parcel->Maps()[0].history.size(), 2u);
  const Result<Parcel> raw = Parcel::OpenBytes(RawZip(RawEntries(AsBag(SoundParcel()))), {});
  ASSERT_TRUE(raw) << raw.error().message;
}

TEST(HostileParcel, PathsThatLeadOut) {
  for (const std::string name :
       {"../escape", "maps-parcel/../../escape", "/etc/escape", "maps-parcel/data/../../../escape", "maps-parcel\\data\\escape", "C:/escape",
        "maps-parcel/./data/x", "maps-parcel//data/x", "maps-parcel/data/line\nbreak"}) {
    std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
    entries.push_back({name, "harm"});
    SCOPED_TRACE(name);
    ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "named");
  }
}

TEST(HostileParcel, AManifestThatLeadsOut) {
  Files files = AsBag(SoundParcel());
  files["manifest-sha256.txt"] += std::string(64, '0') + "  data/../../escape\n";
  files.erase("tagmanifest-sha256.txt");
  ExpectRefused(Zipped(AsBag(files)), ErrorCode::kParcelRefused, "leads out");
}

TEST(HostileParcel, Links) {
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  entries.back().attributes = 0120777u << 16;
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "link");
  entries.back().attributes = 0010644u << 16;  // a named pipe
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "not an ordinary file");
}

TEST(HostileParcel, TwoFilesOfOneName) {
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  entries.push_back(entries.front());
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "two files");
  entries.back().name = "maps-parcel/bagit.txt/inside";
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "file and a folder");
}

TEST(HostileParcel, ABomb) {
  Files files = SoundParcel();
  files["data/sheets/" + Sha256Hex(std::string(64 << 20, '\0')) + ".png"] = std::string(64 << 20, '\0');  // packs to a thousandth
  ExpectRefused(Zipped(AsBag(files)), ErrorCode::kParcelRefused, "fill a disk");
}

TEST(HostileParcel, ABombOfManySmallFiles) {
  Files files = SoundParcel();
  for (int i = 0; i < 20; ++i) files["data/more/" + std::to_string(i)] = std::string(4 << 20, 'x');
  const std::string bytes = ZippedBag(files);
  EXPECT_LT(bytes.size(), std::size_t{1} << 20);
  const Result<Parcel> parcel = Parcel::OpenBytes(bytes, {.limits = {.max_total_bytes = 64 << 20}});
  ASSERT_FALSE(parcel);
  EXPECT_EQ(parcel.error().code, ErrorCode::kParcelRefused);
  EXPECT_NE(parcel.error().message.find("more than the"), std::string::npos);
}

TEST(HostileParcel, SizesThatAreNotTrue) {
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  for (const std::int64_t claimed : {std::int64_t{1}, std::int64_t{1} << 31}) {
    std::vector<RawEntry> lying = entries;
    lying.back().claimed_size = claimed;
    SCOPED_TRACE(claimed);
    const Result<Parcel> parcel = Parcel::OpenBytes(RawZip(lying), {});
    ASSERT_FALSE(parcel);
    EXPECT_TRUE(parcel.error().code == ErrorCode::kParcelDamaged || parcel.error().code == ErrorCode::kParcelRefused) << parcel.error().message;
  }
}

TEST(HostileParcel, EncryptedAndOddMethods) {
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  entries.back().flags = 1;
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "encrypted");
  entries.back().flags = 0;
  entries.back().method = 14;
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "method");
}

TEST(HostileParcel, AMillionEntries) {
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  entries.reserve(1'000'000);
  while (entries.size() < 1'000'000) entries.push_back({"maps-parcel/data/x/" + std::to_string(entries.size()), ""});
  ExpectRefused(RawZip(entries), ErrorCode::kParcelRefused, "1000000 files");
}

TEST(HostileParcel, ALyingManifest) {
  const Files sound = AsBag(SoundParcel());
  const std::string sheet = "data/sheets/" + Sha256Hex("the sheet's bytes") + ".bin";
  Files files = sound;
  files[sheet] = "another sheet bytes";  // content that is not what the manifest says
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "not what manifest-sha256.txt says");
  files = sound;
  files.erase(sheet);
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "missing");
  files = sound;
  files["data/unlisted.txt"] = "not listed";
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "does not list it");
  files = sound;
  files["manifest-sha256.txt"] += "\n";  // the tag manifest vouches for the manifest
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "not what tagmanifest-sha256.txt says");
  files = sound;
  files["manifest-sha256.txt"] += Sha256Hex("the sheet's bytes") + "  " + sheet + "\n";
  files.erase("tagmanifest-sha256.txt");
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "twice");
  files = sound;
  files["bag-info.txt"] = "Payload-Oxum: 12.3\n";
  files.erase("tagmanifest-sha256.txt");
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "Payload-Oxum");
  files = sound;
  files.erase("manifest-sha256.txt");
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "manifest-sha256.txt is missing");
  files = sound;
  files["fetch.txt"] = "http://127.0.0.1/x - data/x\n";
  ExpectRefused(Zipped(files), ErrorCode::kParcelDamaged, "fetch.txt");
}

TEST(HostileParcel, NoBag) {
  ExpectRefused("", ErrorCode::kParcelDamaged, "not a ZIP");
  ExpectRefused(std::string(100'000, 'x'), ErrorCode::kParcelDamaged, "not a ZIP");
  ExpectRefused(Zipped({{"readme.txt", "hello"}}), ErrorCode::kParcelDamaged, "bagit.txt");
  ExpectRefused(ZippedBag({{"data/readme.txt", "hello"}}), ErrorCode::kParcelDamaged, "parcel.json");
  std::vector<RawEntry> entries = RawEntries(AsBag(SoundParcel()));
  entries.push_back({"other/bagit.txt", "x"});
  ExpectRefused(RawZip(entries), ErrorCode::kParcelDamaged, "more than one folder");
}

TEST(HostileParcel, TruncatedAnywhere) {
  const std::string whole = ZippedBag(SoundParcel(40));
  ASSERT_GT(whole.size(), 20'000u);
  int refused = 0;
  for (std::size_t length = 0; length < whole.size(); length += 1000) {
    const Result<Parcel> parcel = Parcel::OpenBytes(whole.substr(0, length), {});
    ASSERT_FALSE(parcel) << length;
    EXPECT_EQ(parcel.error().code, ErrorCode::kParcelDamaged) << length << ": " << parcel.error().message;
    EXPECT_FALSE(parcel.error().message.empty());
    ++refused;
  }
  EXPECT_GT(refused, 20);
  for (std::size_t cut = 1; cut <= 64; ++cut) EXPECT_FALSE(Parcel::OpenBytes(whole.substr(0, whole.size() - cut), {})) << cut;
}

TEST(HostileParcel, AnyByteChanged) {
  const std::string whole = ZippedBag(SoundParcel(1));
  const Result<Parcel> sound = Parcel::OpenBytes(whole, {});
  ASSERT_TRUE(sound);
  for (std::size_t at = 0; at < whole.size(); ++at) {
    std::string changed = whole;
    changed[at] = static_cast<char>(changed[at] ^ 0x55);
    const Result<Parcel> parcel = Parcel::OpenBytes(changed, {});
    // Times, attributes and the like may change without harm; what the parcel says may not.
    if (!parcel) continue;
    EXPECT_EQ(parcel->Maps()[0].history, sound->Maps()[0].history) << at;
    EXPECT_EQ(*parcel->Document(sound->Maps()[0].history[0].document_sha256), *sound->Document(sound->Maps()[0].history[0].document_sha256)) << at;
  }
}

// Puts one more revision with this document into a sound parcel.
Files WithDocument(const std::string& document) {
  Files files = SoundParcel(1);
  RevisionRecord record{"", {}, Sha256Hex(document), "Ines", "2025-03-14T09:26:53Z", ""};
  record.id = RevisionId(record);
  files["data/documents/" + record.document_sha256 + ".map.json"] = document;
  files["data/revisions/" + record.id + ".json"] = RevisionRecordJson(record);
  files["data/parcel.json"] =
      WriteParcelIndex({false, {{"Alder 52", ReadParcelIndex(files["data/parcel.json"])->maps[0].head, {}}, {"Rowan 83", record.id, {}}}});
  return files;
}

TEST(HostileParcel, AbsurdNumbersInDocuments) {
  const std::string sound = *CanonicalJson(shelf_test::Document("Rowan 83", 90000));
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string changed = sound;
    const std::size_t at = changed.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return changed.replace(at, from.size(), to);
  };
  ASSERT_TRUE(Parcel::OpenBytes(ZippedBag(WithDocument(sound)), {}));
  ExpectRefused(ZippedBag(WithDocument(with("[0.1,2]", "[1e300,2]"))), ErrorCode::kMalformedDocument, "map document");
  ExpectRefused(ZippedBag(WithDocument(with("[0.1,2]", "[1e999,2]"))), ErrorCode::kMalformedDocument, "too large");
  ExpectRefused(ZippedBag(WithDocument(with("\"temperature_K\":298", "\"temperature_K\":-4"))), ErrorCode::kMalformedDocument, "temperature");
  ExpectRefused(ZippedBag(WithDocument(with("\"confidence\":0.9", "\"confidence\":90"))), ErrorCode::kMalformedDocument, "confidence");
  ExpectRefused(ZippedBag(WithDocument(with("[800,600]", "[800,-600]"))), ErrorCode::kMalformedDocument, "size");
  ExpectRefused(ZippedBag(WithDocument(with("\"schema\":1", "\"schema\":99"))), ErrorCode::kUnsupportedSchema, "newer version");
  ExpectRefused(ZippedBag(WithDocument(with("\"title\":\"Rowan 83\"", "\"title\":\"Rowan 83\",\"title\":\"Rowan 84\""))),
                ErrorCode::kMalformedDocument, "twice");
  ExpectRefused(ZippedBag(WithDocument(std::string(100'000, '['))), ErrorCode::kMalformedDocument, "nested");
  ExpectRefused(ZippedBag(WithDocument(" " + sound)), ErrorCode::kParcelDamaged, "canonical");
  ExpectRefused(ZippedBag(WithDocument("")), ErrorCode::kMalformedDocument, "empty");
}

TEST(HostileParcel, HistoriesThatAreNotTrue) {
  const Files sound = SoundParcel(3);
  const ParcelIndex index = *ReadParcelIndex(sound.at("data/parcel.json"));
  const std::string head = "data/revisions/" + index.maps[0].head + ".json";
  const RevisionRecord record = *ReadRevisionFile(sound.at(head));
  Files files = sound;
  files[head].replace(files[head].find("Ines"), 4, "Ivan");  // a record that is not its id's
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "not what its name says");
  files = sound;
  files.erase("data/revisions/" + record.parents[0] + ".json");
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "not whole");
  files = sound;
  files.erase("data/documents/" + record.document_sha256 + ".map.json");
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "map document of revision");
  files = sound;
  files["data/parcel.json"] = WriteParcelIndex({false, {{"Alder 52", record.parents[0], {}}}});  // the head belongs to no map then
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "belongs to none");
  files = sound;
  files["data/parcel.json"] = WriteParcelIndex({false, {{"Alder@52", record.id, {}}}});
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "bad name");
  files = sound;
  files["data/parcel.json"] = WriteParcelIndex({false, {{"Alder 52", record.id, {}}, {"Alder 52", record.id, {}}}});
  ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "twice");
  for (const std::string text :
       {"", "{}", "[]", "{\"document\":\"map-parcel\",\"schema\":1}", "{\"document\":\"map-parcel\",\"schema\":1,\"maps\":[7]}"}) {
    files = sound;
    files["data/parcel.json"] = text;
    ExpectRefused(ZippedBag(files), ErrorCode::kParcelDamaged, "parcel.json");
  }
  files = sound;
  files["data/parcel.json"] = "{\"document\":\"map-parcel\",\"maps\":[],\"schema\":2}";
  ExpectRefused(ZippedBag(files), ErrorCode::kNewerParcel, "later version");
}

TEST(HostileParcel, WrongSignatures) {
  const Files sound = AsBag(SoundParcel());
  const auto signed_by = [&](const Files& what) {
    std::map<std::string, BagFile> tags;
    for (const auto& [path, content] : what)
      if (!path.starts_with("data/")) tags[path] = {Sha256Hex(content), 0};
    return SignTags(MakeSigningKey("Fellside Rotors"), tags);
  };
  const auto with = [&](Files files, const std::string& signature) {
    files[kSignatureFile] = signature;
    files.erase("tagmanifest-sha256.txt");
    return ZippedBag(files);
  };
  const std::string good = signed_by(sound);
  ASSERT_EQ(Parcel::OpenBytes(with(sound, good), {})->SignedBy().state, Signature::State::kGood);
  std::string forged = good;  // another's name over the same signature
  forged.replace(forged.find("Fellside"), 8, "Tarnside");
  ExpectRefused(with(sound, forged), ErrorCode::kWrongSignature, "does not hold");
  Files other = SoundParcel(3);  // another content under the old signature
  ExpectRefused(with(AsBag(other), good), ErrorCode::kWrongSignature, "not what was signed");
  Files added = sound;  // a tag file that was not signed
  added["extra.txt"] = "x";
  ExpectRefused(with(added, good), ErrorCode::kWrongSignature, "not what was signed");
  for (const std::string text : {"", "{}", "null", "[1]", "{\"schema\":1}"})
    ExpectRefused(with(sound, text), ErrorCode::kWrongSignature, "does not hold");
  std::string zero = good;  // a key of small order, with which any signature would hold
  const std::size_t at = zero.find("\"public_key\":\"") + 14;
  zero.replace(at, 64, "01" + std::string(62, '0'));
  ExpectRefused(with(sound, zero), ErrorCode::kWrongSignature, "malformed");
}

}  // namespace
}  // namespace islebook
