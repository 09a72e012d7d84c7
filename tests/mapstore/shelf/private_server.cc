#include "tests/mapstore/shelf/private_server.h"

#include <csignal>
#include <cstdlib>
#include <memory>

#include <fcntl.h>
#include <fmt/format.h>
#include <libpq-fe.h>
#include <sys/wait.h>
#include <unistd.h>

namespace islebook::shelf_test {
namespace {

pid_t g_owner = 0, g_keeper = 0;
int g_hold = -1;

// The keeper ends the server when its standard input closes.
void Stop() {
  if (getpid() != g_owner) return;
  close(g_hold);
  waitpid(g_keeper, nullptr, 0);
}

}  // namespace

PrivateServer* PrivateServer::Get(std::string& why) {
  static std::unique_ptr<PrivateServer> server;
  static std::string reason;
  static bool tried = false;
  if (!tried) {
    tried = true;
    int in[2], out[2], words[2];
    if (pipe2(in, O_CLOEXEC) != 0 || pipe2(out, O_CLOEXEC) != 0 || pipe2(words, O_CLOEXEC) != 0) std::abort();
    const pid_t child = fork();
    if (child == 0) {
      dup2(in[0], STDIN_FILENO);
      dup2(out[1], STDOUT_FILENO);
      dup2(words[1], STDERR_FILENO);
      execl(ISLEBOOK_PYTHON, ISLEBOOK_PYTHON, "-B", ISLEBOOK_SOURCE_DIR "/tests/support/private_server.py", static_cast<char*>(nullptr));
      _exit(127);
    }
    for (const int end : {in[0], out[1], words[1]}) close(end);
    const auto read_line = [](int from) {
      std::string line;
      for (char c = 0; read(from, &c, 1) == 1 && c != '\n';) line += c;
      return line;
    };
    const std::string folder = read_line(out[0]);
    close(out[0]);
    if (folder.empty()) {
      reason = read_line(words[0]);
      int status = 0;
      waitpid(child, &status, 0);
      if (!WIFEXITED(status) || WEXITSTATUS(status) != 77) {
        std::fprintf(stderr, "the private server could not be started: %s\n", reason.c_str());
        std::abort();
      }
    } else {
      g_owner = getpid();
      g_keeper = child;
      g_hold = in[1];
      std::atexit(Stop);
      server.reset(new PrivateServer(folder));
    }
  }
  why = reason;
  return server.get();
}

std::string PrivateServer::NewDatabase() {
  std::string name = fmt::format("shop_{}", ++databases_);
  const std::string said = Sql("postgres", "CREATE DATABASE " + name + " TEMPLATE template0 ENCODING 'UTF8' STRATEGY file_copy");
  if (!said.empty()) std::fprintf(stderr, "%s\n", said.c_str());
  return name;
}

std::string PrivateServer::Url(const std::string& database, const std::string& user, const std::string& password) const {
  return fmt::format("postgresql://{}{}{}@/{}?host={}", user, password.empty() ? "" : ":", password, database, folder_);
}

std::string PrivateServer::Sql(const std::string& database, const std::string& sql) const {
  PGconn* connection = PQconnectdb(Url(database).c_str());
  PQsetNoticeProcessor(connection, [](void*, const char*) {}, nullptr);
  PGresult* result = PQexec(connection, sql.c_str());
  std::string said;
  if (PQresultStatus(result) == PGRES_TUPLES_OK)
    said = PQntuples(result) > 0 ? PQgetvalue(result, 0, 0) : "";
  else if (PQresultStatus(result) != PGRES_COMMAND_OK)
    said = PQerrorMessage(connection);
  PQclear(result);
  PQfinish(connection);
  return said;
}

}  // namespace islebook::shelf_test
