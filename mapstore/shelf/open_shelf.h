#pragma once
// Opens a shelf wherever it is: in a file, or on a PostgreSQL server where the program can reach one (server/server_shelf.h).

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

enum class ShelfAccess {
  kRead,    // never changes the shelf; works on a read-only disk too
  kWrite,   // the shelf must be there
  kCreate,  // made if it is not there: a file with its folder, the tables in a server's database
};

struct ShelfOptions {
  ShelfAccess access = ShelfAccess::kRead;
  std::chrono::milliseconds busy_timeout{20000};  // how long to wait for another program that is writing
};

// A file's path, or postgresql://USER@HOST:PORT/DATABASE for the shelf on a server. Errors as those of OpenSqliteShelf and OpenServerShelf; kShelfUnavailable for a server
// where this program carries no way to reach one.
Result<std::unique_ptr<Shelf>> OpenShelf(const std::string& where, const ShelfOptions& options);

// Copies a whole shelf to a file that is not there yet, or into a server's database that holds no shelf yet. Whole or not at all, and while others go on using it.
Result<void> CopyShelf(Shelf& from, const std::string& to);

// Whether that is the address of a server and not a path.
bool IsServerShelf(std::string_view where);

// As it may be shown and logged: a server's address without the password and all parameters.
std::string ShelfForPeople(const std::string& where);

// What a program that can reach servers hands over, once, before it opens any shelf; UseServerShelves() does.
struct ServerShelves {
  Result<std::unique_ptr<Shelf>> (*open)(const std::string& url, const ShelfOptions& options);
  Result<void> (*copy_to)(Shelf& from, const std::string& url);
};
void SetServerShelves(const ServerShelves& servers);

}  // namespace islebook
