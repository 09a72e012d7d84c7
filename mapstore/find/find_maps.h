#pragma once
// Which compressors on the shelf can do a job, and which are like a given one.
//
// An index on the shelf (map_reach_grid.h) narrows thousands of maps down to those that may fit, and says how good each can be at best. They are then asked, the most
// promising first, until none of the rest can be among the best: so what is found, its order and its figures are those of asking every map.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

class CompressorQuery;

// Flow in kg/s corrected to 288.15 K and 101325 Pa.
struct JobPoint {
  double flow = 0.0;
  double pressure_ratio = 0.0;
};

struct CapabilityOptions {
  std::vector<JobPoint> points;                   // an operating point, or a line; every one must be covered
  double surge_margin = 0.0;                      // at least, at every point; fraction, at constant corrected speed
  std::optional<double> efficiency;               // at least, at every point; fraction. Maps without islands then do not fit
  std::optional<std::vector<std::string>> among;  // only these names
  int limit = 20;                                 // best first
  bool ask_maps = true;                           // false: what the index says, in a fraction of the time and good to a few tenths of a per cent
  Result<void> Check() const;                     // kInvalidArgument
};

struct CapableMap {
  std::string name;
  std::string revision;
  double least_surge_margin = 0.0;
  std::optional<double> least_efficiency, mean_efficiency;  // over the points
  bool total_to_static = false;                             // its pressure ratio is printed so: compare with care
  bool reference_assumed = false;   // its reference conditions are not printed or not there: its flow may be several per cent off
  bool from_index = false;          // not asked itself
  std::vector<std::string> doubts;  // of its answers, in sentences
};

struct CapableMaps {
  std::vector<CapableMap> maps;  // by mean efficiency, then by least surge margin; those without efficiency last
  std::vector<CapableMap>
      undecided;  // as good, but for their left edge, which is doubtful: `ask` leaves it open whether they cover the point; as many as `limit`
  std::int64_t more = 0;          // that the index says fit too and that are not listed
  std::int64_t not_searched = 0;  // maps whose index entry is yet to be made
};

struct LikeMap {
  std::string name;
  std::string revision;
  double flow_difference = 0.0;            // relative, root mean square over both sides of the map
  double pressure_ratio_difference = 0.0;  // relative, of the highest pressure ratio less one
  std::optional<double> peak_efficiency_difference;
};

// Maps asked one after the other keep their surfaces here, a few hundred at most. One finder is for one thread at a time, as its shelf is.
class MapFinder {
 public:
  explicit MapFinder(Shelf& shelf);
  ~MapFinder();
  MapFinder(const MapFinder&) = delete;
  MapFinder& operator=(const MapFinder&) = delete;

  // Makes the missing index entries, in portions; a shelf that may not be written is left as it is (kCannotWrite). Returns how many were made. kCancelled.
  Result<std::int64_t> UpdateIndex(const std::function<bool(double)>& progress = {});

  Result<CapableMaps> FindCapable(const CapabilityOptions& options);

  // The likest first, the map itself left out. kNotFound: no such map; kWrongKind: it cannot be asked.
  Result<std::vector<LikeMap>> FindLike(const std::string& name, int limit);

 private:
  struct Asked;
  Result<const Asked*> Ask(const ReachName& name);
  struct Memory;
  Shelf& shelf_;
  std::unique_ptr<Memory> memory_;
};

}  // namespace islebook
