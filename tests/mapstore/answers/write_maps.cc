// write_maps DIR: maps for the tests of the doors. compressor.map.json, folding.map.json (speed lines that cross), turbine.map.json (by speed), vanes.map.json (by opening).

#include <cstdio>
#include <filesystem>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace {

bool Write(const std::filesystem::path& folder, const char* name, islebook::PerformanceMap map, const char* title) {
  map.title = title;
  const auto written = islebook::WriteMapFile(folder / name, map);
  if (!written) std::fprintf(stderr, "write_maps: %s: %s\n", written.error().place.c_str(), written.error().message.c_str());
  return written.has_value();
}

// A line whose label is wrong by as much as a line's distance crosses its neighbor: two answers there.
islebook::PerformanceMap Crossed(islebook::PerformanceMap map) {
  std::vector<islebook::Curve*> lines;
  for (islebook::Curve& curve : map.curves)
    if (curve.role == islebook::CurveRole::kSpeedLine) lines.push_back(&curve);
  islebook::Curve& line = *lines[lines.size() / 2];
  const double middle = line.points[line.points.size() / 2].x, reach = line.points.back().x - line.points.front().x;
  const double step = lines[lines.size() / 2 + 1]->points.front().y - line.points.front().y;
  for (islebook::Point2& point : line.points) point.y += 1.5 * step * (point.x - middle) / reach;
  return map;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const std::filesystem::path folder = argv[1];
  const islebook::InventedCompressor invented = islebook::InventCompressor(2);
  const bool written = Write(folder, "compressor.map.json", invented.map, "Alder 52, \"trim\" B") &&
                       Write(folder, "folding.map.json", Crossed(invented.map), "Alder 52 misread") &&
                       Write(folder, "turbine.map.json", islebook::InventTurbine(3, false).map, "Rowan 83") &&
                       Write(folder, "vanes.map.json", islebook::InventTurbine(4, true).map, "Rowan 83 with vanes");
  return written ? 0 : 1;
}
