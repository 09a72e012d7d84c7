#pragma once
// Curves of a drawing: its own paths inside a frame, which need no tracing, only what a program cut apart put together again. Internal to curves.

#include "digitizer/curves/curves.h"

namespace islebook {

// As TraceCurves, for ridges that are exact.
CurvesFound CollectDrawnCurves(const Page& page, const RidgesFound& ridges, const PrintFound& print, const AxesFound& axes, const Panel& panel,
                               const CurveOptions& options);

}  // namespace islebook
