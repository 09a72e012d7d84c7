#pragma once
// HTTP/1.1 around a MapService (Boost.Beast). Connections cost no thread while they wait, so that many left open starve nobody; where there are too many, the one that was
// idle the longest is closed.

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>

#include "mapstore/units/error.h"
#include "ui/service/map_service.h"

namespace islebook {

struct HttpServerOptions {
  std::string address = "127.0.0.1";  // a number, not a name
  std::uint16_t port = 0;             // 0: any that is free
  int threads = 2;                    // that read and write
  std::size_t most_connections = 2000;
  std::size_t largest_header = 16 << 10;  // bytes
  std::size_t largest_body = 16 << 20;
  std::size_t most_pending = std::size_t{512} << 20;  // bytes of requests and responses under way, all connections together; beyond it: 503
  std::chrono::seconds request_time{15};              // to send one request whole, or to take its response
  std::chrono::seconds idle_time{60};                 // between requests
  Result<void> Check() const;
};

bool IsLoopback(const std::string& address);

class HttpServer {
 public:
  // Listens at once. kInvalidArgument: no such address; kCannotWrite: the port is taken or may not be used.
  static Result<std::unique_ptr<HttpServer>> Listen(MapService& service, const HttpServerOptions& options);
  ~HttpServer();
  HttpServer(const HttpServer&) = delete;
  HttpServer& operator=(const HttpServer&) = delete;

  std::uint16_t port() const;
  // Serves until Stop(), or until SIGINT, SIGTERM or SIGHUP, whose number it returns (0: Stop()).
  int Run();
  void Stop();  // from any thread

 private:
  struct Impl;
  explicit HttpServer(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace islebook
