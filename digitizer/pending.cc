// Stands in until it is written, so that the program links; goes away with that.
#include "digitizer/curves/curves.h"

namespace islebook {

__attribute__((weak)) Result<TracedCurve> TraceThrough(const Page&, const std::vector<ImagePoint>&, bool, const CurveOptions&) {
  return Fail(ErrorCode::kInternal, "tracing through given points is not built in");
}

}  // namespace islebook
