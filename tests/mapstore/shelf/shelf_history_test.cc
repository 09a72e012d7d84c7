// Branches, histories from other shelves, facts, searching, copies: what every shelf does, whatever keeps it.

#include <algorithm>
#include <set>

#include <gtest/gtest.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/shelf/revision.h"
#include "tests/mapstore/shelf/shelf_engines.h"

namespace islebook {
namespace {

using shelf_test::Document;
using ShelfHistoryTest = shelf_test::ShelfEngineTest;

INSTANTIATE_TEST_SUITE_P(, ShelfHistoryTest, testing::ValuesIn(shelf_test::Engines()), [](const auto& engine) { return engine.param.name; });

std::vector<std::string> Names(const Result<std::vector<FoundMap>>& found) {
  std::vector<std::string> names;
  if (found)
    for (const FoundMap& map : *found) names.push_back(map.name);
  return names;
}

// A history as another shelf would send it.
IncomingRevision Incoming(const std::string& name, int speed, const std::vector<std::string>& parents, const std::string& author = "Tomas") {
  IncomingRevision revision;
  revision.document = *CanonicalJson(Document(name, speed));
  revision.record.document_sha256 = Sha256Hex(revision.document);
  revision.record.parents = parents;
  revision.record.author = author;
  revision.record.time = "2025-03-14T09:26:53Z";
  revision.record.message = "speed " + std::to_string(speed);
  revision.record.id = RevisionId(revision.record);
  return revision;
}

TEST_P(ShelfHistoryTest, ABranchGrowsBesideTheMainLineAndIsClosed) {
  const std::string root = Add(Revision("Alder 52", 90000)).revision.id;
  NewRevision side = Revision("Alder 52", 90001);
  side.branch = "bench reading";
  const AddedRevision on_branch = Add(side);
  EXPECT_EQ(on_branch.revision.parents, std::vector{root});
  const std::string main = Add(Revision("Alder 52", 90002)).revision.id;
  side.document = Document("Alder 52", 90003);
  const std::string later = Add(side).revision.id;

  EXPECT_EQ(shelf_->Show("Alder 52")->revision.id, main);
  EXPECT_EQ(shelf_->Show("Alder 52@bench reading")->revision.id, later);
  EXPECT_TRUE(shelf_->Show("Alder 52@bench reading")->is_head);
  EXPECT_EQ(shelf_->Log("Alder 52@bench reading")->size(), 3u);
  EXPECT_EQ(shelf_->Log("Alder 52")->size(), 2u);
  const auto branches = shelf_->Branches("Alder 52");
  ASSERT_EQ(branches->size(), 2u);
  EXPECT_EQ((*branches)[0].name, "");
  EXPECT_EQ((*branches)[1].name, "bench reading");
  EXPECT_EQ((*branches)[1].head.id, later);
  EXPECT_EQ(shelf_->List()->front().branches, std::vector<std::string>{"bench reading"});

  EXPECT_EQ(*shelf_->Relate(root, later), Relation::kBefore);
  EXPECT_EQ(*shelf_->Relate(later, root), Relation::kAfter);
  EXPECT_EQ(*shelf_->Relate(later, later), Relation::kSame);
  EXPECT_EQ(*shelf_->Relate(later, main), Relation::kDiverged);
  EXPECT_EQ(*shelf_->MergeBases(later, main), std::vector{root});
  EXPECT_EQ(*shelf_->MergeBases(root, main), std::vector{root});

  ASSERT_TRUE(shelf_->CloseBranch("Alder 52", "bench reading"));
  EXPECT_EQ(shelf_->Branches("Alder 52")->size(), 1u);
  EXPECT_EQ(shelf_->Show("Alder 52@bench reading").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->Show("Alder 52@" + later.substr(0, 12))->revision.id, later) << "its revisions stay";
  EXPECT_EQ(shelf_->CloseBranch("Alder 52", "bench reading").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->CloseBranch("Alder 52", "").error().code, ErrorCode::kInvalidArgument);
  // The name may be used again, from the main line.
  side.document = Document("Alder 52", 90004);
  EXPECT_EQ(Add(side).revision.parents, std::vector{main});
  ExpectSound(1, 5);
}

TEST_P(ShelfHistoryTest, ABranchsNameCannotBeTakenForARevision) {
  Add(Revision("Alder 52", 90000));
  for (const char* name : {"cafe", "0123456789", "a@b", " a", "a\nb"}) {
    NewRevision side = Revision("Alder 52", 90001);
    side.branch = name;
    EXPECT_EQ(shelf_->AddRevision(side).error().code, ErrorCode::kInvalidArgument) << name;
  }
}

// root - a1 - m1 - a2
//     \     X        both a2 and b2 stand on m1 and m2, so both are bases
//      b1 - m2 - b2
TEST_P(ShelfHistoryTest, LinesThatMetCrosswiseHaveTwoBases) {
  const auto add = [&](int speed, const std::vector<std::string>& parents) {
    NewRevision revision = Revision("Alder 52", speed);
    revision.parents = parents;
    return Add(revision).revision.id;
  };
  const std::string root = add(1, {}), a1 = add(2, {root}), b1 = add(3, {root});
  const std::string m1 = add(4, {a1, b1}), m2 = add(5, {b1, a1}), a2 = add(6, {m1, m2}), b2 = add(7, {m2, m1});
  const auto bases = shelf_->MergeBases(a2, b2);
  EXPECT_EQ(std::set(bases->begin(), bases->end()), (std::set{m1, m2}));
  EXPECT_EQ(shelf_->MergeBases(m1, m2)->size(), 2u);
  const std::string stranger = add(8, {});
  EXPECT_TRUE(shelf_->MergeBases(stranger, a2)->empty());
  EXPECT_EQ(*shelf_->Relate(stranger, a2), Relation::kDiverged);
}

TEST_P(ShelfHistoryTest, HistoriesAreTakenOverOnceAndMoveForward) {
  const IncomingRevision first = Incoming("Alder 52", 1, {}), second = Incoming("Alder 52", 2, {first.record.id});
  const IncomingRevision third = Incoming("Alder 52", 3, {second.record.id});
  IncomingMap map{"Alder 52", {first, second}, second.record.id, {}};
  map.facts.tags = {"ferry"};
  map.facts.notes = {{"Tomas", "2025-03-14T10:00:00Z", "line 3 by eye", first.record.id}};
  map.facts.wheel = WheelData{"Fellside Rotors", "Alder 52", 52.0, 71.0, {}, {}, {}};
  auto received = shelf_->Receive({map}, {"the sheet's bytes"}, "from Tomas");
  ASSERT_TRUE(received) << received.error().message;
  EXPECT_EQ(received->front().as, ReceivedAs::kNewMap);
  EXPECT_EQ(received->front().new_revisions, 2);
  EXPECT_EQ(received->front().new_tags, 1);
  EXPECT_TRUE(received->front().wheel_is_new);
  EXPECT_TRUE(shelf_->Show("Alder 52")->sheet_on_shelf);
  EXPECT_EQ(shelf_->Show("Alder 52")->revision, second.record);
  EXPECT_EQ(shelf_->Facts("Alder 52")->notes, map.facts.notes);

  received = shelf_->Receive({map}, {"the sheet's bytes"}, "from Tomas");
  EXPECT_EQ(received->front().as, ReceivedAs::kSame);
  EXPECT_EQ(received->front().new_revisions + received->front().new_notes + received->front().new_tags, 0);

  map.revisions = {third};  // what the shelf has may be left out
  map.head = third.record.id;
  received = shelf_->Receive({map}, {}, "from Tomas");
  EXPECT_EQ(received->front().as, ReceivedAs::kForward);
  EXPECT_EQ(shelf_->Show("Alder 52")->revision, third.record);
  map.revisions = {first};
  map.head = first.record.id;
  EXPECT_EQ(shelf_->Receive({map}, {}, "from Tomas")->front().as, ReceivedAs::kBehind);
  EXPECT_EQ(shelf_->Show("Alder 52")->revision, third.record);
  ExpectSound(1, 3);
}

TEST_P(ShelfHistoryTest, DivergedHistoriesBecomeBranches) {
  const IncomingRevision root = Incoming("Alder 52", 1, {}), theirs = Incoming("Alder 52", 2, {root.record.id});
  ASSERT_TRUE(shelf_->Receive({{"Alder 52", {root}, root.record.id, {}}}, {}, "from Tomas"));
  const std::string ours = Add(Revision("Alder 52", 3)).revision.id;
  const IncomingMap map{"Alder 52", {theirs}, theirs.record.id, {}};
  auto received = shelf_->Receive({map}, {}, "from Tomas");
  EXPECT_EQ(received->front().as, ReceivedAs::kBranch);
  EXPECT_EQ(received->front().branch, "from Tomas");
  EXPECT_EQ(shelf_->Show("Alder 52")->revision.id, ours) << "the main line stays";
  EXPECT_EQ(shelf_->Show("Alder 52@from Tomas")->revision, theirs.record);
  received = shelf_->Receive({map}, {}, "from Tomas");
  EXPECT_EQ(received->front().as, ReceivedAs::kSame);
  EXPECT_EQ(received->front().branch, "from Tomas");
  // The branch itself moves forward, and one that diverges from both gets a number.
  const IncomingRevision next = Incoming("Alder 52", 4, {theirs.record.id}), other = Incoming("Alder 52", 5, {theirs.record.id});
  EXPECT_EQ(shelf_->Receive({{"Alder 52", {next}, next.record.id, {}}}, {}, "from Tomas")->front().branch, "from Tomas");
  EXPECT_EQ(shelf_->Receive({{"Alder 52", {other}, other.record.id, {}}}, {}, "from Tomas")->front().branch, "from Tomas 2");
  EXPECT_EQ(shelf_->Branches("Alder 52")->size(), 3u);
  ExpectSound(1, 5);
}

TEST_P(ShelfHistoryTest, WhatArrivesAlteredIsRefusedAndChangesNothing) {
  const IncomingRevision good = Incoming("Alder 52", 1, {});
  const auto refused = [&](const IncomingRevision& bad, const std::string& head, ErrorCode code) {
    const IncomingMap first{"Rowan 83", {Incoming("Rowan 83", 1, {})}, Incoming("Rowan 83", 1, {}).record.id, {}};
    const auto received = shelf_->Receive({first, {"Alder 52", {bad}, head, {}}}, {"a sheet"}, "from Tomas");
    ASSERT_FALSE(received);
    EXPECT_EQ(received.error().code, code) << received.error().message;
    EXPECT_TRUE(shelf_->List()->empty());
    EXPECT_TRUE(shelf_->Sheets()->empty());
  };
  IncomingRevision bad = good;
  bad.record.author = "Nobody";
  refused(bad, bad.record.id, ErrorCode::kInvalidArgument);
  bad = good;
  bad.document = *CanonicalJson(Document("Alder 52", 2));
  refused(bad, bad.record.id, ErrorCode::kInvalidArgument);
  bad = good;
  bad.document = "{}";
  bad.record.document_sha256 = Sha256Hex("{}");
  bad.record.id = RevisionId(bad.record);
  refused(bad, bad.record.id, ErrorCode::kMalformedDocument);
  refused(Incoming("Alder 52", 1, {std::string(64, '7')}), Incoming("Alder 52", 1, {std::string(64, '7')}).record.id, ErrorCode::kNotFound);
  refused(good, std::string(64, '7'), ErrorCode::kNotFound);
  ExpectSound(0, 0);
}

TEST_P(ShelfHistoryTest, FactsAreKeptAndTheLatestCounts) {
  Add(Revision("Alder 52", 90000));
  ASSERT_TRUE(shelf_->SetTag("Alder 52", "hauler", true, "Ines"));
  ASSERT_TRUE(shelf_->SetTag("Alder 52", "ferry", true, "Ines"));
  ASSERT_TRUE(shelf_->SetTag("Alder 52", "hauler", false, "Ines"));
  ASSERT_TRUE(shelf_->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 50.0, 71.0, {}, {}, {}}, "Ines"));
  const WheelData wheel{"Fellside Rotors", "Alder 52", 52.0, 71.0, 53.6, {}, 130000.0};
  ASSERT_TRUE(shelf_->SetWheel("Alder 52", wheel, "Ines"));
  const MapNote note{"Ines", "2025-03-14T09:26:53Z", "the 0.74 island by eye", shelf_->Show("Alder 52")->revision.id};
  ASSERT_TRUE(shelf_->AddNote("Alder 52", note));
  ASSERT_TRUE(shelf_->AddNote("Alder 52", note));
  Reopen();
  const auto facts = shelf_->Facts("Alder 52");
  ASSERT_TRUE(facts);
  EXPECT_EQ(facts->tags, std::vector<std::string>{"ferry"});
  EXPECT_EQ(facts->wheel, wheel);
  EXPECT_EQ(facts->notes, std::vector{note});
  EXPECT_EQ(shelf_->List()->front().wheel, wheel);
  EXPECT_EQ(shelf_->Facts("Rowan 83").error().code, ErrorCode::kNotFound);
  EXPECT_EQ(shelf_->SetTag("Rowan 83", "ferry", true, "Ines").error().code, ErrorCode::kNotFound);
  for (const char* tag : {"", " a", "a,b", "a\nb", "\xff"})
    EXPECT_EQ(shelf_->SetTag("Alder 52", tag, true, "Ines").error().code, ErrorCode::kInvalidArgument) << tag;
  EXPECT_EQ(shelf_->AddNote("Alder 52", {"Ines", "yesterday", "x", {}}).error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(shelf_->AddNote("Alder 52", {"Ines", note.time, "", {}}).error().code, ErrorCode::kInvalidArgument);
  EXPECT_EQ(shelf_->SetWheel("Alder 52", {"", "", -1.0, {}, {}, {}, {}}, "Ines").error().code, ErrorCode::kInvalidArgument);
  ExpectSound(1, 1);
}

TEST_P(ShelfHistoryTest, RemovedMapsAreOffTheListsAndComeBack) {
  Add(Revision("Alder 52", 90000));
  Add(Revision("Rowan 83", 90000));
  ASSERT_TRUE(shelf_->SetRemoved("Alder 52", true, "Ines", "kept twice"));
  EXPECT_EQ(shelf_->List()->size(), 1u);
  EXPECT_TRUE(Names(shelf_->Find({.words = "alder"})).empty());
  EXPECT_EQ(Names(shelf_->Find({.removed = true})), std::vector<std::string>{"Alder 52"});
  EXPECT_TRUE(shelf_->Show("Alder 52")) << "what is removed is still there";
  EXPECT_TRUE(shelf_->Facts("Alder 52")->removed);
  EXPECT_EQ(*shelf_->ReachDue(0, 10), std::vector<std::string>{"Rowan 83"});
  ASSERT_TRUE(shelf_->SetRemoved("Alder 52", false, "Ines", ""));
  EXPECT_EQ(shelf_->List()->size(), 2u);
  ASSERT_TRUE(shelf_->SetRemoved("Alder 52", true, "Ines", ""));
  Add(Revision("Alder 52", 90001));
  EXPECT_EQ(shelf_->List()->size(), 2u) << "a new revision brings a name back";
  EXPECT_EQ(shelf_->Log("Alder 52")->size(), 2u);
  EXPECT_EQ(shelf_->SetRemoved("Larch 60", true, "Ines", "").error().code, ErrorCode::kNotFound);
  ExpectSound(2, 3);
}

TEST_P(ShelfHistoryTest, FindsByWordsAndFacts) {
  for (const char* name : {"Alder 52", "Alder 60", "Rowan 83", "Grauerle"}) Add(Revision(name, 90000));
  ASSERT_TRUE(shelf_->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 52.0, 71.0, {}, {}, {}}, "Ines"));
  ASSERT_TRUE(shelf_->SetWheel("Alder 60", {"Fellside Rotors", "Alder 60", 60.0, 80.0, {}, {}, {}}, "Ines"));
  ASSERT_TRUE(shelf_->SetWheel("Rowan 83", {"Fellside Rotors", "", 83.0, {}, {}, {}, {}}, "Ines"));
  ASSERT_TRUE(shelf_->SetTag("Rowan 83", "lake ferry", true, "Ines"));
  ASSERT_TRUE(shelf_->SetTag("Alder 60", "lake ferry", true, "Ines"));
  ASSERT_TRUE(shelf_->SetTag("Alder 60", "lake ferry", false, "Ines"));
  ASSERT_TRUE(shelf_->AddNote("Alder 52", {"Ines", "2025-03-14T09:26:53Z", "choke line Größe guessed; \"quoted\" words", {}}));
  using Strings = std::vector<std::string>;
  EXPECT_EQ(Names(shelf_->Find({.words = "alder 52"})), Strings{"Alder 52"});
  Strings alders = Names(shelf_->Find({.words = "ALD"}));
  std::sort(alders.begin(), alders.end());
  EXPECT_EQ(alders, (Strings{"Alder 52", "Alder 60"}));
  EXPECT_EQ(Names(shelf_->Find({.words = "chok guess"})), Strings{"Alder 52"});
  EXPECT_EQ(Names(shelf_->Find({.words = "grosse"})), Strings{}) << "sharp s is its own letter";
  EXPECT_EQ(Names(shelf_->Find({.words = "GROße", .maker = "fellside"})), Strings{"Alder 52"}) << "an accent is not";
  EXPECT_EQ(Names(shelf_->Find({.words = "\"quoted* OR NEAR("})), Strings{}) << "typed operators are only words";
  EXPECT_EQ(Names(shelf_->Find({.words = "\"quoted\""})), Strings{"Alder 52"});
  EXPECT_EQ(Names(shelf_->Find({.words = "ferry"})), Strings{"Rowan 83"});
  EXPECT_EQ(Names(shelf_->Find({.tags = {"lake ferry"}})), Strings{"Rowan 83"});
  EXPECT_EQ(shelf_->Find({.maker = "rotors"})->size(), 3u);
  EXPECT_EQ(Names(shelf_->Find({.inducer_min_mm = 55, .inducer_max_mm = 83})), (Strings{"Alder 60", "Rowan 83"}));
  EXPECT_EQ(Names(shelf_->Find({.exducer_max_mm = 75})), Strings{"Alder 52"});
  EXPECT_EQ(shelf_->Find({.kind = "compressor"})->size(), 4u);
  EXPECT_TRUE(shelf_->Find({.kind = "turbine"})->empty());
  EXPECT_EQ(shelf_->Find({.kind = "compressor", .limit = 2})->size(), 2u);
  ASSERT_TRUE(shelf_->SetWheel("Alder 52", {"Fellside Rotors", "Alder 52", 57.0, 71.0, {}, {}, {}}, "Ines"));
  EXPECT_EQ(Names(shelf_->Find({.inducer_max_mm = 56})), Strings{}) << "only the latest word about a wheel counts";
  const auto found = shelf_->Find({.words = "guessed"});
  EXPECT_NE(found->front().where.find("guessed"), std::string::npos);
  EXPECT_EQ(found->front().wheel->inducer_mm, 57.0);
  for (const FindOptions& bad : {FindOptions{}, FindOptions{.words = "!?"}, FindOptions{.inducer_min_mm = -1}, FindOptions{.words = "a", .limit = 0},
                                 FindOptions{.inducer_min_mm = 60, .inducer_max_mm = 50}})
    EXPECT_EQ(shelf_->Find(bad).error().code, ErrorCode::kInvalidArgument);
}

TEST_P(ShelfHistoryTest, TheReachIndexFollowsTheHead) {
  const std::string head = Add(Revision("Alder 52", 90000)).revision.id;
  EXPECT_EQ(*shelf_->ReachDue(0, 10), std::vector<std::string>{"Alder 52"});
  ReachEntry entry{"Alder 52", head, {{0.1, 0.2, 1.5, 2.0, 0.75, 0.3, "low"}, {0.15, 0.3, 2.0, 3.0, 0.78, 0.2, "high"}}, "outline", "kept", 7};
  ASSERT_TRUE(shelf_->SetReach({entry}));
  EXPECT_TRUE(shelf_->ReachDue(7, 10)->empty());
  for (const std::int64_t other : {6, 8}) EXPECT_EQ(*shelf_->ReachDue(other, 10), std::vector<std::string>{"Alder 52"}) << "of another version";
  const auto at = [&](double flow, double ratio, double efficiency, double margin) {
    std::set<std::string> grids;
    EXPECT_TRUE(shelf_->ReachAt(flow, ratio, efficiency, margin, [&](const ReachHit& hit) {
      EXPECT_EQ(shelf_->ReachNameOf(hit.map)->name, "Alder 52");
      EXPECT_EQ(shelf_->ReachNameOf(hit.map)->revision, head);
      EXPECT_EQ(shelf_->ReachNameOf(hit.map)->kept, "kept");
      EXPECT_GE(hit.efficiency_max, efficiency);
      grids.emplace(hit.bytes);
      return true;
    }));
    return grids;
  };
  using Grids = std::set<std::string>;
  EXPECT_EQ(at(0.12, 1.8, 0, 0), Grids{"low"});
  EXPECT_EQ(at(0.18, 2.0, 0, 0), (Grids{"low", "high"}));
  EXPECT_EQ(at(0.18, 2.0, 0.76, 0), Grids{"high"});
  EXPECT_EQ(at(0.18, 2.0, 0, 0.25), Grids{"low"});
  EXPECT_EQ(at(0.31, 2.5, 0, 0), Grids{});
  std::string outline;
  ASSERT_TRUE(shelf_->ReachOutlines([&](const ReachHit& hit) {
    outline = hit.bytes;
    return true;
  }));
  EXPECT_EQ(outline, "outline");
  // A branch changes nothing, a new head of the main line ends the entry, and one that comes too late is dropped.
  NewRevision side = Revision("Alder 52", 90001);
  side.branch = "side";
  Add(side);
  EXPECT_EQ(at(0.12, 1.8, 0, 0), Grids{"low"});
  Add(Revision("Alder 52", 90002));
  EXPECT_EQ(at(0.12, 1.8, 0, 0), Grids{});
  EXPECT_EQ(*shelf_->ReachDue(7, 10), std::vector<std::string>{"Alder 52"});
  ASSERT_TRUE(shelf_->SetReach({entry}));
  EXPECT_EQ(at(0.12, 1.8, 0, 0), Grids{});
  EXPECT_EQ(shelf_->ReachDue(7, 10)->size(), 1u);
  ASSERT_TRUE(shelf_->SetReach({{"Alder 52", shelf_->Show("Alder 52")->revision.id, {}, "", "", 0}}));
  EXPECT_TRUE(shelf_->ReachDue(0, 10)->empty()) << "a map that cannot be asked is not asked for again";
  ExpectSound(1, 3);
}

TEST_P(ShelfHistoryTest, ACopyIsWholeAndReplacesNothing) {
  NewRevision revision = Revision("Alder 52", 90000);
  revision.sheet = "the sheet's bytes";
  Add(revision);
  ASSERT_TRUE(shelf_->SetTag("Alder 52", "ferry", true, "Ines"));
  const std::filesystem::path copy = folder_.Path() / "copy 1.db";
  const auto done = shelf_->BackUp(copy);
  ASSERT_TRUE(done) << done.error().message;
  Add(Revision("Alder 52", 90001));
  auto opened = OpenShelf(copy, {.access = ShelfAccess::kRead});
  ASSERT_TRUE(opened) << opened.error().message;
  EXPECT_TRUE((*opened)->Verify({})->problems.empty());
  EXPECT_EQ((*opened)->Verify({})->revisions, 1);
  EXPECT_EQ((*opened)->Facts("Alder 52")->tags, std::vector<std::string>{"ferry"});
  EXPECT_EQ(*(*opened)->Sheet(Sha256Hex("the sheet's bytes")), "the sheet's bytes");
  // The copy, opened for reading only, can be copied too, and stays closed to writing.
  const auto again = (*opened)->BackUp(folder_.Path() / "copy 2.db");
  EXPECT_TRUE(again) << again.error().message;
  EXPECT_EQ((*opened)->SetTag("Alder 52", "spare", true, "Ines").error().code, ErrorCode::kCannotWrite);
  EXPECT_EQ(shelf_->BackUp(copy).error().code, ErrorCode::kCannotWrite);
  EXPECT_EQ(shelf_->BackUp(folder_.Path() / "nowhere" / "copy.db").error().code, ErrorCode::kCannotWrite);
  for (const auto& file : std::filesystem::directory_iterator(folder_.Path())) EXPECT_NE(file.path().extension(), ".part");
}

}  // namespace
}  // namespace islebook
