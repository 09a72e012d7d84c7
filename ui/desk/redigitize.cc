#include "ui/desk/redigitize.h"

#include <algorithm>
#include <cstdint>
#include <span>

#include "digitizer/digitize.h"
#include "digitizer/recipe/recipe.h"
#include "mapstore/map/map_document.h"

namespace islebook {
namespace {

// How many curves found their like, for telling the maps of one sheet apart.
std::size_t CurvesInCommon(const PerformanceMap& before, const PerformanceMap& after) {
  const auto matches = MatchCurves(before, after);
  return static_cast<std::size_t>(std::count_if(matches.begin(), matches.end(), [](const auto& match) { return match.has_value(); }));
}

}  // namespace

Result<RedigitizedMap> RedigitizeMap(Shelf& shelf, const std::string& name, const std::function<bool(const char* stage, double part)>& progress) {
  const Result<ShownRevision> shown = shelf.Show(name);
  if (!shown) return std::unexpected(shown.error());
  Result<PerformanceMap> before = ParseMapDocument(shown->document);
  if (!before) return std::unexpected(before.error());
  if (!before->source) return Fail(ErrorCode::kNotFound, "this map names no sheet, so it cannot be digitized anew.", name);
  const Result<std::string> bytes = shelf.Sheet(before->source->sha256);
  if (!bytes && bytes.error().code == ErrorCode::kNotFound)
    return Fail(ErrorCode::kNotFound, "this map's sheet is not on the shelf; islebook shelf add --sheet puts it there.", name);
  if (!bytes) return std::unexpected(bytes.error());

  RedigitizedMap map;
  map.name = shown->name;
  map.revision = shown->revision.id;
  Recipe recipe;
  map.has_recipe = !before->recipe_json.empty();
  if (map.has_recipe) {
    Result<Recipe> parsed = ParseRecipe(before->recipe_json);
    if (!parsed) return Fail(parsed.error().code, parsed.error().message, name + ": " + parsed.error().place);
    recipe = std::move(*parsed);
  }
  if (!recipe.settings.page && before->source->page > 1) recipe.settings.page = before->source->page;
  const auto* raw = reinterpret_cast<const std::uint8_t*>(bytes->data());
  const Result<islebook::Sheet> sheet = DecodeSheet(std::span(raw, bytes->size()), before->source->file, SheetOptionsFor(recipe));
  if (!sheet) return std::unexpected(sheet.error());
  Result<DigitizeResult> result = Digitize(*sheet, recipe, {}, progress);
  if (!result) return std::unexpected(result.error());
  const auto best = std::max_element(result->maps.begin(), result->maps.end(), [&](const PerformanceMap& a, const PerformanceMap& b) {
    return CurvesInCommon(*before, a) < CurvesInCommon(*before, b);
  });
  map.after = AsWritten(*best);
  map.changes = CompareMaps(*before, map.after);
  map.before = std::move(*before);
  return map;
}

Result<AddedRevision> AcceptRedigitized(Shelf& shelf, const RedigitizedMap& map, const std::string& author, const std::string& message) {
  const Result<ShownRevision> shown = shelf.Show(map.name);
  if (!shown) return std::unexpected(shown.error());
  if (shown->revision.id != map.revision)
    return Fail(ErrorCode::kInvalidArgument, "the map has been changed meanwhile; digitize it anew once more.", map.name);
  NewRevision revision;
  revision.name = map.name;
  revision.document = WriteMapDocument(map.after);
  revision.author = author;
  revision.message = message;
  revision.parents = std::vector{map.revision};
  return shelf.AddRevision(revision);
}

}  // namespace islebook
