#pragma once
// Where a person's cases find their maps: files beside the case and names on the shelf. What the command line asks once the window asks again and again, so opened maps,
// their readers on the bench and their surfaces are kept.

#include <filesystem>
#include <map>
#include <memory>
#include <string>

#include "mapstore/answers/askable_map.h"
#include "mapstore/bench/opened_bench.h"

namespace islebook {

// One thread at a time.
class MapDrawer {
 public:
  explicit MapDrawer(std::filesystem::path shelf_file, SurgeMargin surge_margin = SurgeMargin::kConstantSpeed)
      : shelf_file_(std::move(shelf_file)), surge_margin_(surge_margin) {}

  // `folder`: where map files named in the case are looked for. Errors as OpenedBench::Open.
  Result<OpenedBench> Open(BenchCase asked, const std::filesystem::path& folder);
  // The map ready for questions at any place. Errors of AskableMap::Make.
  Result<std::shared_ptr<const AskableMap>> Ask(const BenchMap& map);
  // Names of the shelf may stand for other revisions now.
  void Forget();

 private:
  struct Asked {
    std::shared_ptr<const PerformanceMap> map;  // so that no other map comes to stand at its address
    std::shared_ptr<const AskableMap> askable;
  };
  Result<BenchMap> Find(const std::string& spec, const std::filesystem::path& folder);

  std::filesystem::path shelf_file_;
  SurgeMargin surge_margin_;
  std::map<std::string, BenchMap> maps_;
  BenchReaders readers_;
  std::map<const PerformanceMap*, Asked> asked_;
};

}  // namespace islebook
