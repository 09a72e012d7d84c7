#pragma once
// A case with the maps that its stages name, ready to be worked out. It stands behind every door: each says where maps come from, opens the case here and writes what
// comes of it with bench_json.h and bench_table.h.

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/compressor_reader.h"
#include "mapstore/bench/turbine_reader.h"
#include "mapstore/bench/what_first.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/query/surge_margin.h"
#include "mapstore/units/error.h"

namespace islebook {

struct BenchMap {
  std::shared_ptr<const PerformanceMap> map;
  std::string name;                       // for people
  std::string revision;                   // on the shelf; empty elsewhere
  std::optional<double> speed_limit_rpm;  // the maker's, as the shelf has it on record for this wheel; stands where the case gives none
};

// Finds a map by what a stage calls it. Where maps may come from is the door's to say.
using BenchMapFinder = std::function<Result<BenchMap>(const std::string& named)>;

// Readers that were made once, for whoever opens cases over the same maps again and again: a map's surface is built when it is first named. One thread at a time.
class BenchReaders {
 public:
  void Forget();

 private:
  friend class OpenedBench;
  template <typename Reader>
  struct Kept {
    std::shared_ptr<const PerformanceMap> map;  // so that no other map comes to stand at its address
    std::shared_ptr<const Reader> reader;
  };
  std::map<std::string, Kept<CompressorReader>> compressors_;
  std::map<std::string, Kept<TurbineReader>> turbines_;
};

// Made once, asked from any number of threads. Copies share their maps.
class OpenedBench {
 public:
  // Asks `find` for every map, in the order of the stages. An error's place is the line of the case that names the map. `kept`, if not null, is looked into and added to.
  static Result<OpenedBench> Open(BenchCase asked, const BenchMapFinder& find, SurgeMargin surge_margin = SurgeMargin::kConstantSpeed,
                                  BenchReaders* kept = nullptr);

  const BenchCase& asked() const { return asked_; }
  const std::vector<BenchMap>& compressors() const { return compressors_; }
  const std::vector<std::optional<BenchMap>>& turbines() const {
    return turbines_;
  }  // none where an effective area stands for one; empty without turbines

  Result<BenchResult> Run() const;
  // The point that words mean: its name, or its number from 1; the first where there are none. kInvalidArgument with the names that there are.
  Result<std::size_t> FindPoint(std::string_view words) const;
  // As FindWhatFirst. By names: kInvalidArgument with the goals or points that there are, its place "what_first" or "point".
  Result<WhatFirst> WhatToChange(Goal goal, std::size_t point, std::span<const ShelfWheel> wheels, const WhatFirstProgress& progress = {}) const;
  Result<WhatFirst> WhatToChange(std::string_view goal, std::string_view point, std::span<const ShelfWheel> wheels,
                                 const WhatFirstProgress& progress = {}) const;

 private:
  BenchCase asked_;
  SurgeMargin surge_margin_ = SurgeMargin::kConstantSpeed;
  std::vector<BenchMap> compressors_;
  std::vector<std::optional<BenchMap>> turbines_;
  std::vector<std::shared_ptr<const CompressorReader>> compressor_readers_;
  std::vector<std::shared_ptr<const TurbineReader>> turbine_readers_;
};

}  // namespace islebook
