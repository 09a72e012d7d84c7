#include "ui/service/bench_service.h"

#include <set>

#include <fmt/format.h>

#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/opened_bench.h"
#include "ui/service/served_maps.h"

namespace islebook {
namespace {

// What the address of a bench request says.
struct BenchRequest {
  SurgeMargin margin = SurgeMargin::kConstantSpeed;
  bool csv = false;
  std::string goal, point;
  std::set<std::string> taken;

  Result<void> Take(const std::string& name, const std::string& value) {
    if (!taken.insert(name).second) return Fail(ErrorCode::kInvalidArgument, "the parameter stands there twice.", name.substr(0, 60));
    if (name == "surge_margin") {
      const auto named = ParseSurgeMargin(value);
      if (!named) return Fail(ErrorCode::kInvalidArgument, "there is no such surge margin; openapi.json lists them.", name);
      margin = *named;
    } else if (name == "csv") {
      if (value != "true" && value != "false") return Fail(ErrorCode::kInvalidArgument, "it is either true or false.", name);
      csv = value == "true";
    } else if (name == "what_first") {
      if (!ParseGoal(value)) return Fail(ErrorCode::kInvalidArgument, "there is no such goal; openapi.json lists them.", name);
      goal = value;
    } else if (name == "point") {
      point = value;
    } else {
      return Fail(ErrorCode::kInvalidArgument, "there is no such parameter; there are surge_margin, csv, what_first and point.", name.substr(0, 60));
    }
    return {};
  }
};

Result<std::string> WhatToChange(ServedMaps& maps, const OpenedBench& bench, const BenchRequest& asked, std::chrono::milliseconds time,
                                 const std::function<bool()>& gone) {
  const auto end = std::chrono::steady_clock::now() + time;
  const auto names = maps.Names();
  if (!names) return std::unexpected(names.error());
  if (names->size() > kMostShelfWheels)
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("{} maps are served, and at most {} are tried; serve a shelf with fewer.", names->size(), kMostShelfWheels),
                "what_first");
  std::vector<ServedMaps::Map> kept;
  std::vector<ShelfWheel> wheels;
  for (const std::string& name : *names) {
    if (gone && gone()) break;
    auto map = maps.Find(name);
    if (!map) continue;  // what cannot be read is no candidate
    kept.push_back(*map);
    wheels.push_back({name, &kept.back()->map(), maps.SpeedLimit(name)});
  }
  const auto found = bench.WhatToChange(asked.goal, asked.point, wheels, [&](std::size_t, std::size_t) {
    if (gone && gone()) return SearchStep::kCancel;
    return std::chrono::steady_clock::now() < end ? SearchStep::kGoOn : SearchStep::kEnd;
  });
  if (!found) return std::unexpected(found.error());
  return WriteBenchChanges(*found);
}

}  // namespace

ServiceResponse AnswerBench(ServedMaps& maps, const BenchServiceOptions& options, const Parameters& parameters, const ServiceRequest& request) {
  BenchRequest asked;
  for (const auto& [name, value] : parameters)
    if (auto taken = asked.Take(name, value); !taken) return ProblemOf(taken.error());
  if (asked.goal.empty() && !asked.point.empty())
    return Problem(400, "a point is chosen for what to change first; name the goal with what_first.", "point");
  if (!asked.goal.empty() && asked.csv) return Problem(400, "what to change first comes as JSON only.", "csv");
  if (request.body.size() > options.largest_case)
    return Problem(413, fmt::format("the case is larger than {} bytes; send fewer points at a time.", options.largest_case));
  // Whatever is wrong with the case, or with a map that it names, is the case's.
  const auto refuse = [](const Error& error) {
    const int status = StatusOf(error.code);
    return ProblemResponse(status == 400 || status == 404 ? 422 : status, error);
  };
  auto parsed = ParseCase(request.body, "");
  if (!parsed) return refuse(parsed.error());
  if (parsed->points.size() > options.most_points)
    return refuse({ErrorCode::kOutOfRange,
                   fmt::format("the case has {} points, and at most {} are worked out in one request.", parsed->points.size(), options.most_points),
                   "the case"});
  const auto bench = OpenedBench::Open(
      std::move(*parsed),
      [&maps](const std::string& name) -> Result<BenchMap> {
        auto map = maps.Find(name);
        if (!map) return std::unexpected(map.error());
        return BenchMap{std::shared_ptr<const PerformanceMap>(*map, &(*map)->map()), name, (*map)->revision(), maps.SpeedLimit(name)};
      },
      asked.margin);
  if (!bench) return refuse(bench.error());
  ServiceResponse response;
  if (!asked.goal.empty()) {
    auto changes = WhatToChange(maps, *bench, asked, options.search_time, request.gone);
    if (!changes) return refuse(changes.error());
    response.body = std::move(*changes);
    return response;
  }
  const auto result = bench->Run();
  if (!result) return refuse(result.error());
  response.body = asked.csv ? WriteBenchCsv(*result) : WriteBenchReport(*result);
  if (asked.csv) response.content_type = "text/csv; charset=utf-8; header=present";
  return response;
}

}  // namespace islebook
