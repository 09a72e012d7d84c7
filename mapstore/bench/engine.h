#pragma once
// The engine as an air pump. SI: m3, rev/s, Pa, K, kg/s, W.

namespace islebook {

struct Engine {
  double displacement_m3 = 0.0;
  int strokes = 4;                      // 4 or 2
  double volumetric_efficiency = 0.92;  // air trapped over displacement filled at manifold pressure and temperature (two-stroke: delivery ratio)
};

// m = eta_v V N / (strokes/2) p / (R T).
double EngineAirFlow(const Engine& engine, double speed_rev_s, double manifold_Pa, double manifold_K, double gas_constant);
double ManifoldPressureForFlow(const Engine& engine, double speed_rev_s, double air_flow_kg_s, double manifold_K, double gas_constant);

}  // namespace islebook
