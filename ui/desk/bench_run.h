#pragma once
// A case of the bench with its maps: opened, made ready and worked out. What the command line does once the window does again and again, so opened maps are kept.

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"
#include "mapstore/bench/bench.h"
#include "mapstore/bench/what_first.h"
#include "ui/desk/open_map.h"

namespace islebook {

// The maps of a case, one a stage in the order of the air.
struct CaseMaps {
  std::vector<std::shared_ptr<const OpenedMap>> compressors;
  std::vector<std::shared_ptr<const OpenedMap>> turbines;  // null for an effective area; empty without turbines
  std::vector<std::shared_ptr<const CompressorReader>> compressor_readers;
  std::vector<std::shared_ptr<const TurbineReader>> turbine_readers;

  Result<BenchResult> Run(const BenchCase& asked) const;
  BenchRig Rig(const BenchCase& asked, SurgeMargin surge_margin) const;
};

// One thread at a time.
class MapDrawer {
 public:
  explicit MapDrawer(std::filesystem::path shelf_file, SurgeMargin surge_margin = SurgeMargin::kConstantSpeed)
      : shelf_file_(std::move(shelf_file)), surge_margin_(surge_margin) {}

  // `folder`: where map files named in the case are looked for. An error's place is the case's file, the line of the map's key and what lies within.
  Result<CaseMaps> Open(const BenchCase& asked, const std::filesystem::path& folder);
  // The map ready for questions at any place. Errors of AskableMap::Make.
  Result<std::shared_ptr<const AskableMap>> Ask(const std::shared_ptr<const OpenedMap>& map);
  // Names of the shelf may stand for other revisions now.
  void Forget();

 private:
  Result<std::shared_ptr<const OpenedMap>> Map(const std::string& spec, const std::filesystem::path& folder);

  std::filesystem::path shelf_file_;
  SurgeMargin surge_margin_;
  std::map<std::string, std::shared_ptr<const OpenedMap>> maps_;
  std::map<std::string, std::shared_ptr<const CompressorReader>> compressors_;
  std::map<std::string, std::shared_ptr<const TurbineReader>> turbines_;
  std::map<const OpenedMap*, std::shared_ptr<const AskableMap>> asked_;
};

}  // namespace islebook
