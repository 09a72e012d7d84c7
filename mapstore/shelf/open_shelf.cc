#include "mapstore/shelf/open_shelf.h"

#include <optional>

#include "mapstore/map/json_text.h"
#include "mapstore/shelf/sqlite_shelf.h"

namespace islebook {
namespace {

std::optional<ServerShelves>& Servers() {
  static std::optional<ServerShelves> servers;
  return servers;
}

std::unexpected<Error> FailWithoutServers(const std::string& where) {
  return Fail(ErrorCode::kShelfUnavailable,
              "this program opens shelves in files only. Ask through islebook, or take a copy of the server's shelf with islebook shelf backup FILE.",
              ShelfForPeople(where));
}

}  // namespace

Result<std::unique_ptr<Shelf>> OpenShelf(const std::string& where, const ShelfOptions& options) {
  if (!IsServerShelf(where)) return OpenSqliteShelf(where, options);
  if (!Servers()) return FailWithoutServers(where);
  return Servers()->open(where, options);
}

Result<void> CopyShelf(Shelf& from, const std::string& to) {
  if (!IsServerShelf(to)) return from.BackUp(to);
  if (!Servers()) return FailWithoutServers(to);
  return Servers()->copy_to(from, to);
}

bool IsServerShelf(std::string_view where) { return where.starts_with("postgresql://") || where.starts_with("postgres://"); }

std::string ShelfForPeople(const std::string& where) {
  if (!IsServerShelf(where)) return where;
  const std::size_t start = where.find("://") + 3;
  std::string rest = where.substr(start);
  // Before the last '@' stand user and password, whatever the password holds.
  if (const std::size_t at = rest.rfind('@'); at != std::string::npos) {
    const std::string user = rest.substr(0, std::min(rest.find(':'), at));
    rest = user + rest.substr(at);
  }
  rest.erase(std::min(rest.find('?'), rest.size()));
  return ValidUtf8(where.substr(0, start) + rest);
}

void SetServerShelves(const ServerShelves& servers) { Servers() = servers; }

}  // namespace islebook
