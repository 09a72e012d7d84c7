#include "mapstore/parcel/parcel.h"

#include <cstdlib>

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/parcel/parcel_test_support.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using parcel_test::Bytes;
using shelf_test::Document;
using shelf_test::TemporaryFolder;

class ParcelTest : public testing::Test {
 protected:
  static std::unique_ptr<Shelf> Open(const std::filesystem::path& file) {
    auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
    EXPECT_TRUE(shelf) << shelf.error().message;
    return std::move(*shelf);
  }
  void SetUp() override {
    ours_ = Open(folder_.Path() / "ours.db");
    theirs_ = Open(folder_.Path() / "theirs.db");
  }
  static AddedRevision Add(Shelf& shelf, const std::string& name, int speed, const std::string& author = "Ines", bool with_sheet = true,
                           std::optional<std::vector<std::string>> parents = std::nullopt) {
    NewRevision revision;
    revision.name = name;
    revision.document = Document(name, speed);
    if (with_sheet) revision.sheet = "the sheet's bytes";
    revision.author = author;
    revision.message = fmt::format("speed {}", speed);
    revision.parents = std::move(parents);
    const Result<AddedRevision> added = shelf.AddRevision(revision);
    EXPECT_TRUE(added) << (added ? "" : added.error().message);
    return added.value_or(AddedRevision{});
  }
  static std::string Pack(Shelf& shelf, PackOptions options) {
    const Result<PackedParcel> packed = PackParcel(shelf, options);
    EXPECT_TRUE(packed) << (packed ? "" : packed.error().message);
    return packed ? Bytes(*packed) : "";
  }
  static std::vector<ReceivedMap> Unpack(const std::string& bytes, Shelf& shelf) {
    const Result<Parcel> parcel = Parcel::OpenBytes(bytes, {});
    EXPECT_TRUE(parcel) << (parcel ? "" : parcel.error().message);
    if (!parcel) return {};
    const auto foreseen = ForeseeUnpack(*parcel, shelf);
    EXPECT_TRUE(foreseen);
    const auto received = UnpackParcel(*parcel, shelf, BranchFor(*parcel, "Tarnside Engine Works"));
    EXPECT_TRUE(received) << (received ? "" : received.error().message);
    if (!received || !foreseen) return {};
    // What was foreseen is what happened.
    for (std::size_t i = 0; i < received->size(); ++i) {
      EXPECT_EQ((*foreseen)[i].as, (*received)[i].as);
      EXPECT_EQ((*foreseen)[i].new_revisions, (*received)[i].new_revisions);
    }
    const Result<ShelfReport> report = shelf.Verify({});
    EXPECT_TRUE(report && report->problems.empty());
    return *received;
  }

  TemporaryFolder folder_;
  std::unique_ptr<Shelf> ours_, theirs_;
};

TEST_F(ParcelTest, CarriesMapsHistorySheetsAndFacts) {
  Add(*ours_, "Alder 52", 90000);
  Add(*ours_, "Alder 52", 91000, "Tomas");
  Add(*ours_, "Rowan 83", 60000);
  ASSERT_TRUE(ours_->SetTag("Alder 52", "ferry", true, "Ines"));
  ASSERT_TRUE(ours_->AddNote("Alder 52", {"Ines", "2025-03-14T09:26:53Z", "surge line from the second page", std::nullopt}));
  ASSERT_TRUE(ours_->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 52.0, 70.0, 55.2, std::nullopt, 120000.0}, "Ines"));
  const std::string bytes = Pack(*ours_, {.maps = {"Rowan 83", "Alder 52"}});
  const auto received = Unpack(bytes, *theirs_);
  ASSERT_EQ(received.size(), 2u);
  EXPECT_EQ(received[0].name, "Alder 52");
  EXPECT_EQ(received[0].as, ReceivedAs::kNewMap);
  EXPECT_EQ(received[0].new_revisions, 2);
  EXPECT_EQ(*theirs_->Log("Alder 52"), *ours_->Log("Alder 52"));
  EXPECT_EQ(*theirs_->Log("Rowan 83"), *ours_->Log("Rowan 83"));
  EXPECT_EQ(theirs_->Show("Alder 52")->document, ours_->Show("Alder 52")->document);
  EXPECT_EQ(*theirs_->Sheet(Sha256Hex("the sheet's bytes")), "the sheet's bytes");
  EXPECT_EQ(*theirs_->Facts("Alder 52"), *ours_->Facts("Alder 52"));
}

TEST_F(ParcelTest, TheSameContentIsTheSameParcel) {
  Add(*ours_, "Alder 52", 90000);
  Add(*ours_, "Rowan 83", 60000);
  const SigningKey key = MakeSigningKey("Tarnside Engine Works");
  const std::string bytes = Pack(*ours_, {.maps = {"Alder 52", "Rowan 83"}, .key = key});
  EXPECT_EQ(Pack(*ours_, {.maps = {"Rowan 83", "Alder 52"}, .key = key}), bytes);
  Unpack(bytes, *theirs_);
  EXPECT_EQ(Pack(*theirs_, {.maps = {"Alder 52", "Rowan 83"}, .key = key}), bytes);
  // Wherever and whenever it is packed.
  for (const char* zone : {"UTC", "Pacific/Auckland", "America/Anchorage"}) {
    setenv("TZ", zone, 1);
    tzset();
    EXPECT_EQ(Pack(*ours_, {.maps = {"Alder 52", "Rowan 83"}, .key = key}), bytes) << zone;
  }
  unsetenv("TZ");
  tzset();
}

TEST_F(ParcelTest, FileAndMemoryAreTheSame) {
  Add(*ours_, "Alder 52", 90000);
  const Result<PackedParcel> packed = PackParcel(*ours_, {.maps = {"Alder 52"}});
  ASSERT_TRUE(packed);
  EXPECT_EQ(packed->base, "alder-52-parcel");
  const std::filesystem::path file = folder_.Path() / "a.zip";
  ASSERT_TRUE(WriteZip(file, packed->items));
  EXPECT_EQ(shelf_test::ReadFile(file), Bytes(*packed));
  ASSERT_TRUE(WriteZip(file, packed->items));  // again, over the old one
  EXPECT_EQ(shelf_test::ReadFile(file), Bytes(*packed));
  const Result<void> failed = WriteZip(folder_.Path() / "absent" / "a.zip", packed->items);
  ASSERT_FALSE(failed);
  EXPECT_EQ(failed.error().code, ErrorCode::kCannotWrite);
}

TEST_F(ParcelTest, UnpackingTwiceIsTheSameAsOnce) {
  Add(*ours_, "Alder 52", 90000);
  Add(*ours_, "Alder 52", 91000);
  const std::string bytes = Pack(*ours_, {.maps = {"Alder 52"}});
  Unpack(bytes, *theirs_);
  const auto again = Unpack(bytes, *theirs_);
  ASSERT_EQ(again.size(), 1u);
  EXPECT_EQ(again[0].as, ReceivedAs::kSame);
  EXPECT_EQ(again[0].new_revisions, 0);
  EXPECT_EQ(theirs_->Verify({})->revisions, 2);
}

TEST_F(ParcelTest, NewerOnesMoveForwardAndOlderOnesChangeNothing) {
  Add(*ours_, "Alder 52", 90000);
  const std::string early = Pack(*ours_, {.maps = {"Alder 52"}});
  const AddedRevision later = Add(*ours_, "Alder 52", 91000);
  const std::string late = Pack(*ours_, {.maps = {"Alder 52"}});
  Unpack(early, *theirs_);
  const auto forward = Unpack(late, *theirs_);
  EXPECT_EQ(forward.at(0).as, ReceivedAs::kForward);
  EXPECT_EQ(forward.at(0).new_revisions, 1);
  EXPECT_EQ(theirs_->Show("Alder 52")->revision.id, later.revision.id);
  EXPECT_EQ(Unpack(early, *theirs_).at(0).as, ReceivedAs::kBehind);
  EXPECT_EQ(theirs_->Show("Alder 52")->revision.id, later.revision.id);
}

TEST_F(ParcelTest, DivergedOnesBecomeABranchAndNothingIsLost) {
  Add(*ours_, "Alder 52", 90000);
  Unpack(Pack(*ours_, {.maps = {"Alder 52"}}), *theirs_);
  const AddedRevision mine = Add(*theirs_, "Alder 52", 92000, "Tomas");
  const AddedRevision yours = Add(*ours_, "Alder 52", 91000);
  const std::string bytes = Pack(*ours_, {.maps = {"Alder 52"}});
  const auto received = Unpack(bytes, *theirs_);
  EXPECT_EQ(received.at(0).as, ReceivedAs::kBranch);
  EXPECT_EQ(received.at(0).branch, "from Tarnside Engine Works");
  EXPECT_EQ(theirs_->Show("Alder 52")->revision.id, mine.revision.id);
  EXPECT_EQ(theirs_->Show("Alder 52@from Tarnside Engine Works")->revision.id, yours.revision.id);
  EXPECT_EQ(Unpack(bytes, *theirs_).at(0).as, ReceivedAs::kSame);
  EXPECT_EQ(theirs_->Branches("Alder 52")->size(), 2u);
}

TEST_F(ParcelTest, ABranchCanBePackedToo) {
  const AddedRevision first = Add(*ours_, "Alder 52", 90000);
  Add(*ours_, "Alder 52", 91000);
  NewRevision trial;
  trial.name = "Alder 52";
  trial.document = Document("Alder 52", 95000);
  trial.author = "Ines";
  trial.parents = {first.revision.id};
  trial.branch = "trial";
  const Result<AddedRevision> added = ours_->AddRevision(trial);
  ASSERT_TRUE(added) << added.error().message;
  Unpack(Pack(*ours_, {.maps = {"Alder 52@trial"}}), *theirs_);
  EXPECT_EQ(theirs_->Show("Alder 52")->revision.id, added->revision.id);
  EXPECT_EQ(theirs_->Log("Alder 52")->size(), 2u);
}

TEST_F(ParcelTest, WithoutSheets) {
  Add(*ours_, "Alder 52", 90000);
  const std::string bytes = Pack(*ours_, {.maps = {"Alder 52"}, .sheets = false});
  const Result<Parcel> parcel = Parcel::OpenBytes(bytes, {});
  ASSERT_TRUE(parcel);
  EXPECT_TRUE(parcel->SheetsLeftOut());
  EXPECT_TRUE(parcel->Sheets().empty());
  EXPECT_EQ(bytes.find("the sheet's bytes"), std::string::npos);
  Unpack(bytes, *theirs_);
  EXPECT_FALSE(theirs_->Show("Alder 52")->sheet_on_shelf);
  // The sheet may follow.
  Unpack(Pack(*ours_, {.maps = {"Alder 52"}}), *theirs_);
  EXPECT_TRUE(theirs_->Show("Alder 52")->sheet_on_shelf);
}

TEST_F(ParcelTest, ASheetThatIsNotThereIsNamed) {
  Add(*ours_, "Alder 52", 90000, "Ines", false);
  const Result<PackedParcel> packed = PackParcel(*ours_, {.maps = {"Alder 52"}});
  ASSERT_TRUE(packed);
  EXPECT_EQ(packed->missing_sheets, std::vector<std::string>{Sha256Hex("the sheet's bytes")});
  EXPECT_TRUE(Parcel::OpenBytes(Bytes(*packed), {}));
}

TEST_F(ParcelTest, MergedHistoriesArriveWhole) {
  const AddedRevision first = Add(*ours_, "Alder 52", 90000);
  NewRevision side;
  side.name = "Alder 52";
  side.author = "Tomas";
  side.branch = "trial";
  std::vector<std::string> tips;
  for (int i = 0; i < 3; ++i) tips.push_back(Add(*ours_, "Alder 52", 91000 + i).revision.id);
  side.document = Document("Alder 52", 93000);
  side.parents = {first.revision.id};
  const Result<AddedRevision> branch = ours_->AddRevision(side);
  ASSERT_TRUE(branch) << branch.error().message;
  const AddedRevision merged = Add(*ours_, "Alder 52", 94000, "Ines", true, std::vector{tips.back(), branch->revision.id});
  Unpack(Pack(*ours_, {.maps = {"Alder 52"}}), *theirs_);
  EXPECT_EQ(theirs_->Show("Alder 52")->revision.id, merged.revision.id);
  EXPECT_EQ(theirs_->Log("Alder 52")->size(), 6u);
}

TEST_F(ParcelTest, SaysWhatItCannotPack) {
  EXPECT_EQ(PackParcel(*ours_, {}).error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(PackParcel(*ours_, {.maps = {"Alder 52"}}).error().code, ErrorCode::kNotFound);
  Add(*ours_, "Alder 52", 90000);
  EXPECT_EQ(PackParcel(*ours_, {.maps = {"Alder 52", "Alder 52"}}).error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(PackParcel(*ours_, {.maps = {"Alder 52"}, .watch = [](double) { return false; }}).error().code, ErrorCode::kCancelled);
}

TEST_F(ParcelTest, CanBeStopped) {
  Add(*ours_, "Alder 52", 90000);
  const std::string bytes = Pack(*ours_, {.maps = {"Alder 52"}});
  int calls = 0;
  ASSERT_TRUE(Parcel::OpenBytes(bytes, {.watch = [&](double part) {
                                  EXPECT_GE(part, 0.0);
                                  EXPECT_LE(part, 1.0);
                                  ++calls;
                                  return true;
                                }}));
  for (int stop = 0; stop < calls; ++stop) {
    int left = stop;
    const Result<Parcel> parcel = Parcel::OpenBytes(bytes, {.watch = [&](double) { return left-- > 0; }});
    ASSERT_FALSE(parcel);
    EXPECT_EQ(parcel.error().code, ErrorCode::kCancelled);
  }
}

TEST_F(ParcelTest, ThePageForPeopleSaysWhatIsInIt) {
  NewRevision revision;
  revision.name = "Alder <52> & \"more\"";
  revision.document = Document("<script>alert(1)</script>", 90000);
  revision.author = "Ines <i>";
  revision.message = "from the brochure";
  ASSERT_TRUE(ours_->AddRevision(revision));
  const Result<PackedParcel> packed =
      PackParcel(*ours_, {.maps = {revision.name}, .chart = [](const PerformanceMap&) -> Result<std::string> { return "<svg/>"; }});
  ASSERT_TRUE(packed);
  std::string page;
  for (const ZipItem& item : packed->items)
    if (item.path.ends_with("data/summary.html")) page = *item.bytes();
  EXPECT_NE(page.find("Alder &lt;52&gt; &amp; &quot;more&quot;"), std::string::npos);
  EXPECT_NE(page.find("90,000 rpm"), std::string::npos);
  EXPECT_NE(page.find("from the brochure"), std::string::npos);
  EXPECT_NE(page.find("not on the shelf"), std::string::npos);
  EXPECT_NE(page.find("charts/"), std::string::npos);
  EXPECT_EQ(page.find("<script"), std::string::npos);
  EXPECT_EQ(page.find("<i>"), std::string::npos);
}

TEST(OldParcels, ThatOfSchemaOneIsReadAsItWasWritten) {
  const Result<Parcel> parcel = Parcel::Open(ISLEBOOK_SOURCE_DIR "/tests/old_files/parcel_schema_1.zip", {});
  ASSERT_TRUE(parcel) << parcel.error().message;
  ASSERT_EQ(parcel->Maps().size(), 2u);
  EXPECT_EQ(parcel->Maps()[0].name, "Alder 52");
  EXPECT_EQ(parcel->Maps()[0].history.size(), 2u);
  EXPECT_EQ(parcel->Maps()[0].history[1].author, "Tomas");
  EXPECT_EQ(parcel->Maps()[0].facts.tags, std::vector<std::string>{"ferry"});
  EXPECT_EQ(parcel->Maps()[0].facts.wheel->inducer_mm, 52.0);
  EXPECT_EQ(parcel->Maps()[1].name, "Rowan 83");
  EXPECT_EQ(parcel->SignedBy().state, Signature::State::kGood);
  EXPECT_EQ(parcel->SignedBy().signer, "Tarnside Engine Works");
  // The public key of the seed 7777..., which is a test's and nobody's.
  EXPECT_EQ(parcel->SignedBy().public_key, SigningKeyFromSeed(std::string(64, '7'), "x")->public_key);
  EXPECT_EQ(parcel->Sheets().size(), 1u);
  TemporaryFolder folder;
  auto shelf = OpenSqliteShelf(folder.Path() / "shelf.db", {.access = ShelfAccess::kCreate});
  ASSERT_TRUE(shelf);
  ASSERT_TRUE(UnpackParcel(*parcel, **shelf, "from a parcel"));
  EXPECT_EQ((*shelf)->Show("Alder 52")->revision.id, "4d610ddd05122d4e75b6f7cd3bc0c130a12f9ef783c3d3fcd4dcf78acac241a4");
  EXPECT_TRUE((*shelf)->Verify({})->problems.empty());
}

}  // namespace
}  // namespace islebook
