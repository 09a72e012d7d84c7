// What every shelf does, whatever keeps it: the suite runs once for each engine in Engines().

#include "mapstore/shelf/shelf.h"

#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/revision.h"
#include "tests/mapstore/shelf/shelf_engines.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using shelf_test::Document;
using shelf_test::TemporaryFolder;

using ShelfTest = shelf_test::ShelfEngineTest;

INSTANTIATE_TEST_SUITE_P(, ShelfTest, testing::ValuesIn(shelf_test::Engines()), [](const auto& engine) { return engine.param.name; });

TEST_P(ShelfTest, ANewShelfIsEmptyAndSound) {
  EXPECT_TRUE(shelf_->List()->empty());
  ExpectSound(0, 0);
}

TEST_P(ShelfTest, GivesBackWhatWasPutThere) {
  NewRevision revision = Revision("Alder 52", 90000);
  revision.sheet = "the sheet's bytes";
  const AddedRevision added = Add(revision);
  EXPECT_TRUE(added.is_new);
  EXPECT_TRUE(added.sheet_is_new);
  Reopen();
  const Result<ShownRevision> shown = shelf_->Show("Alder 52");
  ASSERT_TRUE(shown) << shown.error().message;
  EXPECT_EQ(shown->revision, added.revision);
  EXPECT_EQ(shown->document, *CanonicalJson(revision.document));
  EXPECT_EQ(*ParseMapDocument(shown->document), *ParseMapDocument(revision.document));
  EXPECT_TRUE(shown->is_head);
  EXPECT_TRUE(shown->sheet_on_shelf);
  EXPECT_EQ(*shelf_->Sheet(*shown->sheet_sha256), "the sheet's bytes");
  EXPECT_EQ(shown->revision.author, "Ines");
  EXPECT_EQ(shown->revision.message, "speed 90000");
  EXPECT_TRUE(CheckRevisionTime(shown->revision.time));
  EXPECT_EQ(shown->revision.id, RevisionId(shown->revision));
  EXPECT_EQ(shown->revision.document_sha256, Sha256Hex(shown->document));
  ExpectSound(1, 1);
}

TEST_P(ShelfTest, EveryByteOfASheetStays) {
  std::string sheet;
  for (int i = 0; i < 300000; ++i) sheet.push_back(static_cast<char>(i * 7 + i / 251));
  NewRevision revision = Revision("Alder 52", 90000);
  revision.document = Document("Alder 52", 90000, sheet);
  revision.sheet = sheet;
  Add(revision);
  Reopen();
  EXPECT_EQ(*shelf_->Sheet(Sha256Hex(sheet)), sheet);
}

TEST_P(ShelfTest, KeysThatThisVersionDoesNotKnowStay) {
  NewRevision revision = Revision("Alder 52", 90000);
  revision.document.insert(1, "\"from_a_later_writer\": {\"x\": [1, 2.5]}, ");
  Add(revision);
  EXPECT_NE(shelf_->Show("Alder 52")->document.find(R"("from_a_later_writer":{"x":[1,2.5]})"), std::string::npos);
}

TEST_P(ShelfTest, TheSameDocumentAgainChangesNothing) {
  const AddedRevision first = Add(Revision("Alder 52", 90000));
  NewRevision again = Revision("Alder 52", 90000);
  again.message = "another message";
  again.author = "Tomas";
  again.document = *CanonicalJson(again.document);  // other spelling, same content
  const AddedRevision second = Add(again);
  EXPECT_FALSE(second.is_new);
  EXPECT_EQ(second.revision, first.revision);
  ExpectSound(1, 1);
}

TEST_P(ShelfTest, ASheetMayComeLater) {
  Add(Revision("Alder 52", 90000));
  EXPECT_FALSE(shelf_->Show("Alder 52")->sheet_on_shelf);
  EXPECT_EQ(shelf_->Sheet(Sha256Hex("the sheet's bytes")).error().code, ErrorCode::kNotFound);
  NewRevision again = Revision("Alder 52", 90000);
  again.sheet = "the sheet's bytes";
  const AddedRevision added = Add(again);
  EXPECT_FALSE(added.is_new);
  EXPECT_TRUE(added.sheet_is_new);
  EXPECT_TRUE(shelf_->Show("Alder 52")->sheet_on_shelf);
}

TEST_P(ShelfTest, OneSheetForTwoMapsIsStoredOnce) {
  for (const char* name : {"Alder 52", "Rowan 83"}) {
    NewRevision revision = Revision(name, 90000);
    revision.sheet = "the sheet's bytes";
    EXPECT_EQ(Add(revision).sheet_is_new, std::string(name) == "Alder 52");
  }
  const Result<ShelfReport> report = shelf_->Verify({});
  EXPECT_EQ(report->sheets, 1);
  EXPECT_EQ(report->sheet_bytes, 17);
}

TEST_P(ShelfTest, TheSameContentHasTheSameIdOnEveryShelf) {
  NewRevision revision = Revision("Alder 52", 90000);
  revision.time = "2025-03-14T09:26:53Z";
  const AddedRevision here = Add(revision);
  TemporaryFolder elsewhere;
  auto other = GetParam().open(elsewhere.Path());
  ASSERT_TRUE(other);
  revision.name = "another name";
  EXPECT_EQ((*other)->AddRevision(revision)->revision.id, here.revision.id);
}

// Fixed for ever: computed outside, by Python's json (sorted keys, no spaces, whole numbers without a point) and hashlib.
TEST_P(ShelfTest, OneIdIsPinned) {
  NewRevision revision = Revision("Alder 52", 90000);
  revision.time = "2025-03-14T09:26:53Z";
  const AddedRevision added = Add(revision);
  EXPECT_EQ(added.revision.document_sha256, "a44fd6b814c2878a6948aede158beff5c32201ee452b299bd9e524571666a58a");
  EXPECT_EQ(added.revision.id, "8d464c017caf2e53bf0b702ceb6b800dafba23e89d172db35909d5761437c732");
}

TEST_P(ShelfTest, HistoryGrowsAndOldRevisionsStay) {
  std::vector<std::string> ids;
  for (int i = 0; i < 5; ++i) ids.push_back(Add(Revision("Alder 52", 90000 + i)).revision.id);
  Add(Revision("Rowan 83", 50000));
  const Result<std::vector<RevisionRecord>> log = shelf_->Log("Alder 52");
  ASSERT_TRUE(log);
  ASSERT_EQ(log->size(), 5u);
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_EQ((*log)[i].id, ids[4 - i]);
    EXPECT_EQ((*log)[i].parents, i == 4 ? std::vector<std::string>{} : std::vector<std::string>{ids[3 - i]});
    const Result<ShownRevision> shown = shelf_->Show("Alder 52@" + ids[i].substr(0, 10));
    ASSERT_TRUE(shown) << shown.error().message;
    EXPECT_EQ(shown->document, *CanonicalJson(Document("Alder 52", 90000 + static_cast<int>(i))));
    EXPECT_EQ(shown->is_head, i == 4);
  }
  const Result<std::vector<ShelfEntry>> list = shelf_->List();
  ASSERT_EQ(list->size(), 2u);
  EXPECT_EQ((*list)[0].name, "Alder 52");
  EXPECT_EQ((*list)[0].revisions, 5);
  EXPECT_EQ((*list)[0].kind, "compressor");
  EXPECT_EQ((*list)[0].title, "Alder 52");
  EXPECT_EQ((*list)[0].head.id, ids[4]);
  EXPECT_EQ((*list)[1].name, "Rowan 83");
  EXPECT_EQ((*list)[1].revisions, 1);
  ExpectSound(2, 6);
}

TEST_P(ShelfTest, GoingBackIsANewRevisionWithTheOldDocument) {
  const AddedRevision first = Add(Revision("Alder 52", 90000));
  Add(Revision("Alder 52", 91000));
  const AddedRevision back = Add(Revision("Alder 52", 90000));
  EXPECT_TRUE(back.is_new);
  EXPECT_NE(back.revision.id, first.revision.id);
  EXPECT_EQ(back.revision.document_sha256, first.revision.document_sha256);
  EXPECT_EQ(shelf_->Log("Alder 52")->size(), 3u);
  ExpectSound(1, 3);
}

TEST_P(ShelfTest, TwoLinesOfWorkMeet) {
  const std::string root = Add(Revision("Alder 52", 90000)).revision.id;
  NewRevision left = Revision("Alder 52", 90001);
  left.parents = std::vector{root};
  NewRevision right = Revision("Alder 52", 90002);
  right.parents = std::vector{root};
  const std::string left_id = Add(left).revision.id, right_id = Add(right).revision.id;
  NewRevision merged = Revision("Alder 52", 90003);
  merged.parents = std::vector{right_id, left_id};
  const AddedRevision added = Add(merged);
  EXPECT_EQ(added.revision.parents, *merged.parents);
  const Result<std::vector<RevisionRecord>> log = shelf_->Log("Alder 52");
  ASSERT_EQ(log->size(), 4u);
  EXPECT_EQ(log->front().id, added.revision.id);
  EXPECT_EQ(log->back().id, root);
  ExpectSound(1, 4);
}

TEST_P(ShelfTest, ARevisionMayBeFoundThoughTheHeadWentElsewhere) {
  const std::string first = Add(Revision("Alder 52", 90000)).revision.id;
  NewRevision unrelated = Revision("Alder 52", 70000);
  unrelated.parents = std::vector<std::string>{};
  Add(unrelated);
  EXPECT_EQ(shelf_->Log("Alder 52")->size(), 1u);
  EXPECT_TRUE(shelf_->Show("Alder 52@" + first.substr(0, 12)));
}

TEST_P(ShelfTest, AddingAnOldRevisionAgainDoesNotMoveTheHeadBack) {
  NewRevision first = Revision("Alder 52", 90000);
  first.time = "2025-03-14T09:26:53Z";
  first.parents = std::vector<std::string>{};
  Add(first);
  const std::string head = Add(Revision("Alder 52", 91000)).revision.id;
  const AddedRevision again = Add(first);
  EXPECT_FALSE(again.is_new);
  EXPECT_EQ(shelf_->Show("Alder 52")->revision.id, head);
}

TEST_P(ShelfTest, SeveralRevisionsOrNone) {
  NewRevision bad = Revision("Larch 60", 1);
  bad.document = "{}";
  const Result<std::vector<AddedRevision>> refused = shelf_->AddRevisions({Revision("Alder 52", 90000), bad});
  ASSERT_FALSE(refused);
  NewRevision orphan = Revision("Larch 60", 2);
  orphan.parents = std::vector{std::string(64, '7')};
  orphan.sheet = "the sheet's bytes";
  const Result<std::vector<AddedRevision>> rolled_back = shelf_->AddRevisions({Revision("Alder 52", 90000), orphan});
  ASSERT_FALSE(rolled_back);
  EXPECT_EQ(rolled_back.error().code, ErrorCode::kNotFound);
  EXPECT_TRUE(shelf_->List()->empty());
  EXPECT_FALSE(shelf_->Sheet(Sha256Hex("the sheet's bytes")));
  ExpectSound(0, 0);
  const Result<std::vector<AddedRevision>> added =
      shelf_->AddRevisions({Revision("Alder 52", 90000), Revision("Alder 52", 91000), Revision("Rowan 83", 50000)});
  ASSERT_TRUE(added);
  EXPECT_EQ((*added)[1].revision.parents, std::vector{(*added)[0].revision.id});
  ExpectSound(2, 3);
}

TEST_P(ShelfTest, RefusalsSayWhatIsWrongAndChangeNothing) {
  Add(Revision("Alder 52", 90000));
  struct Case {
    const char* what;
    std::function<void(NewRevision&)> spoil;
    ErrorCode code;
  };
  const std::vector<Case> cases = {
      {"name", [](NewRevision& r) { r.name = "a@b"; }, ErrorCode::kInvalidArgument},
      {"no author", [](NewRevision& r) { r.author = ""; }, ErrorCode::kInvalidArgument},
      {"author", [](NewRevision& r) { r.author = "\xff"; }, ErrorCode::kInvalidArgument},
      {"message", [](NewRevision& r) { r.message = "\xc0\x80"; }, ErrorCode::kInvalidArgument},
      {"time", [](NewRevision& r) { r.time = "yesterday"; }, ErrorCode::kInvalidArgument},
      {"another picture", [](NewRevision& r) { r.sheet = "not the sheet's bytes"; }, ErrorCode::kInvalidArgument},
      {"no JSON", [](NewRevision& r) { r.document = "P6 2 2 255"; }, ErrorCode::kMalformedDocument},
      {"empty", [](NewRevision& r) { r.document = ""; }, ErrorCode::kMalformedDocument},
      {"another document", [](NewRevision& r) { r.document = R"({"document":"shopping-list","schema":1})"; }, ErrorCode::kMalformedDocument},
      {"a later schema", [](NewRevision& r) { r.document.replace(r.document.find("\"schema\": 1"), 11, "\"schema\": 9"); },
       ErrorCode::kUnsupportedSchema},
      {"a parent unknown", [](NewRevision& r) { r.parents = std::vector<std::string>{"cafe"}; }, ErrorCode::kNotFound},
  };
  for (const Case& one : cases) {
    NewRevision revision = Revision("Alder 52", 91000);
    one.spoil(revision);
    const Result<AddedRevision> added = shelf_->AddRevision(revision);
    ASSERT_FALSE(added) << one.what;
    EXPECT_EQ(added.error().code, one.code) << one.what << ": " << added.error().message;
    EXPECT_GT(added.error().message.size(), 5u) << one.what;
  }
  ExpectSound(1, 1);
}

TEST_P(ShelfTest, LookingForWhatIsNotThere) {
  const std::string id = Add(Revision("Alder 52", 90000)).revision.id;
  const std::string wrong = id.substr(0, 8) == "00000000" ? "11111111" : "00000000";
  EXPECT_EQ(shelf_->Show("Rowan 83").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Log("Rowan 83").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Show("").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Show("Alder 52@" + wrong).error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Show("Alder 52@").error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(shelf_->Show("Alder 52@abc").error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(shelf_->Show("Alder 52@XYZ1").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Show("Alder 52@" + id + "0").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Sheet("cafe").error().code, ErrorCode::kNotFound);
  EXPECT_TRUE(shelf_->Show("Alder 52@" + id));
}

// With 16^4 beginnings of four digits, some 400 revisions hold two that begin alike (the birthday problem: 70 %); if these do not, more are added.
TEST_P(ShelfTest, ABeginningOfTwoRevisionsIsRefusedAndNamesThem) {
  std::vector<std::string> ids;
  std::string shared;
  for (int batch = 0; batch < 20 && shared.empty(); ++batch) {
    std::vector<NewRevision> revisions;
    for (int i = 0; i < 200; ++i) revisions.push_back(Revision("Alder 52", 10000 + batch * 200 + i));
    const auto added = shelf_->AddRevisions(revisions);
    ASSERT_TRUE(added);
    for (const AddedRevision& one : *added) {
      for (const std::string& id : ids)
        if (id.substr(0, 4) == one.revision.id.substr(0, 4)) shared = id.substr(0, 4);
      ids.push_back(one.revision.id);
    }
  }
  ASSERT_FALSE(shared.empty());
  const Result<ShownRevision> shown = shelf_->Show("Alder 52@" + shared);
  ASSERT_FALSE(shown);
  EXPECT_EQ(shown.error().code, ErrorCode::kInvalidArgument);
  for (const std::string& id : ids) {
    if (id.substr(0, 4) == shared) {
      EXPECT_NE(shown.error().message.find(id.substr(0, 12)), std::string::npos);
    }
  }
}

TEST_P(ShelfTest, VerifyCanBeStopped) {
  Add(Revision("Alder 52", 90000));
  const Result<ShelfReport> stopped = shelf_->Verify([](double) { return false; });
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.error().code, ErrorCode::kCancelled);
  double last = 0.0;
  EXPECT_TRUE(shelf_->Verify([&](double done) {
    EXPECT_GE(done, last);
    last = done;
    return true;
  }));
  EXPECT_EQ(last, 1.0);
}

}  // namespace
}  // namespace islebook
