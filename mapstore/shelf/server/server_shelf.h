#pragma once
// The shelf on a shared PostgreSQL server, for a shop that outgrows one machine. It lives in the schema `islebook` of one database; FILE_FORMAT.md describes its tables.

#include <memory>
#include <string>

#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

// `url` is a connection address, postgresql://USER@HOST:PORT/DATABASE?PARAMETERS; what it leaves out comes from the usual places (PGHOST, PGPASSWORD, the user's
// .pgpass). kNotFound: the database holds no shelf yet (kRead, kWrite); kShelfUnavailable: no such server, it does not let this user in, or another program's tables;
// kNewerShelf; kCannotWrite: this user may not write; kShelfBusy; kInvalidArgument: the address cannot be read. A password is in no message.
Result<std::unique_ptr<Shelf>> OpenServerShelf(const std::string& url, const ShelfOptions& options);

// As CopyShelf() to a server. kCannotWrite: a shelf is there already.
Result<void> CopyShelfToServer(Shelf& from, const std::string& url);

// Lets OpenShelf() and CopyShelf() reach servers. Once, when the program starts.
void UseServerShelves();

}  // namespace islebook
