#pragma once
// Maps and readers made from the painter's invented compressors, whose every value is known by formula.

#include <optional>

#include "mapstore/bench/compressor_reader.h"
#include "mapstore/map/performance_map.h"
#include "tests/support/compressor_model.h"

namespace islebook::bench_test {

struct ModelMapOptions {
  ReferenceConditions reference{298.0, 100000.0, ReferenceConditions::Basis::kPrinted};
  std::string flow_unit = "kg/s";
  std::string speed_unit = "rpm";
  bool islands = true;
  int lines = 9;
};

// The map of a model as a digitizer without error would have it: speed lines, surge line and islands.
PerformanceMap MapOfModel(const paint::CompressorModel& model, const ModelMapOptions& options = {});

// For readers of tests that know no more off their map than on it: 65 % there.
inline CompressorTrial WorkFromReading(const CompressorReading& reading, const CompressorFacts& facts) {
  CompressorTrial work;
  if (reading.speed) work.speed_rev_s = *reading.speed * facts.speed_unit_si;
  work.efficiency = reading.efficiency.value_or(kOffMapEfficiency);
  work.guessed = !reading.efficiency || !reading.inside;
  return work;
}

// Reads the model itself, not a map of it: the place of a point is found by bisection on nested loops, slowly and simply, so that it can stand against the
// surface that the program reads. Efficiency and speed only; margins at constant speed.
class ModelReader : public CompressorReader {
 public:
  explicit ModelReader(paint::CompressorModel model, ModelMapOptions options = {});
  CompressorReading Read(const CompressorState& state) const override;
  CompressorTrial Work(const CompressorState& state) const override { return WorkFromReading(Read(state), facts_); }
  const CompressorFacts& facts() const override { return facts_; }

 private:
  paint::CompressorModel model_;
  ModelMapOptions options_;
  CompressorFacts facts_;
};

// A compressor for engines of about 12 liters, by inducer size.
paint::CompressorModel ModelForFlow(double choke_flow_kg_s, double top_ratio);

}  // namespace islebook::bench_test
