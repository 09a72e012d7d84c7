// The server in this process: many clients at once, large requests beside small ones, connections that come and go, and a stop in the middle of it all. Worth running under
// the thread sanitizer (cmake --preset tsan).
#include "ui/service/http_server.h"

#include <atomic>
#include <filesystem>
#include <thread>

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

class Client {
 public:
  explicit Client(int port) : socket_(socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const timeval limit{20, 0};
    setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
    connected_ = connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  }
  ~Client() { close(socket_); }
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  bool Send(const std::string& request) {
    if (!connected_) return false;
    for (std::size_t sent = 0; sent < request.size();) {
      const ssize_t part = send(socket_, request.data() + sent, request.size() - sent, MSG_NOSIGNAL);
      if (part <= 0) return false;
      sent += static_cast<std::size_t>(part);
    }
    return true;
  }

  // The status, 0 if the connection broke.
  int Ask(const std::string& request) {
    if (!Send(request)) return 0;
    std::string all;
    std::size_t end = std::string::npos, length = 0;
    char buffer[16384];
    while (end == std::string::npos || all.size() < end + 4 + length) {
      const ssize_t part = recv(socket_, buffer, sizeof buffer, 0);
      if (part <= 0) return 0;
      all.append(buffer, static_cast<std::size_t>(part));
      if (end == std::string::npos && (end = all.find("\r\n\r\n")) != std::string::npos)
        length = std::strtoul(all.c_str() + all.find("Content-Length: ") + 16, nullptr, 10);
    }
    body_ = all.substr(end + 4, length);
    return std::atoi(all.c_str() + 9);
  }
  const std::string& body() const { return body_; }  // of the last answer

 private:
  int socket_;
  std::string body_;
  bool connected_ = false;
};

std::string Post(int points) {
  std::string body = "{\"points\": [";
  for (int i = 0; i < points; ++i)
    body += std::string(i > 0 ? "," : "") + "{\"flow\": 0.2, \"pressure_ratio\": " + std::to_string(1.5 + 0.0001 * i) + "}";
  body += "]}";
  return "POST /v1/maps/alder/ask HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
         "\r\n\r\n" + body;
}

std::string PostCase(const std::string& query, int stages) {
  std::string body = "[engine]\ndisplacement = \"5.9 L\"\nspeed = \"1800 rpm\"\nboost = \"0.8 bar\"\n";
  for (int i = 0; i < stages; ++i) body += "[[stage]]\nname = \"" + std::to_string(i + 1) + "\"\ncompressor = \"alder\"\n";
  return "POST /v1/bench" + query +
         " HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/toml\r\nContent-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body;
}

class HttpServerTest : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("islebook-http-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder_);
    ASSERT_TRUE(WriteMapFile(folder_ / "alder.map.json", InventCompressor(2, {.lines = 5, .points = 40}).map));
    MapServiceOptions options;
    options.shelf = folder_ / "shelf.db";
    options.files = {folder_ / "alder.map.json"};
    service_ = std::make_unique<MapService>(options);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path folder_;
  std::unique_ptr<MapService> service_;
};

TEST_F(HttpServerTest, ManyClientsAtOnceAndAStopInTheMiddle) {
  HttpServerOptions options;
  options.most_connections = 40;
  auto server = HttpServer::Listen(*service_, options);
  ASSERT_TRUE(server) << server.error().message;
  const int port = (*server)->port();
  std::thread running([&] { (*server)->Run(); });
  std::atomic<int> answered{0}, wrong{0};
  std::atomic<bool> stopping{false};
  std::vector<std::thread> clients;
  for (int c = 0; c < 6; ++c)
    clients.emplace_back([&, c] {
      for (int round = 0; round < 4; ++round) {
        Client client(port), idle(port);
        for (int i = 0; i < 12; ++i) {
          const int status = client.Ask(c == 0 ? Post(1500) : i % 3 == 0 ? "GET /v1/maps HTTP/1.1\r\nHost: localhost\r\n\r\n" : Post(1));
          if (status == 200) ++answered;
          if (status != 200 && !stopping) ++wrong;
        }
      }
    });
  for (std::thread& client : clients) client.join();
  EXPECT_EQ(6 * 4 * 12, answered);
  EXPECT_EQ(0, wrong);
  // Now the stop comes while requests are being worked on.
  clients.clear();
  for (int c = 0; c < 3; ++c)
    clients.emplace_back([&] {
      Client client(port);
      while (client.Ask(Post(1500)) == 200) {
      }
    });
  std::this_thread::sleep_for(std::chrono::milliseconds(100));
  stopping = true;
  (*server)->Stop();
  running.join();
  server->reset();
  for (std::thread& client : clients) client.join();
}

TEST_F(HttpServerTest, BeyondTheLimitTheLongestIdleConnectionGoes) {
  HttpServerOptions options;
  options.most_connections = 8;
  auto server = HttpServer::Listen(*service_, options);
  ASSERT_TRUE(server) << server.error().message;
  std::thread running([&] { (*server)->Run(); });
  {
    Client first((*server)->port());
    EXPECT_EQ(200, first.Ask("GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n"));
    std::vector<std::unique_ptr<Client>> more;
    for (int i = 0; i < 30; ++i) {
      more.push_back(std::make_unique<Client>((*server)->port()));
      EXPECT_EQ(200, more.back()->Ask("GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n")) << i;
    }
    EXPECT_EQ(0, first.Ask("GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n"));
  }
  (*server)->Stop();
  running.join();
}

TEST_F(HttpServerTest, WhoDoesNotTakeHisAnswersHoldsUpNobody) {
  HttpServerOptions options;
  options.most_pending = 1 << 20;
  auto server = HttpServer::Listen(*service_, options);
  ASSERT_TRUE(server) << server.error().message;
  std::thread running([&] { (*server)->Run(); });
  {
    Client modest((*server)->port());
    EXPECT_EQ(200, modest.Ask(Post(8000)));  // an answer of some megabytes, and taken
    EXPECT_EQ(200, modest.Ask(Post(1)));
    Client sleeper((*server)->port());
    sleeper.Send(Post(20000));  // some ten megabytes that nobody reads
    int refused = 200;          // as soon as the answer is there
    for (int i = 0; i < 3000 && refused == 200; ++i) {
      refused = modest.Ask(Post(1));
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    EXPECT_EQ(503, refused);
    EXPECT_EQ(200, Client((*server)->port()).Ask("GET /v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n"));
  }
  int status = 0;
  for (int i = 0; i < 100 && (status = Client((*server)->port()).Ask(Post(1))) != 200; ++i)
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  EXPECT_EQ(200, status);
  (*server)->Stop();
  running.join();
}

// What to change first ends when its time is over, ranks what it has tried and counts the rest.
TEST_F(HttpServerTest, ASearchHasItsTime) {
  MapServiceOptions options;
  options.shelf = folder_ / "shelf.db";
  options.files = {folder_ / "alder.map.json"};
  options.bench.search_time = std::chrono::milliseconds(0);
  MapService hasty(options);
  auto server = HttpServer::Listen(hasty, {});
  ASSERT_TRUE(server) << server.error().message;
  std::thread running([&] { (*server)->Run(); });
  {
    Client client((*server)->port());
    EXPECT_EQ(200, client.Ask(PostCase("?what_first=altitude", 1))) << client.body();
    EXPECT_NE(std::string::npos, client.body().find("\"changes\": []")) << client.body();
    EXPECT_EQ(std::string::npos, client.body().find("\"not_tried\": 0")) << client.body();
    EXPECT_EQ(200, client.Ask(PostCase("", 1)));  // the connection goes on
  }
  (*server)->Stop();
  running.join();
}

// A search among many maps would keep the next case waiting for longer than a client waits here; it ends when whoever asked for it leaves.
TEST_F(HttpServerTest, WhoLeavesEndsHisSearch) {
  MapServiceOptions options;
  options.shelf = folder_ / "shelf.db";
  options.files = {folder_ / "alder.map.json"};
  for (int i = 0; i < 90; ++i) {
    options.files.push_back(folder_ / ("alder-" + std::to_string(i) + ".map.json"));
    std::filesystem::create_hard_link(options.files.front(), options.files.back());
  }
  options.bench.search_time = std::chrono::hours(1);
  MapService patient(options);
  auto server = HttpServer::Listen(patient, {});
  ASSERT_TRUE(server) << server.error().message;
  std::thread running([&] { (*server)->Run(); });
  const std::string search = PostCase("?what_first=altitude", 3);
  {
    Client leaves((*server)->port());
    ASSERT_TRUE(leaves.Send(search));
    std::this_thread::sleep_for(std::chrono::milliseconds(300));  // it is under way
  }
  EXPECT_EQ(200, Client((*server)->port()).Ask(PostCase("", 1)));
  // And with the server itself.
  Client stays((*server)->port());
  ASSERT_TRUE(stays.Send(search));
  std::this_thread::sleep_for(std::chrono::milliseconds(300));
  (*server)->Stop();
  running.join();
  server->reset();
}

TEST(HttpServerOptions, WhatMakesNoSenseIsRefused) {
  MapService service({});
  EXPECT_FALSE(HttpServer::Listen(service, {.address = "localhost"}));
  EXPECT_FALSE(HttpServer::Listen(service, {.threads = 0}));
  auto one = HttpServer::Listen(service, {});
  ASSERT_TRUE(one);
  EXPECT_TRUE(IsLoopback("127.0.0.1") && IsLoopback("::1") && !IsLoopback("0.0.0.0") && !IsLoopback("localhost"));
}

}  // namespace
}  // namespace islebook
