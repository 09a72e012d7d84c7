#include "mapstore/shelf/map_merge.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/validate.h"
#include "mapstore/shelf/curve_motion.h"
#include "mapstore/shelf/map_compare.h"

namespace islebook {
namespace {

using Json = nlohmann::json;
using Value = std::optional<Json>;  // nullopt: not there

const std::vector<std::string> kLabelKeys = {"role", "value", "unit"};
const std::vector<std::string> kCourseKeys = {"closed", "points", "points_px", "sigma"};
const std::vector<std::string> kReviewKeys = {"confidence", "needs_review", "reasons"};
// What places a curve's points: another side's course does not fit where these were changed.
const std::vector<std::string> kPlacingKeys = {"axes", "calibration", "source"};

Value At(const Json& object, const std::string& key) {
  const auto found = object.find(key);
  return found == object.end() ? Value() : Value(*found);
}

void Set(Json& object, const std::string& key, const Value& value) {
  if (value)
    object[key] = *value;
  else
    object.erase(key);
}

Json Part(const Json& object, const std::vector<std::string>& keys) {
  Json part = Json::object();
  for (const std::string& key : keys)
    if (object.contains(key)) part[key] = object[key];
  return part;
}

void SetPart(Json& object, const std::vector<std::string>& keys, const Json& part) {
  for (const std::string& key : keys) Set(object, key, At(part, key));
}

std::string Words(std::string key) {
  std::replace(key.begin(), key.end(), '_', ' ');
  return key;
}

// One state: the document and the map that it holds, its curves in the same order.
struct State {
  Json json;
  PerformanceMap map;
  const Json& Curve(std::size_t i) const { return json["curves"][i]; }
};

Result<State> ReadState(const std::string& document) {
  Result<PerformanceMap> map = ParseMapDocument(document);
  if (!map) return std::unexpected(map.error());
  State state{Json::parse(document, nullptr, false), std::move(*map)};
  if (state.json.is_discarded() || !state.json.contains("curves") || state.json["curves"].size() != state.map.curves.size())
    return Fail(ErrorCode::kMalformedDocument, "the document's curves cannot be told apart.");
  return state;
}

// What both sides grew from. Where several bases disagree nothing is known, and whatever differs is asked for.
struct Base {
  State state;
  std::set<std::string> unknown_keys;        // of the document
  std::vector<std::set<int>> unknown_parts;  // of each curve: 0 label, 1 course, 2 review, 3 the rest
};

Json RestOf(const Json& curve) {
  Json rest = curve;
  for (const auto* keys : {&kLabelKeys, &kCourseKeys, &kReviewKeys})
    for (const std::string& key : *keys) rest.erase(key);
  return rest;
}

Json CurvePart(const Json& curve, int part) {
  switch (part) {
    case 0: return Part(curve, kLabelKeys);
    case 1: return Part(curve, kCourseKeys);
    case 2: return Part(curve, kReviewKeys);
    default: return RestOf(curve);
  }
}

Result<Base> ReadBases(const std::vector<std::string>& documents) {
  Base base;
  base.state.json = {{"curves", Json::array()}};
  bool first = true;
  for (const std::string& document : documents) {
    Result<State> next = ReadState(document);
    if (!next) return std::unexpected(next.error());
    if (first) {
      base.state = std::move(*next);
      base.unknown_parts.resize(base.state.map.curves.size());
      first = false;
      continue;
    }
    for (const Json* object : {&base.state.json, &next->json})
      for (const auto& [key, value] : object->items())
        if (key != "curves" && At(base.state.json, key) != At(next->json, key)) base.unknown_keys.insert(key);
    const auto matches = MatchCurves(base.state.map, next->map);
    for (std::size_t i = 0; i < matches.size(); ++i)
      for (int part = 0; part < 4; ++part)
        if (!matches[i] || CurvePart(base.state.Curve(i), part) != CurvePart(next->Curve(*matches[i]), part)) base.unknown_parts[i].insert(part);
    for (std::size_t j = 0; j < next->map.curves.size(); ++j) {
      if (std::find(matches.begin(), matches.end(), std::optional(j)) != matches.end()) continue;
      base.state.json["curves"].push_back(next->Curve(j));
      base.state.map.curves.push_back(next->map.curves[j]);
      base.unknown_parts.push_back({0, 1, 2, 3});
    }
  }
  return base;
}

class Merger {
 public:
  Merger(const Base& base, const State& ours, const State& theirs, const MergeChoices& choices)
      : base_(base), ours_(ours), theirs_(theirs), choices_(choices) {}

  Result<MergedMap> Run() {
    MergedMap merged;
    Json document = Json::object();
    std::set<std::string> keys;
    for (const State* state : {&base_.state, &ours_, &theirs_})
      for (const auto& [key, value] : state->json.items()) keys.insert(key);
    for (const std::string& key : keys) {
      if (key == "curves") continue;
      const bool known = !base_.unknown_keys.contains(key);
      const Value base = At(base_.state.json, key), ours = At(ours_.json, key), theirs = At(theirs_.json, key);
      if (key == "needs_review")
        Set(document, key, MergeTexts(known ? base : Value(Json::array()), ours, theirs));
      else if (key == "recipe")
        Set(document, key, MergeRecipe(known, base, ours, theirs));
      else
        Set(document, key, Merge(key == "axes" || !IsAtomic(key), Words(key), known, base, ours, theirs));
    }
    document["curves"] = MergeCurves();
    for (const auto& [number, side] : choices_.by_number)
      if (number < 1 || number > static_cast<int>(conflicts_.size()))
        return Fail(ErrorCode::kInvalidArgument, fmt::format("there is no conflict {}; there are {}.", number, conflicts_.size()));
    merged.conflicts = std::move(conflicts_);
    merged.decided = std::all_of(merged.conflicts.begin(), merged.conflicts.end(), [](const MergeConflict& one) { return one.chosen.has_value(); });
    if (const Result<void> doubted = AddDoubts(document, merged); !doubted) return std::unexpected(doubted.error());
    Result<std::string> canonical = CanonicalJson(document.dump());
    if (!canonical) return std::unexpected(canonical.error());
    merged.document = std::move(*canonical);
    return merged;
  }

 private:
  static bool IsAtomic(const std::string& key) { return key == "reference_conditions" || key == "calibration" || key == "source"; }

  // True: ours. What an undecided conflict leaves standing is ours as well.
  bool Decide(std::string what, std::string ours, std::string theirs) {
    MergeConflict conflict{static_cast<int>(conflicts_.size()) + 1, std::move(what), std::move(ours), std::move(theirs), choices_.rest};
    if (const auto chosen = choices_.by_number.find(conflict.number); chosen != choices_.by_number.end()) conflict.chosen = chosen->second;
    conflicts_.push_back(conflict);
    return conflict.chosen != MergeSide::kTheirs;
  }

  static std::string Shown(const Value& value) {
    if (!value) return "not there";
    std::string text = value->is_string() ? value->get<std::string>() : value->dump();
    if (text.size() > 120) text = text.substr(0, 117) + "...";
    return text;
  }

  Value Merge(bool into_objects, const std::string& what, bool known, const Value& base, const Value& ours, const Value& theirs) {
    if (ours == theirs) return ours;
    if (known && ours == base) return theirs;
    if (known && theirs == base) return ours;
    if (into_objects && ours && theirs && ours->is_object() && theirs->is_object()) {
      Json merged = Json::object();
      std::set<std::string> keys;
      for (const Value* one : {&ours, &theirs})
        for (const auto& [key, value] : (*one)->items()) keys.insert(key);
      const Json empty = Json::object();
      const Json& below = known && base && base->is_object() ? *base : empty;
      for (const std::string& key : keys)
        Set(merged, key,
            Merge(what != "axes", what + ": " + Words(key), known && base && base->is_object(), At(below, key), At(*ours, key), At(*theirs, key)));
      return merged;
    }
    return Decide(what, Shown(ours), Shown(theirs)) ? ours : theirs;
  }

  // Lists of sentences: what either side added is kept, what either side settled goes.
  static Value MergeTexts(const Value& base, const Value& ours, const Value& theirs) {
    if (ours == theirs) return ours;
    if (ours == base) return theirs;
    if (theirs == base) return ours;
    const Json none = Json::array();
    const Json &b = base ? *base : none, &o = ours ? *ours : none, &t = theirs ? *theirs : none;
    if (!b.is_array() || !o.is_array() || !t.is_array()) return ours;
    const auto holds = [](const Json& list, const Json& item) { return std::find(list.begin(), list.end(), item) != list.end(); };
    Json merged = Json::array();
    for (const Json& item : b)
      if (holds(o, item) && holds(t, item) && !holds(merged, item)) merged.push_back(item);
    std::vector<Json> added;
    for (const Json* list : {&o, &t})
      for (const Json& item : *list)
        if (!holds(b, item)) added.push_back(item);
    std::sort(added.begin(), added.end());
    added.erase(std::unique(added.begin(), added.end()), added.end());
    for (Json& item : added) merged.push_back(std::move(item));
    return merged;
  }

  // Corrections that both sides put after the common ones follow one another; which come first makes no difference where curves are named by their place.
  Value MergeRecipe(bool known, const Value& base, const Value& ours, const Value& theirs) {
    if (ours == theirs) return ours;
    if (known && ours == base) return theirs;
    if (known && theirs == base) return ours;
    const auto list_of = [](const Value& recipe) -> const Json* {
      if (!recipe || !recipe->is_object() || !recipe->contains("corrections") || !(*recipe)["corrections"].is_array()) return nullptr;
      return &(*recipe)["corrections"];
    };
    const Json *o = list_of(ours), *t = list_of(theirs), *b = known ? list_of(base) : nullptr;
    const auto begins_with_base = [&](const Json& list) { return b->size() <= list.size() && std::equal(b->begin(), b->end(), list.begin()); };
    if (o != nullptr && t != nullptr && b != nullptr && begins_with_base(*o) && begins_with_base(*t)) {
      const auto after_base = [&](const Json& list) {
        return Json(std::vector<Json>(list.begin() + static_cast<std::ptrdiff_t>(b->size()), list.end()));
      };
      Json first = after_base(*o), second = after_base(*t);
      if (second < first) std::swap(first, second);
      Json merged = *b;
      for (const Json* list : {&first, &second})
        for (const Json& correction : *list)
          if (list == &first || std::find(first.begin(), first.end(), correction) == first.end()) merged.push_back(correction);
      const auto rest_of = [](Json recipe) {
        recipe.erase("corrections");
        return recipe;
      };
      Value recipe = Merge(true, "recipe", true, rest_of(*base), rest_of(*ours), rest_of(*theirs));
      (*recipe)["corrections"] = std::move(merged);
      return recipe;
    }
    return Decide("recipe", "the recipe as ours has it", "the recipe as theirs has it") ? ours : theirs;
  }

  bool PlacedAnew(const State& side) const {
    return std::any_of(kPlacingKeys.begin(), kPlacingKeys.end(),
                       [&](const std::string& key) { return base_.unknown_keys.contains(key) || At(side.json, key) != At(base_.state.json, key); });
  }

  std::string CurveStory(std::size_t base_curve, const State& side, std::size_t side_curve) const {
    std::string story;
    for (const MapChange& change : CompareCurves(base_.state.map, base_curve, side.map, side_curve))
      story += (story.empty() ? "" : " ") + change.sentence;
    return story.empty() ? "Left as it was." : story;
  }

  Json MergeCurves() {
    const auto to_ours = MatchCurves(base_.state.map, ours_.map), to_theirs = MatchCurves(base_.state.map, theirs_.map);
    placed_differently_ =
        PlacedAnew(ours_) != PlacedAnew(theirs_) || (PlacedAnew(ours_) && Part(ours_.json, kPlacingKeys) != Part(theirs_.json, kPlacingKeys));
    Json curves = Json::array();
    for (std::size_t i = 0; i < base_.state.map.curves.size(); ++i) {
      const std::string name = CurveInWords(base_.state.map.curves[i]);
      const Json& base = base_.state.Curve(i);
      if (!to_ours[i] && !to_theirs[i]) continue;
      if (!to_ours[i] || !to_theirs[i]) {
        const bool ours_has = to_ours[i].has_value();
        const State& side = ours_has ? ours_ : theirs_;
        const std::size_t j = ours_has ? *to_ours[i] : *to_theirs[i];
        const Json& kept = side.Curve(j);
        if (kept == base && base_.unknown_parts[i].empty()) continue;  // one side took it away, the other left it alone
        const std::string gone = "Took it away.", story = CurveStory(i, side, j);
        if (Decide(name, ours_has ? story : gone, ours_has ? gone : story) == ours_has) curves.push_back(kept);
        continue;
      }
      curves.push_back(MergeCurve(i, *to_ours[i], *to_theirs[i], name));
    }
    for (Json& curve : MergeAdded(Unmatched(ours_, to_ours), Unmatched(theirs_, to_theirs))) curves.push_back(std::move(curve));
    return curves;
  }

  Json MergeCurve(std::size_t i, std::size_t o, std::size_t t, const std::string& name) {
    const Json &base = base_.state.Curve(i), &ours = ours_.Curve(o), &theirs = theirs_.Curve(t);
    if (ours == theirs) return ours;
    const auto known = [&](int part) { return !base_.unknown_parts[i].contains(part); };
    Json merged = Json::object();
    {
      const Json b = Part(base, kLabelKeys), x = Part(ours, kLabelKeys), y = Part(theirs, kLabelKeys);
      const auto words = [](const PerformanceMap& map, std::size_t curve) { return Capitalized(CurveInWords(map.curves[curve])) + "."; };
      const Json label = x == y                                                                 ? x
                         : known(0) && x == b                                                   ? y
                         : known(0) && y == b                                                   ? x
                         : Decide(name + ": label", words(ours_.map, o), words(theirs_.map, t)) ? x
                                                                                                : y;
      SetPart(merged, kLabelKeys, label);
    }
    {
      const Json b = Part(base, kCourseKeys), x = Part(ours, kCourseKeys), y = Part(theirs, kCourseKeys);
      const bool ours_moved = !known(1) || x != b, theirs_moved = !known(1) || y != b;
      Json course = x;
      if (x != y) {
        if (ours_moved && theirs_moved)
          course = Decide(name + ": course", CurveStory(i, ours_, o), CurveStory(i, theirs_, t)) ? x : y;
        else if (placed_differently_ && (ours_moved ? PlacedAnew(theirs_) : PlacedAnew(ours_)))
          course = Decide(name + ": course", ours_moved ? CurveStory(i, ours_, o) : "Other axes or another calibration, this curve left as it was.",
                          ours_moved ? "Other axes or another calibration, this curve left as it was." : CurveStory(i, theirs_, t))
                       ? x
                       : y;
        else
          course = ours_moved ? x : y;
      }
      SetPart(merged, kCourseKeys, course);
    }
    SetPart(merged, kReviewKeys,
            MergeReview(known(2) ? Part(base, kReviewKeys) : Json::object(), Part(ours, kReviewKeys), Part(theirs, kReviewKeys)));
    const Value rest = Merge(true, name, known(3), RestOf(base), RestOf(ours), RestOf(theirs));
    for (const auto& [key, value] : rest->items()) merged[key] = value;
    return merged;
  }

  // Never less careful than either side: a doubt that one side added stands, one that a side settled is settled.
  static Json MergeReview(const Json& base, const Json& ours, const Json& theirs) {
    if (ours == theirs) return ours;
    if (ours == base) return theirs;
    if (theirs == base) return ours;
    Json merged = ours;
    const Value reasons = MergeTexts(At(base, "reasons"), At(ours, "reasons"), At(theirs, "reasons"));
    Set(merged, "reasons", reasons);
    if (ours.contains("needs_review") && theirs.contains("needs_review") && ours["needs_review"] != theirs["needs_review"])
      merged["needs_review"] = reasons && !reasons->empty();
    if (ours.contains("confidence") && theirs.contains("confidence")) {
      const Value b = At(base, "confidence");
      merged["confidence"] = b == ours["confidence"]     ? theirs["confidence"]
                             : b == theirs["confidence"] ? ours["confidence"]
                                                         : std::min(ours["confidence"], theirs["confidence"]);
    }
    return merged;
  }

  static std::vector<std::size_t> Unmatched(const State& side, const std::vector<std::optional<std::size_t>>& matches) {
    std::vector<std::size_t> curves;
    for (std::size_t j = 0; j < side.map.curves.size(); ++j)
      if (std::find(matches.begin(), matches.end(), std::optional(j)) == matches.end()) curves.push_back(j);
    return curves;
  }

  // Two curves that cannot both be there: the same line of the map, or nearly the same course.
  bool Rivals(const Curve& a, const Curve& b) const {
    constexpr double kNearInFrame = 0.02;
    const bool one_line = a.role != CurveRole::kEfficiencyIsland && a.role != CurveRole::kOther;
    if (one_line && a.role == b.role && a.value == b.value && a.unit == b.unit) return true;
    return MeanFrameDistance(ours_.map, a, theirs_.map, b) < kNearInFrame;
  }

  std::vector<Json> MergeAdded(std::vector<std::size_t> ours, std::vector<std::size_t> theirs) {
    std::vector<Json> curves;
    const auto before = [](const State& state) { return [&state](std::size_t a, std::size_t b) { return state.Curve(a) < state.Curve(b); }; };
    std::sort(ours.begin(), ours.end(), before(ours_));
    std::sort(theirs.begin(), theirs.end(), before(theirs_));
    // The same on both sides: once.
    for (auto o = ours.begin(); o != ours.end();) {
      const auto same = std::find_if(theirs.begin(), theirs.end(), [&](std::size_t t) { return theirs_.Curve(t) == ours_.Curve(*o); });
      if (same == theirs.end()) {
        ++o;
        continue;
      }
      curves.push_back(ours_.Curve(*o));
      theirs.erase(same);
      o = ours.erase(o);
    }
    // Rivals, in an order that does not depend on the side.
    struct Pair {
      Json low, high;
      std::size_t o, t;
    };
    std::vector<Pair> pairs;
    for (const std::size_t o : ours)
      for (const std::size_t t : theirs)
        if (Rivals(ours_.map.curves[o], theirs_.map.curves[t])) {
          const Json &a = ours_.Curve(o), &b = theirs_.Curve(t);
          pairs.push_back(a < b ? Pair{a, b, o, t} : Pair{b, a, o, t});
        }
    std::sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) { return std::tie(a.low, a.high) < std::tie(b.low, b.high); });
    for (const Pair& pair : pairs) {
      const auto o = std::find(ours.begin(), ours.end(), pair.o);
      const auto t = std::find(theirs.begin(), theirs.end(), pair.t);
      if (o == ours.end() || t == theirs.end()) continue;
      const Curve &mine = ours_.map.curves[pair.o], &other = theirs_.map.curves[pair.t];
      const std::string low = std::min(CurveInWords(mine), CurveInWords(other));
      const bool take = Decide(low + ": added by both", "Added " + CurveInWords(mine) + ".", "Added " + CurveInWords(other) + ".");
      curves.push_back(take ? ours_.Curve(pair.o) : theirs_.Curve(pair.t));
      ours.erase(o);
      theirs.erase(t);
    }
    // The rest, but what was drawn under axes that the other side replaced is asked for.
    std::vector<std::tuple<Json, std::string, bool>> singles;
    for (const std::size_t o : ours) singles.emplace_back(ours_.Curve(o), CurveInWords(ours_.map.curves[o]), true);
    for (const std::size_t t : theirs) singles.emplace_back(theirs_.Curve(t), CurveInWords(theirs_.map.curves[t]), false);
    std::sort(singles.begin(), singles.end(), [](const auto& a, const auto& b) { return std::get<0>(a) < std::get<0>(b); });
    for (auto& [curve, name, is_ours] : singles) {
      if (placed_differently_ && PlacedAnew(is_ours ? theirs_ : ours_) && !base_.state.map.curves.empty()) {
        const std::string added = "Added it.", other = "Other axes or another calibration, and not this curve.";
        if (Decide(name + ": added", is_ours ? added : other, is_ours ? other : added) != is_ours) continue;
      }
      curves.push_back(std::move(curve));
    }
    std::sort(curves.begin(), curves.end());
    return curves;
  }

  // Edits that are each right alone may not fit together (a line labeled anew, another added with that label): what only the merged map is doubted for.
  Result<void> AddDoubts(Json& document, MergedMap& merged) const {
    const Result<PerformanceMap> map = ParseMapDocument(document.dump());
    if (!map) return std::unexpected(map.error());
    if (document == ours_.json || document == theirs_.json) return {};
    std::set<std::string> known;
    for (const State* side : {&ours_, &theirs_})
      for (const Finding& finding : ValidateMap(side->map)) known.insert(finding.sentence);
    for (const Finding& finding : ValidateMap(*map)) {
      if (finding.severity == Severity::kRemark || known.contains(finding.sentence)) continue;
      merged.doubts.push_back("After merging: " + finding.sentence);
    }
    if (merged.doubts.empty()) return {};
    // Among what was added, in the same order as MergeTexts has it: merging once more changes nothing.
    Json with_doubts = document.value("needs_review", Json::array());
    for (const std::string& doubt : merged.doubts) with_doubts.push_back(doubt);
    Set(document, "needs_review", MergeTexts(At(base_.state.json, "needs_review"), with_doubts, document.value("needs_review", Json::array())));
    return {};
  }

  const Base& base_;
  const State& ours_;
  const State& theirs_;
  const MergeChoices& choices_;
  std::vector<MergeConflict> conflicts_;
  bool placed_differently_ = false;
};

}  // namespace

Result<MergedMap> MergeDocuments(const std::vector<std::string>& bases, const std::string& ours, const std::string& theirs,
                                 const MergeChoices& choices) {
  const Result<Base> base = ReadBases(bases);
  if (!base) return std::unexpected(base.error());
  const Result<State> first = ReadState(ours);
  if (!first) return std::unexpected(first.error());
  const Result<State> second = ReadState(theirs);
  if (!second) return std::unexpected(second.error());
  // One side left everything alone: the other as it stands, order of curves and all.
  const bool one_base = bases.size() == 1;
  if (first->json == second->json || (one_base && second->json == base->state.json) || (one_base && first->json == base->state.json)) {
    if (!choices.by_number.empty()) return Fail(ErrorCode::kInvalidArgument, "there is no conflict to choose in.");
    MergedMap merged;
    Result<std::string> canonical = CanonicalJson(one_base && first->json == base->state.json ? theirs : ours);
    if (!canonical) return std::unexpected(canonical.error());
    merged.document = std::move(*canonical);
    return merged;
  }
  return Merger(*base, *first, *second, choices).Run();
}

}  // namespace islebook
