// What the query service bears on the loopback interface: service_load HOST_PORT MAP_NAME [REQUESTS_A_SECOND [SECONDS]]
// Start `islebook serve MAP --port 8352` first. Prints the time of a batch of 10,000 points, and the times of single questions asked at a steady rate over four kept
// connections, counted from when each was due (so that a stall counts for every question it delays). A GET of /v1/health in the same run is the yardstick.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <thread>
#include <vector>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

namespace {

using Clock = std::chrono::steady_clock;
double Milliseconds(Clock::duration duration) { return std::chrono::duration<double, std::milli>(duration).count(); }

class Connection {
 public:
  explicit Connection(int port) : socket_(socket(AF_INET, SOCK_STREAM, 0)) {
    const int on = 1;
    setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
      std::fprintf(stderr, "service_load: nothing answers on port %d\n", port);
      std::exit(1);
    }
  }
  ~Connection() { close(socket_); }
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  // The response's status; its body in `body`.
  int Ask(const std::string& request, std::string& body) {
    for (std::size_t sent = 0; sent < request.size();) {
      const ssize_t part = send(socket_, request.data() + sent, request.size() - sent, MSG_NOSIGNAL);
      if (part <= 0) return 0;
      sent += static_cast<std::size_t>(part);
    }
    std::string head;
    std::size_t end = std::string::npos;
    char buffer[65536];
    while ((end = head.find("\r\n\r\n")) == std::string::npos) {
      const ssize_t part = recv(socket_, buffer, sizeof buffer, 0);
      if (part <= 0) return 0;
      head.append(buffer, static_cast<std::size_t>(part));
    }
    const std::size_t at = head.find("Content-Length: ");
    const std::size_t length = at < end ? std::strtoul(head.c_str() + at + 16, nullptr, 10) : 0;
    body = head.substr(end + 4);
    while (body.size() < length) {
      const ssize_t part = recv(socket_, buffer, sizeof buffer, 0);
      if (part <= 0) return 0;
      body.append(buffer, static_cast<std::size_t>(part));
    }
    return std::atoi(head.c_str() + 9);
  }

 private:
  int socket_;
};

std::string Post(const std::string& target, const std::string& body) {
  return "POST " + target + " HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
         "\r\n\r\n" + body;
}

void Report(const char* what, std::vector<double> times) {
  std::sort(times.begin(), times.end());
  std::printf("%s: median %.3f ms, 99 %% %.3f ms, longest %.3f ms (%zu)\n", what, times[times.size() / 2], times[times.size() * 99 / 100],
              times.back(), times.size());
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) return 2;
  const int port = std::atoi(argv[1]);
  const std::string target = "/v1/maps/" + std::string(argv[2]) + "/ask";
  const double rate = argc > 3 ? std::atof(argv[3]) : 2000.0, seconds = argc > 4 ? std::atof(argv[4]) : 5.0;

  std::string batch = "{\"points\": [";
  for (int i = 0; i < 10000; ++i) {
    char point[80];
    std::snprintf(point, sizeof point, "%s{\"flow\": %.6f, \"pressure_ratio\": %.4f}", i > 0 ? ", " : "", 0.1 + 0.00002 * i,
                  1.5 + 0.0001 * (i % 5000));
    batch += point;
  }
  batch += "]}";
  {
    Connection connection(port);
    std::string body;
    std::vector<double> times;
    for (int i = 0; i < 40; ++i) {
      const auto started = Clock::now();
      if (connection.Ask(Post(target, batch), body) != 200) return std::fprintf(stderr, "service_load: %s\n", body.c_str()), 1;
      if (i >= 5) times.push_back(Milliseconds(Clock::now() - started));
    }
    std::printf("a batch of 10,000 points, answer of %.1f MB\n", static_cast<double>(body.size()) / 1e6);
    Report("batch", times);
  }
  for (const bool health : {true, false}) {
    constexpr int kConnections = 4;
    std::vector<std::vector<double>> times(kConnections);
    std::vector<std::thread> threads;
    const auto started = Clock::now() + std::chrono::milliseconds(50);
    for (int c = 0; c < kConnections; ++c)
      threads.emplace_back([&, c] {
        Connection connection(port);
        std::string body;
        const int count = static_cast<int>(rate * seconds / kConnections);
        for (int i = 0; i < count; ++i) {
          const auto due = started + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>((i * kConnections + c) / rate));
          std::this_thread::sleep_until(due);
          char point[120];
          std::snprintf(point, sizeof point, "{\"points\": [{\"flow\": %.6f, \"pressure_ratio\": %.4f}]}", 0.1 + 1e-5 * (i % 20000),
                        1.5 + 0.0001 * (i % 5000));
          const std::string request = health ? "GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n" : Post(target, point);
          if (connection.Ask(request, body) != 200) {
            std::fprintf(stderr, "service_load: %s\n", body.c_str());
            std::exit(1);
          }
          times[static_cast<std::size_t>(c)].push_back(Milliseconds(Clock::now() - due));
        }
      });
    for (std::thread& thread : threads) thread.join();
    std::vector<double> all;
    for (const auto& own : times) all.insert(all.end(), own.begin(), own.end());
    std::printf("%.0f requests a second asked for, %.0f served\n", rate,
                static_cast<double>(all.size()) / (Milliseconds(Clock::now() - started) / 1000.0));
    Report(health ? "health" : "single questions", all);
  }
  return 0;
}
