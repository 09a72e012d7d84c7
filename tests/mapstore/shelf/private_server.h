#pragma once
// A PostgreSQL server of the test program's own (tests/support/private_server.py), started the first time that it is asked for and gone when the program ends.

#include <optional>
#include <string>

namespace islebook::shelf_test {

class PrivateServer {
 public:
  // nullptr where no server is installed; `why` then says so.
  static PrivateServer* Get(std::string& why);

  // A database of its own that holds nothing yet. Its user `shop` needs no password and may do everything.
  std::string NewDatabase();
  // `database` as NewDatabase() gave it.
  std::string Url(const std::string& database, const std::string& user = "shop", const std::string& password = "") const;
  const std::string& SocketFolder() const { return folder_; }

  // What another program says to the server: the first value of the first row, or the server's complaint as "ERROR: ...".
  std::string Sql(const std::string& database, const std::string& sql) const;

 private:
  PrivateServer(std::string folder) : folder_(std::move(folder)) {}
  std::string folder_;
  int databases_ = 0;
};

}  // namespace islebook::shelf_test
