#pragma once
// The boundary of a compressor map: surge line, highest speed line, choke ends, lowest speed line. Internal to mapstore/surface.

#include <vector>

#include "mapstore/surface/compressor_surface.h"
#include "mapstore/surface/speed_lines.h"
#include "mapstore/surface/surface_table.h"

namespace islebook {

class MapEdge {
 public:
  MapEdge() = default;
  // `printed`: the surge line as drawn, for what of it lies beyond the outermost speed lines; may be empty.
  MapEdge(const SurfaceTable& table, const SurgeCurve& printed);

  const SurgeCurve& surge() const { return surge_; }
  std::vector<LinePoint> Outline()
      const;  // clockwise on the chart from the lowest surge point: up the surge line, along the top, down the choke ends, back
  // Which side a point lies on that is not on the map. Surge line and choke ends count as going straight on beyond their ends.
  MapRegion RegionOutside(double flow, double head) const;

 private:
  std::vector<LinePoint> surge_side_, choke_side_, top_, bottom_;  // sides upwards, lines from surge to choke
  SurgeCurve surge_;
  double flow_scale_ = 1.0, head_scale_ = 1.0;
};

}  // namespace islebook
