#pragma once
// Maps for the tests of mapstore: one compressor and one turbine of Fellside Rotors, made from plain formulas, and maps of random content.

#include <random>

#include "mapstore/map/performance_map.h"

namespace islebook {

// Five speed lines from surge to choke, surge line, choke line, three nested islands, all fields filled.
PerformanceMap ExampleCompressorMap();

// Three vane openings with a flow and an efficiency line each.
PerformanceMap ExampleTurbineMap();

// Anything the document can hold: any kind, axes or none, odd text, numbers over many decades.
PerformanceMap RandomMap(std::mt19937& random);

}  // namespace islebook
