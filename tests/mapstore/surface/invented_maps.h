#pragma once
// Compressor and turbine maps made of exact curves, with exact values at places between them. No sheet, no pixels.

#include <cstdint>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "tests/support/compressor_model.h"
#include "tests/support/turbine_model.h"

namespace islebook {

struct ExactSample {
  double flow = 0.0, pressure_ratio = 0.0, speed = 0.0, efficiency = 0.0;
  double place = 0.0, relative_speed = 0.0;  // the model's own coordinates
};

struct InventedCompressor {
  paint::CompressorModel model;
  PerformanceMap map;                // kg/s, pressure ratio, rpm
  std::vector<double> speeds;        // of the lines
  std::vector<double> levels;        // of the islands
  std::vector<ExactSample> samples;  // between surge and choke, lowest and highest line
};

struct InventedCompressorOptions {
  int lines = 0;  // 0: 5 to 9, drawn
  int points = 120;
  bool surge_line = true;
  bool islands = true;
  int samples = 200;
};

InventedCompressor InventCompressor(std::uint64_t seed, const InventedCompressorOptions& options = {});

struct InventedTurbine {
  paint::TurbineModel model;
  PerformanceMap map;
  std::vector<double> values;  // rpm, or % opening
};
InventedTurbine InventTurbine(std::uint64_t seed, bool vanes);

}  // namespace islebook
