#include "ui/desk/example_shelf.h"

#include <cstdint>
#include <span>

#include <nlohmann/json.hpp>

#include "digitizer/digitize.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr char kList[] = "shelf.json";

}  // namespace

std::optional<std::filesystem::path> ExampleFolder() {
  std::error_code error;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
  // bin/islebook-desktop or lib/islebook/islebook-workshop: share/ stands beside bin/ and lib/.
  for (std::filesystem::path folder = program.parent_path(); !error && folder.has_relative_path(); folder = folder.parent_path()) {
    const std::filesystem::path there = folder / "share" / "islebook" / "sample_maps";
    if (std::filesystem::is_regular_file(there / kList, error)) return there;
    error.clear();
  }
  return std::nullopt;
}

Result<std::vector<ExampleMap>> ReadExamples(const std::filesystem::path& folder) {
  const std::filesystem::path file = folder / kList;
  const Result<std::string> text = ReadFileContents(file, 1 << 20);
  if (!text) return std::unexpected(text.error());
  const nlohmann::json list = nlohmann::json::parse(*text, nullptr, false);
  const auto bad = [&] {
    return Fail(ErrorCode::kMalformedDocument, "the list of example maps cannot be read; install the program again.", file.string());
  };
  if (list.is_discarded() || !list.is_object() || !list.contains("maps") || !list["maps"].is_array()) return bad();
  std::vector<ExampleMap> examples;
  for (const nlohmann::json& one : list["maps"]) {
    if (!one.is_object() || !one.contains("name") || !one["name"].is_string() || !one.contains("sheet") || !one["sheet"].is_string()) return bad();
    ExampleMap example;
    example.name = one["name"];
    example.sheet = folder / one["sheet"].get<std::string>();
    example.message = "example: " + example.sheet.filename().string() + " digitized";
    if (one.contains("wheel") && one["wheel"].is_object()) {
      const nlohmann::json& wheel = one["wheel"];
      const auto number = [&](const char* key) {
        return wheel.contains(key) && wheel[key].is_number() ? std::optional(wheel[key].get<double>()) : std::nullopt;
      };
      example.wheel.maker = wheel.value("maker", "");
      example.wheel.model = wheel.value("model", "");
      example.wheel.inducer_mm = number("inducer_mm");
      example.wheel.exducer_mm = number("exducer_mm");
    }
    if (one.contains("tags") && one["tags"].is_array())
      for (const nlohmann::json& tag : one["tags"])
        if (tag.is_string()) example.tags.push_back(tag);
    examples.push_back(std::move(example));
  }
  return examples;
}

Result<void> AddExample(Shelf& shelf, const ExampleMap& example, const std::string& author, const std::function<bool(double part)>& watch) {
  if (const Result<ShownRevision> there = shelf.Show(example.name); there) return {};
  const Result<std::string> bytes = ReadFileContents(example.sheet);
  if (!bytes) return std::unexpected(bytes.error());
  const auto* raw = reinterpret_cast<const std::uint8_t*>(bytes->data());
  const Result<islebook::Sheet> sheet = DecodeSheet(std::span(raw, bytes->size()), example.sheet.filename().string(), SheetOptionsFor({}));
  if (!sheet) return Fail(sheet.error().code, sheet.error().message, example.sheet.string());
  const Result<DigitizeResult> result = Digitize(*sheet, {}, {}, [&](const char*, double part) { return !watch || watch(part); });
  if (!result) return std::unexpected(result.error());
  NewRevision revision;
  revision.name = example.name;
  revision.document = WriteMapDocument(result->maps.front());
  revision.sheet = *bytes;
  revision.author = author;
  revision.message = example.message;
  if (const Result<AddedRevision> added = shelf.AddRevision(revision); !added) return std::unexpected(added.error());
  if (const Result<void> set = shelf.SetWheel(example.name, example.wheel, author); !set) return set;
  for (const std::string& tag : example.tags)
    if (const Result<void> set = shelf.SetTag(example.name, tag, true, author); !set) return set;
  return {};
}

}  // namespace islebook
