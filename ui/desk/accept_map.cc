#include "ui/desk/accept_map.h"

#include <cctype>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

constexpr std::size_t kLongestProposal = 60;

// Lower case, words joined by hyphens; letters beyond ASCII stay.
std::string Slug(const std::string& text) {
  std::string slug;
  for (const unsigned char c : text) {
    if (c >= 0x80 || std::isalnum(c) != 0 || c == '.')
      slug += static_cast<char>(std::tolower(c));
    else if (!slug.empty() && slug.back() != '-')
      slug += '-';
  }
  if (slug.size() > kLongestProposal) {
    slug.resize(kLongestProposal);
    while (!slug.empty() && (static_cast<unsigned char>(slug.back()) & 0xC0U) == 0x80U) slug.pop_back();  // not within a letter
    if (!slug.empty() && (static_cast<unsigned char>(slug.back()) & 0x80U) != 0U) slug.pop_back();
  }
  while (!slug.empty() && (slug.back() == '-' || slug.back() == '.')) slug.pop_back();
  return slug;
}

}  // namespace

Result<AddedRevision> AcceptMap(const std::filesystem::path& shelf_file, const MapToAccept& accepted) {
  if (const auto name = CheckMapName(accepted.name); !name) return std::unexpected(name.error());
  if (const auto writable = CheckWritable(accepted.map); !writable) return std::unexpected(writable.error());
  const auto shelf = islebook::OpenShelf(shelf_file, {.access = ShelfAccess::kCreate});
  if (!shelf) return std::unexpected(shelf.error());
  if (accepted.follows) {
    const auto head = (*shelf)->Show(accepted.name);
    if (!head && head.error().code != ErrorCode::kNotFound) return std::unexpected(head.error());
    if (head && head->revision.id != *accepted.follows)
      return Fail(ErrorCode::kInvalidArgument,
                  "the map on the shelf was changed while this one was being corrected; give it another name, or lay it on the table anew.",
                  accepted.name);
  }
  NewRevision revision;
  revision.name = accepted.name;
  revision.document = WriteMapDocument(accepted.map);
  revision.sheet = accepted.sheet;
  revision.author = accepted.author;
  revision.message = accepted.message;
  return (*shelf)->AddRevision(revision);
}

std::string ProposeMapName(const PerformanceMap& map) {
  std::string name = Slug(map.title);
  if (name.size() < 3 && map.source) name = Slug(std::filesystem::path(map.source->file).stem().string());
  return name.empty() ? "map" : name;
}

}  // namespace islebook
