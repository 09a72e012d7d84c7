#include "ui/cli/common.h"

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>

#include <fmt/format.h>
#include <unistd.h>
#include <nlohmann/json.hpp>

#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

volatile std::sig_atomic_t g_interrupted = 0;

void OnInterrupt(int signal_number) {
  g_interrupted = 1;
  std::signal(signal_number, SIG_DFL);
}

void WriteErrorLine(const std::string& line) {
  std::fwrite(line.data(), 1, line.size(), stderr);
  std::fflush(stderr);
}

}  // namespace

std::string ShelfPlace(const CommonArguments& common) { return common.shelf ? *common.shelf : DefaultShelfFile().string(); }

namespace {

int Print(const CommonArguments& common, std::string_view text, bool ends) {
  errno = 0;
  bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
  if (written && ends && (text.empty() || text.back() != '\n')) written = std::fputc('\n', stdout) != EOF;
  if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) written = false;
  if (written) return kExitDone;
  Complain(common, {ErrorCode::kCannotWrite, fmt::format("the result cannot be written: {}.", std::strerror(errno)), "standard output"});
  return kExitNotDone;
}

}  // namespace

int PrintResult(const CommonArguments& common, std::string_view text) { return Print(common, text, true); }
int PrintPart(const CommonArguments& common, std::string_view text) { return Print(common, text, false); }

void Say(const CommonArguments& common, std::string_view message) {
  if (common.quiet) return;
  WriteErrorLine(fmt::format("{}\n", message));
}

std::string OnOneLine(std::string_view text) {
  std::string line;
  for (const char c : text) {
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F)
      line += c;
    else if (c == '\n')
      line += "\\n";
    else if (c == '\t')
      line += "\\t";
    else
      line += fmt::format("\\x{:02x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
  }
  return line;
}

void Complain(const CommonArguments& common, const Error& error) {
  std::string line = "islebook";
  if (!common.command.empty()) line += " " + common.command;
  line += ": ";
  if (!error.place.empty()) line += error.place + ": ";
  WriteErrorLine(OnOneLine(line + error.message) + "\n");
}

namespace {

void PrintErrorJson(const CommonArguments& common, const Error& error) {
  if (!common.json) return;
  const nlohmann::json document = {{"error", {{"code", static_cast<int>(error.code)}, {"message", error.message}, {"place", error.place}}}};
  PrintResult(common, document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace));
}

}  // namespace

int FailCommand(const CommonArguments& common, const Error& error, const std::string& place_in_words) {
  Complain(common, {error.code, error.message, place_in_words.empty() ? error.place : place_in_words});
  PrintErrorJson(common, error);
  return error.code == ErrorCode::kCancelled ? kExitInterrupted : kExitNotDone;
}

int RefuseArguments(const CommonArguments& common, const Error& error) {
  Complain(common, error);
  PrintErrorJson(common, error);
  return kExitWrongCommandLine;
}

void CatchInterrupts() {
  struct sigaction action{};
  action.sa_handler = OnInterrupt;
  sigemptyset(&action.sa_mask);
  for (const int signal_number : {SIGINT, SIGTERM, SIGHUP}) {
    struct sigaction before{};
    // A program started with nohup keeps ignoring the hang-up.
    if (sigaction(signal_number, nullptr, &before) == 0 && before.sa_handler == SIG_IGN) continue;
    sigaction(signal_number, &action, nullptr);
  }
}

bool Interrupted() { return g_interrupted != 0; }

ProgressLine::ProgressLine(const CommonArguments& common) : draws_(!common.quiet && isatty(STDERR_FILENO) == 1) {}

ProgressLine::~ProgressLine() { Clear(); }

void ProgressLine::Show(std::string_view what, double fraction) {
  if (!draws_) return;
  const int percent = static_cast<int>(std::clamp(fraction, 0.0, 1.0) * 100.0 + 0.5);
  WriteErrorLine(fmt::format("\r\x1b[K{:3d} %  {}", percent, OnOneLine(what)));
  dirty_ = true;
}

void ProgressLine::Clear() {
  if (!dirty_) return;
  WriteErrorLine("\r\x1b[K");
  dirty_ = false;
}

}  // namespace islebook
