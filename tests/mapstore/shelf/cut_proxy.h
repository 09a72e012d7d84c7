#pragma once
// Stands between a program and a PostgreSQL server and cuts the line at a commit.

#include <atomic>
#include <filesystem>
#include <string>
#include <thread>

namespace islebook::shelf_test {

class CutProxy {
 public:
  enum class Cut {
    kBeforeCommit,  // the server never hears of it
    kAfterCommit,   // the server does it, and its answer is lost
  };
  // Listens in `folder` as a server does there. The line is cut at commit number `which` (from 1) of each connection.
  CutProxy(const std::filesystem::path& folder, const std::string& server_folder, Cut cut, int which);
  ~CutProxy();
  CutProxy(const CutProxy&) = delete;
  CutProxy& operator=(const CutProxy&) = delete;
  int Cuts() const { return cuts_; }

 private:
  void Serve();
  void Carry(int client);
  std::string server_;
  Cut cut_;
  int which_;
  int listener_ = -1;
  std::atomic<int> cuts_{0};
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

}  // namespace islebook::shelf_test
