#pragma once
// A PostgreSQL server as a shelf's database.

#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

#include "mapstore/shelf/database.h"
#include "mapstore/units/error.h"

struct pg_conn;

namespace islebook {

class ServerDatabase final : public Database {
 public:
  static Result<ServerDatabase> Connect(const std::string& url, bool writes, std::chrono::milliseconds busy_timeout);
  ServerDatabase(ServerDatabase&& other) noexcept;
  ServerDatabase& operator=(ServerDatabase&&) = delete;
  ~ServerDatabase() override;

  Result<Statement> Prepare(std::string_view sql, Rows rows = Rows::kFew) override;
  Result<void> Execute(const std::string& sql) override;
  std::int64_t Changes() const override { return changes_; }
  const std::string& Place() const override { return place_; }
  bool IsInTransaction() const override;
  Result<void> Begin(Kind kind) override;
  Result<void> Commit(Kind kind) override;
  void RollBack() override;
  WordIndex Words() const override;
  std::string WordsAskedFor(const std::string& anywhere, const std::string& maker) const override;
  const char* ReachCondition() const override;
  // The latest numbers of all tables together: they grow with every change, this program's own too.
  Result<std::int64_t> ChangesElsewhere() override;
  Result<void> CheckStore(const std::function<void(std::string)>& note) override;
  Result<void> BackUp(const std::filesystem::path& file) override;

 private:
  class StatementOnServer;
  ServerDatabase(pg_conn* connection, std::string place);
  Result<void> SetUp();
  bool IsLost() const;
  // Makes a lost connection anew, as long as the time limit for writers allows; not within a transaction, which is gone with its connection.
  Result<void> Revive();
  pg_conn* connection_;
  bool writes_ = false;
  std::chrono::milliseconds busy_timeout_{0};
  bool in_transaction_ = false;  // begun, and neither committed nor rolled back, whether or not the server still knows of it
  std::string place_;
  std::int64_t changes_ = 0;
  std::int64_t cursors_ = 0;  // opened so far, for their names
};

}  // namespace islebook
