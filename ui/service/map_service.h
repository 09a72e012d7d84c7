#pragma once
// The query service without its sockets: one request in, one response out. openapi.json beside this describes it for programs, mapstore/answers/README.md for people.

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "mapstore/units/error.h"
#include "ui/service/bench_service.h"
#include "ui/service/service_request.h"

namespace islebook {

struct MapServiceOptions {
  std::string shelf;  // a file or a server's address (open_shelf.h); its maps are served by their names; a file need not be there
  std::vector<std::filesystem::path> files;  // map documents, each served by its name without .map.json
  std::string token;                         // if not empty, every request must carry it: "Authorization: Bearer TOKEN"
  bool loopback_only = true;  // requests must then name this machine as their host, so that web pages cannot reach in under a name of their own
  std::size_t most_points = 100000;  // in one request
  BenchServiceOptions bench;
  int threads = 0;  // of one request; 0: as many as there are processors
  // kInvalidArgument: two files of one name, a token that is too short, or none where others may reach in.
  Result<void> Check() const;
};

class MapService {
 public:
  explicit MapService(MapServiceOptions options);
  ~MapService();
  MapService(const MapService&) = delete;
  MapService& operator=(const MapService&) = delete;

  // From any thread. Never throws but for want of memory. A map is read anew when its file or the shelf has changed; a shelf on a
  // server is looked at five times a second.
  ServiceResponse Handle(const ServiceRequest& request);
  // Whether it may take longer than a question: it is then to be handled where nothing else waits.
  static bool TakesLong(const ServiceRequest& request);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace islebook
