#pragma once
// What stands behind a CompressorSurface. Internal to mapstore/surface.

#include <string>
#include <vector>

#include "mapstore/surface/compressor_surface.h"
#include "mapstore/surface/efficiency_field.h"
#include "mapstore/surface/line_family.h"
#include "mapstore/surface/map_edge.h"
#include "mapstore/surface/speed_lines.h"
#include "mapstore/surface/speed_sigma.h"
#include "mapstore/surface/surface_table.h"

namespace islebook {

struct CompressorSurface::Impl {
  std::vector<double> line_speeds;
  std::vector<char> line_flagged;  // empty: none is
  std::string speed_unit;
  std::vector<std::string> notes;
  double max_speed = 1.0;
  LineFamily family;
  int rows_between = 2;
  double lowest = 1.0, highest = 1.0;  // relative speeds that the table goes to
  bool surge_printed = false, choke_printed = false;
  SurfaceTable table;
  EfficiencyField efficiency;
  double x_start = 0.0, x_per_n = 1.0;  // efficiency's x of a relative speed
  SpeedSigma speed_sigma;
  MapEdge edge;
  double surge_flow_sigma = 0.0;

  double X(double n) const { return (n - x_start) * x_per_n; }
};

}  // namespace islebook
