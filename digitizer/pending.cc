// Stands in until these two are written, so that the program links; goes away with them.
#include "digitizer/labels/labels.h"

namespace islebook {

__attribute__((weak)) Result<LabelsRead> ReadLabels(const Page&, const PrintFound&, const AxesFound&, std::size_t, const CurvesFound&, PrintReader&, const LabelOptions&) {
  LabelsRead none;
  none.report.doubts.push_back("labels were not read");
  return none;
}
__attribute__((weak)) Result<void> LabelOptions::Check() const { return {}; }
__attribute__((weak)) Result<TracedCurve> TraceThrough(const Page&, const std::vector<ImagePoint>&, bool, const CurveOptions&) {
  return Fail(ErrorCode::kInternal, "tracing through given points is not built in");
}

}  // namespace islebook
