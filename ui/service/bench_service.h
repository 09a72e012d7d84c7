#pragma once
// The bench over HTTP: a case in, its report, its table or what to change first out.

#include <chrono>
#include <cstddef>

#include "mapstore/units/error.h"
#include "ui/service/service_request.h"

namespace islebook {

class ServedMaps;

struct BenchServiceOptions {
  std::size_t most_points = 2000;
  std::size_t largest_case = 1 << 20;            // bytes
  std::chrono::milliseconds search_time{30000};  // for what to change first; what was tried by then is the answer
};

// Only maps that are served may be named: no file of this machine is opened for a stranger. A search for what to change first ends when its time is over, or when whoever
// asked has gone.
ServiceResponse AnswerBench(ServedMaps& maps, const BenchServiceOptions& options, const Parameters& parameters, const ServiceRequest& request);

}  // namespace islebook
