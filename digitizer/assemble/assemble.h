#pragma once
// Assemble: what each curve is (surge, choke, speed line, island, flow line, efficiency line), which value it carries, how sure we are, and so the map.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/curves.h"
#include "digitizer/labels/labels.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

// What a person said of a curve; no stage takes it back.
struct PersonsWord {
  bool course = false;    // where it runs: no other curve may have its ink
  bool role = false;      // what it is
  bool value = false;     // which value it carries, or that it carries none
  bool accepted = false;  // that nothing is wrong with it
  bool Any() const { return course || role || value || accepted; }
};

// A curve of the sheet with its meaning, still in pixels: what a person corrects.
struct JudgedCurve {
  TracedCurve trace;
  CurveRole role = CurveRole::kOther;
  std::optional<double> value;
  std::string unit;
  std::size_t panel = 0;
  bool on_right_axis = false;  // y is read on the panel's right axis, or the panel is the efficiency panel
  double confidence = 1.0;
  std::vector<std::string> reasons;  // doubts; not empty: needs review
  PersonsWord word;
  bool is_rest = false;          // another part of it was cut off by a person or went to a curve that they drew
  double role_confidence = 1.0;  // of the role by itself, and what speaks against it
  std::vector<std::string> role_reasons;
};

struct PanelEvidence {
  CurvesFound curves;
  LabelsRead labels;
};

struct JudgedMap {
  std::optional<MapKind> kind;
  std::vector<JudgedCurve> curves;
  std::size_t main_panel = 0;
  std::optional<std::size_t> efficiency_panel;  // a turbine's second panel
  StageReport report;
};

struct JudgeOptions {
  std::optional<MapKind> kind;  // a person's word
  Result<void> Check() const;
};

// What the earlier stages saw on the sheet: ink and print are witnesses for and against curves.
struct SheetSeen {
  const Page* page = nullptr;
  const RidgesFound* ridges = nullptr;
  const PrintFound* print = nullptr;
};

// `panels` runs along AxesFound::panels; without `sheet` the curves are judged by their shapes and labels alone.
Result<JudgedMap> JudgeCurves(const AxesFound& axes, const std::vector<PanelEvidence>& panels, const JudgeOptions& options = {},
                              const SheetSeen* sheet = nullptr);

// Adds what only the whole set of curves tells: one that may be missing, a kind of which there are none. Last, so that what a person corrected is not doubted.
void DoubtTheWhole(JudgedMap& judged);

// Once more after a person's corrections: what they said holds and tells about the others, whose values and doubts are found anew; roles stay. `corrected` is
// what JudgeCurves gave for these panels, with the corrections.
Result<JudgedMap> JudgeAgain(const JudgedMap& corrected, const AxesFound& axes, const std::vector<PanelEvidence>& panels,
                             const SheetSeen* sheet = nullptr);

// Pixels to axis values with sigma; the document's doubts.
Result<PerformanceMap> CalibrateMap(const JudgedMap& judged, const AxesFound& axes);

}  // namespace islebook
