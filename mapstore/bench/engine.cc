#include "mapstore/bench/engine.h"

namespace islebook {
namespace {

double FillingsPerSecond(const Engine& engine, double speed_rev_s) { return speed_rev_s * 2.0 / engine.strokes; }

}  // namespace

double EngineAirFlow(const Engine& engine, double speed_rev_s, double manifold_Pa, double manifold_K, double gas_constant) {
  return engine.volumetric_efficiency * engine.displacement_m3 * FillingsPerSecond(engine, speed_rev_s) * manifold_Pa / (gas_constant * manifold_K);
}

double ManifoldPressureForFlow(const Engine& engine, double speed_rev_s, double air_flow_kg_s, double manifold_K, double gas_constant) {
  return air_flow_kg_s * gas_constant * manifold_K / (engine.volumetric_efficiency * engine.displacement_m3 * FillingsPerSecond(engine, speed_rev_s));
}

}  // namespace islebook
