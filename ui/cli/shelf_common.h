#pragma once
// What the shelf commands share: opening the library, and how revisions and facts are written for people and as JSON.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf.h"
#include "ui/cli/common.h"

namespace islebook::shelf_cli {

using Json = nlohmann::ordered_json;

int PrintJson(const CommonArguments& common, const Json& document);

Result<std::unique_ptr<Shelf>> OpenShelf(const CommonArguments& common, ShelfAccess access);

// What a person typed, with the map's name as the shelf writes it (open_map.h, SpecOnShelf).
Result<std::string> AsOnShelf(Shelf& shelf, const std::string& spec);

std::string ShortId(const std::string& id);
std::string Count(std::int64_t n, std::string_view one, std::string_view many);
std::string Bytes(std::int64_t bytes);
std::string FirstLine(const std::string& message);
std::string Joined(const std::vector<std::string>& words);  // by commas
std::string Table(const std::vector<std::vector<std::string>>& rows);
std::string WheelText(const WheelData& wheel);

Json RevisionJson(const RevisionRecord& revision);
Json SheetJson(const std::optional<std::string>& sha256);
Json WheelJson(const std::optional<WheelData>& wheel);

}  // namespace islebook::shelf_cli
