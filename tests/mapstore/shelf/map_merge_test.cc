#include "mapstore/shelf/map_merge.h"

#include <algorithm>
#include <memory>
#include <random>
#include <set>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/map/example_maps.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

using Json = nlohmann::json;

std::string Canonical(const Json& json) { return *CanonicalJson(json.dump()); }

// The example map, each curve with a number of its own under a key that this version does not know: so the tests can tell curves apart without the matcher.
Json BaseMap() {
  Json json = Json::parse(WriteMapDocument(ExampleCompressorMap()));
  json["needs_review"] = {"doubt a", "doubt b"};
  int number = 0;
  for (Json& curve : json["curves"]) curve["mark"] = number++;
  json["from_a_later_writer"] = {{"depth", 3}, {"width", {{"unit", "mm"}}}};
  return json;
}

const std::vector<std::vector<std::string>> kParts = {{"role", "value", "unit"}, {"closed", "points", "points_px", "sigma"}};

Json Part(const Json& curve, const std::vector<std::string>& keys) {
  Json part = Json::object();
  for (const std::string& key : keys)
    if (curve.contains(key)) part[key] = curve[key];
  return part;
}

const Json* Marked(const Json& map, int mark) {
  for (const Json& curve : map["curves"])
    if (curve["mark"] == mark) return &curve;
  return nullptr;
}

void Move(Json& curve, double by) {
  for (Json& point : curve["points"]) point[0] = point[0].get<double>() * (1.0 + by);
}

MergedMap Merged(const Json& base, const Json& ours, const Json& theirs, const MergeChoices& choices = {}) {
  Result<MergedMap> merged = MergeDocuments({Canonical(base)}, Canonical(ours), Canonical(theirs), choices);
  EXPECT_TRUE(merged) << (merged ? "" : merged.error().message);
  return merged.value_or(MergedMap{});
}

// Whether two documents are the same; if not, what differs, in a few words.
testing::AssertionResult Same(const std::string& a, const std::string& b) {
  if (a == b) return testing::AssertionSuccess();
  std::string keys;
  const Json first = Json::parse(a), second = Json::parse(b);
  for (const auto& [key, value] : first.items())
    if (!second.contains(key) || second[key] != value) keys += " " + key + (key == "needs_review" ? value.dump() + second[key].dump() : "");
  return testing::AssertionFailure() << "they differ in" << keys;
}

TEST(MapMerge, EditsOfDifferentCurvesMergeByThemselves) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  Move(ours["curves"][0], 0.01);
  theirs["curves"][1]["value"] = 12345;
  theirs["title"] = "another title";
  const MergedMap merged = Merged(base, ours, theirs);
  EXPECT_TRUE(merged.decided);
  EXPECT_TRUE(merged.conflicts.empty());
  const Json result = Json::parse(merged.document);
  EXPECT_EQ(result["curves"][0]["points"], ours["curves"][0]["points"]);
  EXPECT_EQ(result["curves"][1]["value"], 12345);
  EXPECT_EQ(result["title"], "another title");
}

TEST(MapMerge, CourseAndLabelOfOneCurveMergeByThemselves) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  Move(ours["curves"][0], 0.01);
  theirs["curves"][0]["value"] = 12345;
  const MergedMap merged = Merged(base, ours, theirs);
  EXPECT_TRUE(merged.conflicts.empty());
  const Json result = Json::parse(merged.document);
  EXPECT_EQ(result["curves"][0]["points"], ours["curves"][0]["points"]);
  EXPECT_EQ(result["curves"][0]["value"], 12345);
}

TEST(MapMerge, TheSameCurveMovedTwiceIsAConflictWithItsStory) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  Move(ours["curves"][0], 0.01);
  Move(theirs["curves"][0], -0.02);
  Move(theirs["curves"][1], 0.01);
  const MergedMap open = Merged(base, ours, theirs);
  ASSERT_EQ(open.conflicts.size(), 1u);
  EXPECT_FALSE(open.decided);
  EXPECT_NE(open.conflicts[0].what.find("course"), std::string::npos);
  EXPECT_NE(open.conflicts[0].ours.find("moved by up to"), std::string::npos) << open.conflicts[0].ours;
  const MergedMap mine = Merged(base, ours, theirs, {{{1, MergeSide::kOurs}}, {}});
  EXPECT_TRUE(mine.decided);
  EXPECT_EQ(Json::parse(mine.document)["curves"][0]["points"], ours["curves"][0]["points"]);
  EXPECT_EQ(Json::parse(mine.document)["curves"][1]["points"], theirs["curves"][1]["points"]);
  const MergedMap other = Merged(base, ours, theirs, {{}, MergeSide::kTheirs});
  EXPECT_EQ(Json::parse(other.document)["curves"][0]["points"], theirs["curves"][0]["points"]);
  EXPECT_EQ(MergeDocuments({Canonical(base)}, Canonical(ours), Canonical(theirs), {{{2, MergeSide::kOurs}}, {}}).error().code,
            ErrorCode::kInvalidArgument);
}

TEST(MapMerge, TakenAwayAgainstChanged) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  ours["curves"].erase(0);
  EXPECT_EQ(Marked(Json::parse(Merged(base, ours, theirs).document), 0), nullptr);
  Move(theirs["curves"][0], 0.01);
  theirs["curves"].erase(1);
  const MergedMap merged = Merged(base, ours, theirs, {{}, MergeSide::kTheirs});
  ASSERT_EQ(merged.conflicts.size(), 1u);
  EXPECT_EQ(merged.conflicts[0].ours, "Took it away.");
  EXPECT_NE(Marked(Json::parse(merged.document), 0), nullptr);
  EXPECT_EQ(Marked(Json::parse(merged.document), 1), nullptr);
}

TEST(MapMerge, ACurveDrawnUnderAxesThatTheOtherSideReplacedIsAskedFor) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  ours["axes"]["x"]["max"] = ours["axes"]["x"]["max"].get<double>() * 1.2;
  for (Json& curve : ours["curves"]) Move(curve, 0.2);
  Json added = theirs["curves"][0];
  added["value"] = 54321;
  Move(added, 0.1);
  theirs["curves"].push_back(added);
  const MergedMap merged = Merged(base, ours, theirs);
  ASSERT_EQ(merged.conflicts.size(), 1u);
  EXPECT_NE(merged.conflicts[0].ours.find("calibration"), std::string::npos) << merged.conflicts[0].ours;
}

TEST(MapMerge, DoubtsOfBothSides) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  ours["needs_review"] = {"doubt b", "doubt c"};
  theirs["needs_review"] = {"doubt a", "doubt b", "doubt d"};
  ours["curves"][0]["needs_review"] = true;
  ours["curves"][0]["reasons"] = {"smeared"};
  theirs["curves"][0]["confidence"] = 0.3;
  const Json result = Json::parse(Merged(base, ours, theirs).document);
  EXPECT_EQ(result["needs_review"], Json({"doubt b", "doubt c", "doubt d"}));
  EXPECT_EQ(result["curves"][0]["needs_review"], true);
  EXPECT_EQ(result["curves"][0]["reasons"], Json({"smeared"}));
  EXPECT_EQ(result["curves"][0]["confidence"], 0.3);
}

TEST(MapMerge, CorrectionsOfBothSidesFollowOneAnother) {
  Json base = BaseMap();
  base["recipe"] = {{"schema", 1}, {"corrections", {{{"do", "a"}}}}};
  Json ours = base, theirs = base;
  ours["recipe"]["corrections"].push_back({{"do", "c"}});
  theirs["recipe"]["corrections"].push_back({{"do", "b"}});
  const MergedMap merged = Merged(base, ours, theirs);
  EXPECT_TRUE(merged.conflicts.empty());
  EXPECT_EQ(Json::parse(merged.document)["recipe"]["corrections"], Json({{{"do", "a"}}, {{"do", "b"}}, {{"do", "c"}}}));
}

TEST(MapMerge, KeysOfLaterWritersMergeToo) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  ours["from_a_later_writer"]["depth"] = 4;
  theirs["from_a_later_writer"]["width"]["unit"] = "m";
  theirs["curves"][0]["ink"] = "blue";
  const Json result = Json::parse(Merged(base, ours, theirs).document);
  EXPECT_EQ(result["from_a_later_writer"], Json({{"depth", 4}, {"width", {{"unit", "m"}}}}));
  EXPECT_EQ(result["curves"][0]["ink"], "blue");
}

TEST(MapMerge, EditsThatDoNotFitTogetherAreDoubted) {
  const Json base = BaseMap();
  Json ours = base, theirs = base;
  // Two speed lines get the same label, one from each side.
  ours["curves"][0]["value"] = 77777;
  theirs["curves"][1]["value"] = 77777;
  const MergedMap merged = Merged(base, ours, theirs);
  EXPECT_TRUE(merged.conflicts.empty());
  ASSERT_FALSE(merged.doubts.empty());
  EXPECT_EQ(Json::parse(merged.document)["needs_review"].back(), merged.doubts.back());
}

TEST(MapMerge, UnrelatedMapsAskForWhateverDiffers) {
  Json ours = BaseMap(), theirs = BaseMap();
  theirs["title"] = "another";
  const Result<MergedMap> merged = MergeDocuments({}, Canonical(ours), Canonical(theirs), {{}, MergeSide::kTheirs});
  ASSERT_TRUE(merged) << merged.error().message;
  ASSERT_EQ(merged->conflicts.size(), 1u);
  EXPECT_EQ(Json::parse(merged->document)["title"], "another");
}

// --- random histories ---

int g_mark = 1000;

// A few random edits of one side.
Json Edited(Json map, std::mt19937& random) {
  const auto chance = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  for (int edit = 0, edits = 1 + chance(4); edit < edits; ++edit) {
    Json& curves = map["curves"];
    const auto pick = static_cast<std::size_t>(chance(static_cast<int>(std::max<std::size_t>(curves.size(), 1))));
    switch (chance(9)) {
      case 0:
      case 1:
        if (!curves.empty()) Move(curves[pick], 0.001 * (1 + chance(20)));
        break;
      case 2:
        if (!curves.empty() && curves[pick].contains("value") && curves[pick]["value"].is_number()) curves[pick]["value"] = 1000 + chance(100000);
        break;
      case 3:
        if (curves.size() > 2) curves.erase(pick);
        break;
      case 4:
        if (!curves.empty()) {
          Json added = curves[pick];
          added["mark"] = g_mark++;
          added["value"] = 200000 + g_mark;
          added["unit"] = "rpm";
          added["role"] = "speed_line";
          added["closed"] = false;
          Move(added, 0.05 + 0.01 * chance(20));
          curves.push_back(added);
        }
        break;
      case 5: map["title"] = "title " + std::to_string(chance(1000)); break;
      case 6: map["needs_review"].push_back("doubt " + std::to_string(chance(1000))); break;
      case 7:
        if (!map["needs_review"].empty()) map["needs_review"].erase(0);
        break;
      default:
        if (!curves.empty()) {
          curves[pick]["needs_review"] = true;
          curves[pick]["reasons"].push_back("reason " + std::to_string(chance(1000)));
        }
    }
  }
  return map;
}

// What each side alone did is in the result, whatever the other side did elsewhere.
void ExpectNothingLost(const Json& base, const Json& ours, const Json& theirs, const MergedMap& merged) {
  const Json result = Json::parse(merged.document);
  std::set<int> marks;
  for (const Json* map : {&base, &ours, &theirs})
    for (const Json& curve : (*map)["curves"]) marks.insert(curve["mark"].get<int>());
  for (const int mark : marks) {
    const Json *b = Marked(base, mark), *o = Marked(ours, mark), *t = Marked(theirs, mark), *m = Marked(result, mark);
    const bool ours_touched = (b == nullptr) != (o == nullptr) || (b != nullptr && o != nullptr && *b != *o);
    const bool theirs_touched = (b == nullptr) != (t == nullptr) || (b != nullptr && t != nullptr && *b != *t);
    if (ours_touched && theirs_touched) {
      if (!merged.conflicts.empty() || m == nullptr || o == nullptr || t == nullptr || b == nullptr) continue;
      for (const auto& keys : kParts) {
        if (Part(*o, keys) != Part(*b, keys)) {
          EXPECT_TRUE(Part(*m, keys) == Part(*o, keys)) << mark;
        }
        if (Part(*t, keys) != Part(*b, keys)) {
          EXPECT_TRUE(Part(*m, keys) == Part(*t, keys)) << mark;
        }
      }
      continue;
    }
    const Json* expected = ours_touched ? o : theirs_touched ? t : b;
    if (expected == nullptr) {
      EXPECT_EQ(m, nullptr) << mark << " was taken away by one side and left alone by the other";
    } else if (m == nullptr) {
      // Only a person's choice between rivals may drop it.
      EXPECT_FALSE(merged.conflicts.empty()) << mark;
    } else {
      for (const auto& keys : kParts) EXPECT_TRUE(Part(*m, keys) == Part(*expected, keys)) << mark;
    }
  }
  for (const Json* side : {&ours, &theirs})
    for (const Json& doubt : (*side)["needs_review"]) {
      if (std::find(base["needs_review"].begin(), base["needs_review"].end(), doubt) != base["needs_review"].end()) continue;
      EXPECT_NE(std::find(result["needs_review"].begin(), result["needs_review"].end(), doubt), result["needs_review"].end());
    }
}

TEST(MapMerge, CommutesAndLosesNothingOnRandomEdits) {
  std::mt19937 random(20250314);
  int with_conflict = 0, without = 0;
  for (int round = 0; round < 80; ++round) {
    SCOPED_TRACE(round);
    const Json base = round % 3 == 0 ? Edited(BaseMap(), random) : BaseMap();
    const Json ours = Edited(base, random), theirs = Edited(base, random);
    for (const MergeSide side : {MergeSide::kOurs, MergeSide::kTheirs}) {
      const MergeSide swapped = side == MergeSide::kOurs ? MergeSide::kTheirs : MergeSide::kOurs;
      const MergedMap merged = Merged(base, ours, theirs, {{}, side}), mirrored = Merged(base, theirs, ours, {{}, swapped});
      const bool trivial = ours == base || theirs == base || ours == theirs;
      EXPECT_TRUE(Same(merged.document, mirrored.document));
      EXPECT_EQ(merged.conflicts.size(), mirrored.conflicts.size());
      for (std::size_t i = 0; i < merged.conflicts.size(); ++i) {
        EXPECT_EQ(merged.conflicts[i].what, mirrored.conflicts[i].what);
        EXPECT_EQ(merged.conflicts[i].ours, mirrored.conflicts[i].theirs);
      }
      if (side == MergeSide::kOurs) {
        ExpectNothingLost(base, ours, theirs, merged);
        (merged.conflicts.empty() ? without : with_conflict) += trivial ? 0 : 1;
      }
      // Merging once more with either side changes nothing more.
      for (const Json* again : {&ours, &theirs}) {
        if (side == MergeSide::kTheirs && again == &ours) continue;
        const MergedMap twice = Merged(base, Json::parse(merged.document), *again, {{}, MergeSide::kOurs});
        EXPECT_TRUE(Same(twice.document, merged.document));
      }
    }
    EXPECT_TRUE(Same(Merged(base, ours, ours).document, Canonical(ours)));
    EXPECT_TRUE(Same(Merged(base, ours, base).document, Canonical(ours)));
    EXPECT_TRUE(Same(Merged(base, base, ours).document, Canonical(ours)));
  }
  EXPECT_GT(with_conflict, 8);
  EXPECT_GT(without, 20);
}

// Two people change a map on their branches and merge from one another at random, crosswise too. What one of them added and nobody took away is there in the end.
TEST(MapMerge, NothingIsLostOnRandomHistories) {
  for (unsigned seed = 0; seed < 12; ++seed) {
    SCOPED_TRACE(seed);
    std::mt19937 random(seed);
    shelf_test::TemporaryFolder folder;
    auto shelf = OpenSqliteShelf(folder.Path() / "shelf.db", {.access = ShelfAccess::kCreate});
    ASSERT_TRUE(shelf);
    const auto commit = [&](const std::string& branch, const std::string& document, std::vector<std::string> parents) {
      NewRevision revision;
      revision.name = "Alder 52";
      revision.document = document;
      revision.author = branch.empty() ? "Ines" : "Tomas";
      revision.branch = branch;
      if (!parents.empty()) revision.parents = std::move(parents);
      const auto added = (*shelf)->AddRevision(revision);
      ASSERT_TRUE(added) << added.error().message;
    };
    commit("", Canonical(BaseMap()), {});
    const std::string branches[] = {"", "Tomas"};
    commit("Tomas", Canonical(BaseMap()), {});
    std::set<int> added, gone;
    const auto show = [&](const std::string& branch) { return *(*shelf)->Show(branch.empty() ? "Alder 52" : "Alder 52@" + branch); };
    const auto merge = [&](const std::string& into, const std::string& from) {
      const ShownRevision ours = show(into), theirs = show(from);
      const Relation relation = *(*shelf)->Relate(ours.revision.id, theirs.revision.id);
      if (relation == Relation::kSame || relation == Relation::kAfter) return;
      std::vector<std::string> bases;
      const auto ids = (*shelf)->MergeBases(ours.revision.id, theirs.revision.id);
      for (const std::string& id : *ids) bases.push_back((*shelf)->ShowRevision(id)->document);
      const MergeSide side = random() % 2 == 0 ? MergeSide::kOurs : MergeSide::kTheirs;
      const auto merged = MergeDocuments(bases, ours.document, theirs.document, {{}, side});
      ASSERT_TRUE(merged) << merged.error().message;
      const Json result = Json::parse(merged->document);
      for (const int mark : added) {
        if (Marked(result, mark) == nullptr &&
            (Marked(Json::parse(ours.document), mark) != nullptr || Marked(Json::parse(theirs.document), mark) != nullptr)) {
          EXPECT_TRUE(gone.contains(mark) || !merged->conflicts.empty()) << mark << " was lost without a word";
          gone.insert(mark);
        }
      }
      commit(into, merged->document, {ours.revision.id, theirs.revision.id});
    };
    for (int step = 0; step < 14; ++step) {
      const std::size_t who = random() % 2;
      if (random() % 3 == 0) {
        const ShownRevision first = show(branches[0]), second = show(branches[1]);
        merge(branches[who], branches[1 - who]);
        continue;
      }
      const Json before = Json::parse(show(branches[who]).document), after = Edited(before, random);
      for (const Json& curve : after["curves"])
        if (Marked(before, curve["mark"].get<int>()) == nullptr) added.insert(curve["mark"].get<int>());
      for (const Json& curve : before["curves"])
        if (Marked(after, curve["mark"].get<int>()) == nullptr) gone.insert(curve["mark"].get<int>());
      commit(branches[who], Canonical(after), {});
    }
    merge("", "Tomas");
    merge("Tomas", "");
    EXPECT_EQ(show("").revision.document_sha256, show("Tomas").revision.document_sha256);
    const Json end = Json::parse(show("").document);
    for (const int mark : added) {
      if (gone.contains(mark)) continue;
      EXPECT_NE(Marked(end, mark), nullptr) << mark;
    }
    EXPECT_TRUE((*shelf)->Verify({})->problems.empty());
  }
}

}  // namespace
}  // namespace islebook
