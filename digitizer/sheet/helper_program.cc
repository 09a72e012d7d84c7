#include "digitizer/sheet/helper_program.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace islebook {
namespace {

class Pipe {
 public:
  bool Open() { return pipe2(ends_, O_CLOEXEC) == 0; }
  ~Pipe() { CloseRead(), CloseWrite(); }
  void CloseRead() { Close(0); }
  void CloseWrite() { Close(1); }
  int read_end() const { return ends_[0]; }
  int write_end() const { return ends_[1]; }

 private:
  void Close(int end) {
    if (ends_[end] >= 0) close(ends_[end]);
    ends_[end] = -1;
  }
  int ends_[2] = {-1, -1};
};

void Limit(int what, std::int64_t most) {
  rlimit limit{static_cast<rlim_t>(most), static_cast<rlim_t>(most)};
  setrlimit(static_cast<__rlimit_resource>(what), &limit);
}

// In the child, between fork and exec: only async-signal-safe calls.
[[noreturn]] void BecomeHelper(const char* const* arguments, const Pipe& in, const Pipe& out, const Pipe& err, const HelperLimits& limits) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  dup2(in.read_end(), STDIN_FILENO);
  dup2(out.write_end(), STDOUT_FILENO);
  dup2(err.write_end(), STDERR_FILENO);
  Limit(RLIMIT_CPU, limits.cpu_s);
  Limit(RLIMIT_AS, limits.memory_bytes);
  Limit(RLIMIT_CORE, 0);
  signal(SIGPIPE, SIG_DFL);
  execvp(arguments[0], const_cast<char* const*>(arguments));
  _exit(errno == ENOENT ? 127 : 126);
}

}  // namespace

Result<HelperOutput> RunHelper(const std::vector<std::string>& command, std::span<const std::uint8_t> input, const HelperLimits& limits) {
  Pipe in, out, err;
  if (!in.Open() || !out.Open() || !err.Open())
    return Fail(ErrorCode::kInternal, fmt::format("{} cannot be started: {}.", command.front(), std::strerror(errno)));
  std::vector<const char*> arguments;
  for (const std::string& word : command) arguments.push_back(word.c_str());
  arguments.push_back(nullptr);
  const pid_t child = fork();
  if (child < 0) return Fail(ErrorCode::kInternal, fmt::format("{} cannot be started: {}.", command.front(), std::strerror(errno)));
  if (child == 0) BecomeHelper(arguments.data(), in, out, err, limits);
  in.CloseRead();
  out.CloseWrite();
  err.CloseWrite();
  fcntl(in.write_end(), F_SETFL, O_NONBLOCK);

  // A helper that stops reading must not end this program.
  sigset_t pipe_signal, before;
  sigemptyset(&pipe_signal);
  sigaddset(&pipe_signal, SIGPIPE);
  pthread_sigmask(SIG_BLOCK, &pipe_signal, &before);

  HelperOutput result;
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::duration<double>(limits.wall_s);
  std::size_t fed = 0;
  if (input.empty()) in.CloseWrite();
  std::vector<std::uint8_t> buffer(1 << 18);
  while (out.read_end() >= 0 || err.read_end() >= 0) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(deadline - std::chrono::steady_clock::now()).count();
    if (left <= 0) {
      result.timed_out = true;
      break;
    }
    pollfd ends[3] = {{in.write_end(), POLLOUT, 0}, {out.read_end(), POLLIN, 0}, {err.read_end(), POLLIN, 0}};
    if (poll(ends, 3, static_cast<int>(std::min<std::int64_t>(left, 1000))) < 0 && errno != EINTR) break;
    if (ends[0].revents != 0) {
      const ssize_t n = write(in.write_end(), input.data() + fed, input.size() - fed);
      if (n > 0) fed += static_cast<std::size_t>(n);
      if ((n < 0 && errno != EAGAIN && errno != EINTR) || fed == input.size()) in.CloseWrite();
    }
    if (ends[1].revents != 0) {
      const ssize_t n = read(out.read_end(), buffer.data(), buffer.size());
      if (n > 0)
        result.output.insert(result.output.end(), buffer.begin(), buffer.begin() + n);
      else if (n == 0 || errno != EINTR)
        out.CloseRead();
      if (static_cast<std::int64_t>(result.output.size()) > limits.output_bytes) {
        result.too_much = true;
        break;
      }
    }
    if (ends[2].revents != 0) {
      const ssize_t n = read(err.read_end(), buffer.data(), buffer.size());
      if (n > 0)
        result.errors.append(reinterpret_cast<const char*>(buffer.data()),
                             std::min<std::size_t>(static_cast<std::size_t>(n), 4000 - std::min<std::size_t>(4000, result.errors.size())));
      else if (n == 0 || errno != EINTR)
        err.CloseRead();
    }
  }
  if (result.timed_out || result.too_much) kill(child, SIGKILL);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  timespec none{};
  sigset_t pending;
  if (sigpending(&pending) == 0 && sigismember(&pending, SIGPIPE) == 1) sigtimedwait(&pipe_signal, nullptr, &none);
  pthread_sigmask(SIG_SETMASK, &before, nullptr);

  result.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  if (WIFSIGNALED(status) && (WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL)) result.timed_out = !result.too_much;
  if (result.exit_code == 127 && result.output.empty())
    return Fail(
        ErrorCode::kNotFound,
        fmt::format("the program {} that draws such pages is not installed; install it, or save the page as a PNG at 300 dpi.", command.front()));
  return result;
}

}  // namespace islebook
