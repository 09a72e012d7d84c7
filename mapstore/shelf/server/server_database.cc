#include "mapstore/shelf/server/server_database.h"

#include <algorithm>
#include <bit>
#include <cstdlib>
#include <cstring>
#include <thread>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <libpq-fe.h>

#include "mapstore/map/json_text.h"
#include "mapstore/shelf/copy_tables.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/server/server_schema.h"
#include "mapstore/shelf/sqlite_database.h"
#include "mapstore/shelf/sqlite_schema.h"

namespace islebook {
namespace {

// Types as the protocol numbers them (the server's pg_type); fixed for ever.
constexpr Oid kBool = 16, kBytes = 17, kInt8 = 20, kInt2 = 21, kInt4 = 23, kText = 25, kFloat4 = 700, kFloat8 = 701;

// The lock that a writer holds; see server_schema.cc for the first number.
constexpr const char* kWriting = "SELECT pg_advisory_xact_lock(1232301157, 1)";

constexpr int kOldestServer = 130000;  // 13, the first that folds letters and accents

struct ResultDeleter {
  void operator()(PGresult* result) const { PQclear(result); }
};
using ResultHandle = std::unique_ptr<PGresult, ResultDeleter>;

// The first line of what the server or libpq says, as it can stand in the middle of a sentence.
std::string FirstLineOf(const char* said) {
  std::string line = said == nullptr ? "" : said;
  line.erase(std::min(line.find('\n'), line.size()));
  for (const char* word : {"ERROR:  ", "FATAL:  ", "ERROR: ", "FATAL: "})
    if (const std::size_t at = line.find(word); at != std::string::npos) line.erase(0, at + std::strlen(word));
  while (!line.empty() && (line.back() == '.' || line.back() == ' ')) line.pop_back();
  return ValidUtf8(line);
}

// The server's answer in our words, by its SQLSTATE.
Error ServerError(PGconn* connection, const PGresult* result, const std::string& place) {
  const auto error = [&](ErrorCode kind, std::string message) { return Error{kind, std::move(message), place}; };
  const char* given = result == nullptr ? nullptr : PQresultErrorField(result, PG_DIAG_SQLSTATE);
  const std::string_view state = given == nullptr ? "" : given;
  const std::string said = FirstLineOf(result == nullptr ? PQerrorMessage(connection) : PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY));
  if (PQstatus(connection) == CONNECTION_BAD || state.starts_with("08") || state.starts_with("57P"))
    return error(ErrorCode::kShelfUnavailable, "the connection to the server was lost; nothing was changed. Try again when the server is back.");
  if (state == "55P03" || state == "57014" || state == "40001" || state == "40P01")
    return error(ErrorCode::kShelfBusy, "another program is writing to the shelf and did not finish in time; nothing was changed, try again.");
  if (state == "25006")
    return error(ErrorCode::kCannotWrite, "the shelf is read-only here; nothing was changed. Ask for permission to write, or name another shelf.");
  if (state == "42501")
    return error(ErrorCode::kCannotWrite,
                 fmt::format("the server does not allow this user that ({}); nothing was changed. Ask whoever runs the server.", said));
  if (state == "53100") return error(ErrorCode::kCannotWrite, "the server's disk is full; nothing was changed. Ask whoever runs the server.");
  if (state == "58030")
    return error(ErrorCode::kCannotWrite, fmt::format("the server's disk fails ({}); nothing was changed. Ask whoever runs the server.", said));
  if (state == "53200") return error(ErrorCode::kInternal, "the server's memory ran out; nothing was changed.");
  if (state.starts_with("53")) return error(ErrorCode::kShelfBusy, fmt::format("the server has too much to do ({}); try again.", said));
  if (state == "22021")
    return error(ErrorCode::kInvalidArgument,
                 "a text holds a character that a shelf on a server cannot keep (one of number zero); nothing was changed.");
  if (state.starts_with("54"))
    return error(ErrorCode::kInvalidArgument, "this is too large for a shelf on a server (1 GB at most); nothing was changed.");
  if (state == "XX001" || state == "XX002" || state == "42P01" || state == "42703" || state == "42883" || state == "3F000")
    return error(ErrorCode::kShelfDamaged,
                 fmt::format("the shelf's tables on the server are damaged ({}); nothing was changed. Put back a copy.", said));
  return error(ErrorCode::kInternal, fmt::format("the shelf's server failed: {} (SQLSTATE {}); nothing was changed.", said, state));
}

bool Good(const PGresult* result) {
  const ExecStatusType status = PQresultStatus(result);
  return status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK;
}

template <typename Unsigned>
Unsigned FromNetwork(const char* bytes) {
  Unsigned value = 0;
  for (std::size_t i = 0; i < sizeof(Unsigned); ++i) value = static_cast<Unsigned>((value << 8) | static_cast<unsigned char>(bytes[i]));
  return value;
}

std::string ToNetwork(std::uint64_t value) {
  std::string bytes(8, '\0');
  for (std::size_t i = 0; i < 8; ++i) bytes[i] = static_cast<char>(value >> (56 - 8 * i));
  return bytes;
}

// Values stand as ?1 in a shelf's SQL, as $1 in the server's.
std::string WithDollars(std::string_view sql) {
  std::string out;
  bool quoted = false;
  for (std::size_t i = 0; i < sql.size(); ++i) {
    quoted = quoted != (sql[i] == '\'');
    const bool value = !quoted && sql[i] == '?' && i + 1 < sql.size() && sql[i + 1] >= '0' && sql[i + 1] <= '9';
    out += value ? '$' : sql[i];
  }
  return out;
}

}  // namespace

// Values go out and come back in the protocol's binary form. A statement of many rows is a cursor, from which portions of some megabytes are fetched.
class ServerDatabase::StatementOnServer final : public StatementEngine {
 public:
  StatementOnServer(ServerDatabase& database, std::string sql, std::string cursor)
      : database_(database), sql_(std::move(sql)), cursor_(std::move(cursor)) {}

  void BindText(int index, std::string_view text) override { Put(index, kText, std::string(text)); }
  void BindInteger(int index, std::int64_t value) override { Put(index, kInt8, ToNetwork(static_cast<std::uint64_t>(value))); }
  void BindReal(int index, std::optional<double> value) override {
    Put(index, kFloat8, value ? std::optional(ToNetwork(std::bit_cast<std::uint64_t>(*value))) : std::nullopt);
  }
  void BindBlob(int index, std::string_view bytes) override { Put(index, kBytes, std::string(bytes)); }

  Result<bool> Step() override {
    if (result_ == nullptr) {
      if (const Result<void> sent = Send(cursor_.empty() ? sql_ : "DECLARE " + cursor_ + " NO SCROLL CURSOR FOR " + sql_); !sent)
        return std::unexpected(sent.error());
      const char* changed = PQcmdTuples(result_.get());
      database_.changes_ = std::atoll(changed);
      row_ = -1;
      if (!cursor_.empty()) {
        if (const Result<void> fetched = Fetch(); !fetched) return std::unexpected(fetched.error());
      }
    }
    if (row_ + 1 < PQntuples(result_.get())) {
      ++row_;
      return true;
    }
    if (cursor_.empty() || PQntuples(result_.get()) == 0) {
      row_ = PQntuples(result_.get());
      return false;
    }
    if (const Result<void> fetched = Fetch(); !fetched) return std::unexpected(fetched.error());
    row_ = -1;
    return Step();
  }

  void Reset() override {
    result_.reset();
    row_ = -1;
    values_.clear();
    types_.clear();
  }

  bool IsNull(int column) const override { return !OnRow(column) || PQgetisnull(result_.get(), row_, column) != 0; }
  std::string_view Bytes(int column) const override {
    if (IsNull(column)) return {};
    return {PQgetvalue(result_.get(), row_, column), static_cast<std::size_t>(PQgetlength(result_.get(), row_, column))};
  }
  std::int64_t Integer(int column) const override {
    if (IsNull(column)) return 0;
    const char* bytes = PQgetvalue(result_.get(), row_, column);
    switch (PQftype(result_.get(), column)) {
      case kInt8: return static_cast<std::int64_t>(FromNetwork<std::uint64_t>(bytes));
      case kInt4: return static_cast<std::int32_t>(FromNetwork<std::uint32_t>(bytes));
      case kInt2: return static_cast<std::int16_t>(FromNetwork<std::uint16_t>(bytes));
      case kBool: return bytes[0] != 0 ? 1 : 0;
      default: return 0;
    }
  }
  double Real(int column) const override {
    if (IsNull(column)) return 0.0;
    const char* bytes = PQgetvalue(result_.get(), row_, column);
    switch (PQftype(result_.get(), column)) {
      case kFloat8: return std::bit_cast<double>(FromNetwork<std::uint64_t>(bytes));
      case kFloat4: return std::bit_cast<float>(FromNetwork<std::uint32_t>(bytes));
      default: return static_cast<double>(Integer(column));
    }
  }

 private:
  bool OnRow(int column) const { return result_ != nullptr && row_ >= 0 && row_ < PQntuples(result_.get()) && column < PQnfields(result_.get()); }

  void Put(int index, Oid type, std::optional<std::string> value) {
    const auto at = static_cast<std::size_t>(index);
    if (values_.size() < at) {
      values_.resize(at);
      types_.resize(at, kText);
    }
    values_[at - 1] = std::move(value);
    types_[at - 1] = type;
  }

  Result<void> Send(const std::string& sql) {
    // Values that were not bound are null; the last ones of a statement too.
    int count = static_cast<int>(values_.size());
    for (std::size_t at = sql.find('$'); at != std::string::npos; at = sql.find('$', at + 1))
      count = std::max(count, std::atoi(sql.c_str() + at + 1));
    values_.resize(static_cast<std::size_t>(count));
    types_.resize(static_cast<std::size_t>(count), kText);
    std::vector<const char*> values;
    std::vector<int> lengths, formats(static_cast<std::size_t>(count), 1);
    for (const std::optional<std::string>& value : values_) {
      values.push_back(value ? value->data() : nullptr);
      lengths.push_back(value ? static_cast<int>(std::min<std::size_t>(value->size(), 0x7fffffff)) : 0);
      if (value && value->size() > 1000000000)
        return Fail(ErrorCode::kInvalidArgument, "this is too large for a shelf on a server (1 GB at most); nothing was changed.", database_.place_);
    }
    result_.reset(PQexecParams(database_.connection_, sql.c_str(), count, types_.data(), values.data(), lengths.data(), formats.data(), 1));
    // A question of its own that the line was lost for can be asked again; within a transaction nothing can.
    if (!Good(result_.get()) && database_.IsLost() && !database_.in_transaction_ && sql.starts_with("SELECT")) {
      if (const Result<void> revived = database_.Revive(); !revived) return revived;
      result_.reset(PQexecParams(database_.connection_, sql.c_str(), count, types_.data(), values.data(), lengths.data(), formats.data(), 1));
    }
    if (Good(result_.get())) return {};
    const Error error = ServerError(database_.connection_, result_.get(), database_.place_);
    result_.reset();
    return std::unexpected(error);
  }

  Result<void> Fetch() {
    constexpr std::size_t kPortion = 4000000;  // bytes
    if (result_ != nullptr && PQntuples(result_.get()) > 0) {
      std::size_t size = 0;
      for (int row = 0; row < PQntuples(result_.get()); ++row)
        for (int column = 0; column < PQnfields(result_.get()); ++column) size += static_cast<std::size_t>(PQgetlength(result_.get(), row, column));
      portion_ = size < kPortion / 4 ? std::min(2 * portion_, 4096) : size > kPortion ? std::max(1, portion_ / 2) : portion_;
    }
    values_.clear();
    types_.clear();
    return Send(fmt::format("FETCH {} FROM {}", portion_, cursor_));
  }

  ServerDatabase& database_;
  std::string sql_;
  std::string cursor_;
  std::vector<std::optional<std::string>> values_;
  std::vector<Oid> types_;
  ResultHandle result_;
  int row_ = -1;
  int portion_ = 1;
};

ServerDatabase::ServerDatabase(pg_conn* connection, std::string place) : connection_(connection), place_(std::move(place)) {}

ServerDatabase::ServerDatabase(ServerDatabase&& other) noexcept
    : connection_(std::exchange(other.connection_, nullptr)),
      writes_(other.writes_),
      busy_timeout_(other.busy_timeout_),
      in_transaction_(other.in_transaction_),
      place_(std::move(other.place_)),
      changes_(other.changes_),
      cursors_(other.cursors_) {}

ServerDatabase::~ServerDatabase() { PQfinish(connection_); }

Result<ServerDatabase> ServerDatabase::Connect(const std::string& url, bool writes, std::chrono::milliseconds busy_timeout) {
  const std::string place = ShelfForPeople(url);
  // What libpq says of an address may repeat any part of it, the password too.
  PQconninfoOption* parts = url.find('\0') == std::string::npos ? PQconninfoParse(url.c_str(), nullptr) : nullptr;
  if (parts == nullptr)
    return Fail(ErrorCode::kInvalidArgument,
                "the server's address cannot be read; it is postgresql://USER@HOST:PORT/DATABASE, where %40 stands for @ and %2F for / in a name or "
                "password.",
                place);
  std::string user;
  for (const PQconninfoOption* part = parts; part->keyword != nullptr; ++part)
    if (std::string_view(part->keyword) == "user" && part->val != nullptr) user = part->val;
  PQconninfoFree(parts);

  // Those that stand before the address give way to it, those after it do not. A lost connection is noticed within half a minute.
  std::vector<const char*> names, values;
  const auto add = [&](const char* name, const char* value) {
    names.push_back(name);
    values.push_back(value);
  };
  if (std::getenv("PGCONNECT_TIMEOUT") == nullptr) add("connect_timeout", "10");
  add("tcp_user_timeout", "30000");
  add("keepalives_idle", "20");
  add("keepalives_interval", "5");
  add("keepalives_count", "3");
  add("fallback_application_name", "islebook");
  add("dbname", url.c_str());
  add("client_encoding", "UTF8");
  add(nullptr, nullptr);
  ServerDatabase database(PQconnectdbParams(names.data(), values.data(), 1), place);
  database.writes_ = writes;
  database.busy_timeout_ = busy_timeout;
  PGconn* connection = database.connection_;
  if (connection == nullptr) return Fail(ErrorCode::kInternal, "memory ran out.", place);
  PQsetNoticeProcessor(connection, [](void*, const char*) {}, nullptr);
  if (PQstatus(connection) != CONNECTION_OK) {
    if (PQconnectionNeedsPassword(connection) != 0)
      return Fail(
          ErrorCode::kShelfUnavailable,
          "the server asks for a password; put it into the file ~/.pgpass or the environment variable PGPASSWORD, where no one else can read it.",
          place);
    const std::string said = FirstLineOf(PQerrorMessage(connection));
    if (PQconnectionUsedPassword(connection) != 0)
      return Fail(
          ErrorCode::kShelfUnavailable,
          fmt::format("the server did not let {} in: {}. Check the user's name and password.", user.empty() ? "this user" : ValidUtf8(user), said),
          place);
    return Fail(ErrorCode::kShelfUnavailable, fmt::format("the server cannot be reached: {}.", said), place);
  }
  if (PQserverVersion(connection) < kOldestServer)
    return Fail(ErrorCode::kShelfUnavailable, "the server is too old; a shelf needs PostgreSQL 13 or later.", place);
  const char* encoding = PQparameterStatus(connection, "server_encoding");
  if (encoding == nullptr || std::string_view(encoding) != "UTF8")
    return Fail(ErrorCode::kShelfUnavailable, "the database does not keep its texts as UTF-8; make one that does: createdb --encoding UTF8.", place);
  if (const Result<void> set = database.SetUp(); !set) return std::unexpected(set.error());
  return database;
}

Result<void> ServerDatabase::SetUp() {
  return Execute(
      fmt::format("SET search_path = islebook, pg_catalog, pg_temp; SET lock_timeout = {}; SET default_transaction_read_only = {}; "
                  "SET client_min_messages = error; "
                  "SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'",
                  std::max<std::int64_t>(1, busy_timeout_.count()), writes_ ? "off" : "on"));
}

bool ServerDatabase::IsLost() const { return PQstatus(connection_) != CONNECTION_OK; }

Result<void> ServerDatabase::Revive() {
  if (in_transaction_ || !IsLost()) return {};
  using Clock = std::chrono::steady_clock;
  const Clock::time_point limit = Clock::now() + busy_timeout_;
  std::chrono::milliseconds pause(50);
  while (true) {
    PQreset(connection_);
    if (!IsLost()) return SetUp();
    if (Clock::now() + pause > limit) break;
    std::this_thread::sleep_for(pause);
    pause = std::min(2 * pause, std::chrono::milliseconds(1000));
  }
  return Fail(ErrorCode::kShelfUnavailable,
              fmt::format("the connection to the server was lost and it cannot be reached again: {}. Nothing was changed; try again when it is back.",
                          FirstLineOf(PQerrorMessage(connection_))),
              place_);
}

Result<Statement> ServerDatabase::Prepare(std::string_view sql, Rows rows) {
  std::string cursor;
  if (rows == Rows::kMany && IsInTransaction()) cursor = fmt::format("rows_{}", ++cursors_);
  return Statement(std::make_unique<StatementOnServer>(*this, WithDollars(sql), std::move(cursor)));
}

Result<void> ServerDatabase::Execute(const std::string& sql) {
  const ResultHandle result(PQexec(connection_, sql.c_str()));
  if (Good(result.get())) return {};
  return std::unexpected(ServerError(connection_, result.get(), place_));
}

bool ServerDatabase::IsInTransaction() const {
  const PGTransactionStatusType status = PQtransactionStatus(connection_);
  return status == PQTRANS_INTRANS || status == PQTRANS_INERROR || status == PQTRANS_ACTIVE;
}

// A writer waits for its turn before it looks at anything, and each of its statements sees what was committed before; a reader sees one state and waits for nobody.
Result<void> ServerDatabase::Begin(Kind kind) {
  if (kind == Kind::kWrite && !writes_) return Fail(ErrorCode::kCannotWrite, "the shelf was opened for reading only; nothing was changed.", place_);
  const std::string begin = kind == Kind::kRead ? "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
                                                : std::string("BEGIN ISOLATION LEVEL READ COMMITTED READ WRITE; ") + kWriting;
  if (const Result<void> revived = Revive(); !revived) return revived;
  Result<void> begun = Execute(begin);
  if (!begun && IsLost()) {  // that is how a loss is noticed
    if (const Result<void> revived = Revive(); !revived) return revived;
    begun = Execute(begin);
  }
  in_transaction_ = begun.has_value();
  return begun;
}

Result<void> ServerDatabase::Commit(Kind kind) {
  const ResultHandle result(PQexec(connection_, "COMMIT"));
  // A transaction in which something failed is rolled back when it is asked to commit, and the server calls that a success.
  if (Good(result.get()) && std::string_view(PQcmdStatus(result.get())) == "COMMIT") {
    in_transaction_ = false;
    return {};
  }
  if (Good(result.get())) return Fail(ErrorCode::kInternal, "the server took back what was written; nothing was changed.", place_);
  if (kind == Kind::kWrite && PQstatus(connection_) == CONNECTION_BAD)
    return Fail(ErrorCode::kShelfUnavailable,
                "the connection to the server was lost just when the change was being stored: all of it is there or nothing. Repeat the command; "
                "what is there "
                "already will be recognized.",
                place_);
  return std::unexpected(ServerError(connection_, result.get(), place_));
}

void ServerDatabase::RollBack() {
  if (connection_ != nullptr && IsInTransaction()) (void)Execute("ROLLBACK");
  in_transaction_ = false;
}

WordIndex ServerDatabase::Words() const {
  return {
      "JOIN", "words.vector @@ asked(?1)", "", "ts_rank('{0.07, 0.3, 0.5, 1}', words.vector, asked(?1)) DESC, maps.name",
      "ts_headline('pg_catalog.simple', concat_ws(E'\\n', words.name, words.title, words.maker, words.tags, words.notes, words.messages), asked(?1), "
      "'StartSel=\"\", StopSel=\"\", MaxFragments=1, MaxWords=12, MinWords=4')"};
}

std::string ServerDatabase::WordsAskedFor(const std::string& anywhere, const std::string& maker) const { return anywhere + "\n" + maker; }

const char* ServerDatabase::ReachCondition() const {
  return " AND box(point(flow_min, pressure_ratio_min), point(flow_max, pressure_ratio_max)) @> box(point(?1, ?2), point(?1, ?2))";
}

Result<std::int64_t> ServerDatabase::ChangesElsewhere() {
  std::string sum = "SELECT CAST(0 AS BIGINT)";
  for (const char* table : {"revisions", "maps", "heads", "removals", "tags", "notes", "wheels"})
    sum += fmt::format(" + coalesce((SELECT max(number) FROM {}), 0)", table);
  return Integer(sum);
}

Result<void> ServerDatabase::CheckStore(const std::function<void(std::string)>& note) { return CheckServerSchema(*this, note); }

Result<void> ServerDatabase::BackUp(const std::filesystem::path& file) {
  return MakeWholeFile(file, [&](const std::filesystem::path& part) -> Result<void> {
    Result<SqliteDatabase> copy = SqliteDatabase::Open(part, DatabaseAccess::kCreate, std::chrono::milliseconds(0));
    if (!copy) return std::unexpected(copy.error());
    if (const Result<void> made = MigrateShelf(*copy); !made) return made;
    Result<Transaction> reading = Transaction::Begin(*this, Kind::kRead);
    if (!reading) return std::unexpected(reading.error());
    Result<Transaction> writing = Transaction::Begin(*copy, Kind::kWrite);
    if (!writing) return std::unexpected(writing.error());
    if (const Result<void> copied = CopyTables(*this, *copy); !copied) return copied;
    return writing->Commit();
  });
}

}  // namespace islebook
