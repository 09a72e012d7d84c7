#include "tests/mapstore/shelf/cut_proxy.h"

#include <cstdlib>
#include <cstring>

#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace islebook::shelf_test {
namespace {

sockaddr_un AddressOf(const std::string& folder) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string path = folder + "/.s.PGSQL.5432";
  if (path.size() >= sizeof address.sun_path) std::abort();
  std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
  return address;
}

}  // namespace

CutProxy::CutProxy(const std::filesystem::path& folder, const std::string& server_folder, Cut cut, int which)
    : server_(server_folder), cut_(cut), which_(which) {
  listener_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_un address = AddressOf(folder);
  if (bind(listener_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0 || listen(listener_, 8) != 0) std::abort();
  thread_ = std::thread([this] { Serve(); });
}

CutProxy::~CutProxy() {
  stop_ = true;
  thread_.join();
  close(listener_);
}

// One connection after the other, which is all that the tests need.
void CutProxy::Serve() {
  while (!stop_) {
    pollfd waiting{listener_, POLLIN, 0};
    if (poll(&waiting, 1, 20) != 1) continue;
    const int client = accept(listener_, nullptr, nullptr);
    if (client >= 0) Carry(client);
  }
}

void CutProxy::Carry(int client) {
  const int server = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_un address = AddressOf(server_);
  bool open = connect(server, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  int commits = 0;
  char buffer[65536];
  while (open && !stop_) {
    pollfd both[2] = {{client, POLLIN, 0}, {server, POLLIN, 0}};
    if (poll(both, 2, 20) <= 0) continue;
    for (int side = 0; side < 2 && open; ++side) {
      if (both[side].revents == 0) continue;
      const ssize_t size = read(both[side].fd, buffer, sizeof buffer);
      if (size <= 0) {
        open = false;
        break;
      }
      // A simple query: 'Q', its length in four bytes, its text. The client sends nothing else along with a commit.
      const bool commits_now = side == 0 && size == 12 &&
                               std::memcmp(buffer,
                                           "Q\0\0\0\x0b"
                                           "COMMIT",
                                           12) == 0 &&
                               ++commits == which_;
      if (commits_now && cut_ == Cut::kBeforeCommit) {
        ++cuts_;
        open = false;
        break;
      }
      for (ssize_t sent = 0; sent < size;) {
        const ssize_t part = write(both[1 - side].fd, buffer + sent, static_cast<std::size_t>(size - sent));
        if (part <= 0) {
          open = false;
          break;
        }
        sent += part;
      }
      if (commits_now) {
        (void)!read(server, buffer, sizeof buffer);  // the server has done it
        ++cuts_;
        open = false;
      }
    }
  }
  close(client);
  close(server);
}

}  // namespace islebook::shelf_test
