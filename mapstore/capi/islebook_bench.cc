#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/opened_bench.h"
#include "mapstore/capi/c_objects.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf_maps.h"

using islebook::BenchColumn;
using islebook::BenchMap;
using islebook::ErrorCode;
using islebook::Fail;
using islebook::Result;
using islebook::capi::Guarded;
using islebook::capi::kNone;
using islebook::capi::Missing;

namespace {

struct NamedMap {
  std::string name;
  BenchMap map;
};

struct BenchSources {
  std::vector<NamedMap> maps;
  std::filesystem::path folder;  // empty: no map files
  std::string shelf;             // empty: no shelf
};

}  // namespace

struct islebook_bench {
  islebook::OpenedBench bench;
  islebook::BenchResult result;
  BenchSources sources;
  std::string report, csv;
};

namespace {

struct BenchOptions {
  BenchSources sources;
  islebook::SurgeMargin surge_margin = islebook::SurgeMargin::kConstantSpeed;
};

Result<BenchOptions> Read(const islebook_bench_options* given, const std::filesystem::path& beside) {
  islebook_bench_options options = ISLEBOOK_BENCH_OPTIONS_INIT;
  if (given != nullptr) {
    if (given->struct_size < sizeof(size_t) + sizeof(const char*))
      return Fail(ErrorCode::kInvalidArgument, "struct_size of the options is too small; set it to sizeof(islebook_bench_options).", "options");
    std::memcpy(&options, given, std::min(given->struct_size, sizeof options));
  }
  BenchOptions out;
  const auto margin = islebook::capi::ReadSurgeMargin(options.surge_margin, "options.surge_margin");
  if (!margin) return std::unexpected(margin.error());
  out.surge_margin = margin->value_or(out.surge_margin);
  if (options.map_count > 0 && options.maps == nullptr) return Missing("options.maps");
  for (const islebook_named_map& named : std::span(options.maps, options.map_count)) {
    if (named.name == nullptr) return Missing("options.maps.name");
    if (named.map == nullptr) return Missing("options.maps.map");
    const auto kept = std::make_shared<const islebook::AskableMap>(named.map->map);  // shares what it was made from
    out.sources.maps.push_back({named.name, {std::shared_ptr<const islebook::PerformanceMap>(kept, &kept->map()), named.name, kept->revision()}});
  }
  out.sources.folder = options.folder != nullptr ? std::filesystem::path(options.folder) : beside;
  if (options.shelf_file != nullptr) out.sources.shelf = options.shelf_file;
  return out;
}

Result<BenchMap> Find(const BenchSources& sources, const std::string& name) {
  for (const NamedMap& known : sources.maps)
    if (known.name == name) return known.map;
  if (sources.folder.empty() && sources.shelf.empty())
    return Fail(ErrorCode::kNotFound, "no map \"" + name +
                                          "\" was given; give it with options.maps, or say where maps are with options.folder and "
                                          "options.shelf_file.");
  const std::filesystem::path file = sources.folder / name;
  std::error_code ignored;
  if (!sources.folder.empty() && std::filesystem::is_regular_file(file, ignored)) {
    auto map = islebook::ReadMapFile(file);
    if (!map) return std::unexpected(map.error());
    return BenchMap{std::make_shared<const islebook::PerformanceMap>(std::move(*map)), file.filename().string(), ""};
  }
  if (sources.shelf.empty()) return Fail(ErrorCode::kNotFound, "there is no map file \"" + name + "\", and no shelf was given.", file.string());
  auto shelf = islebook::OpenShelf(sources.shelf, {.access = islebook::ShelfAccess::kRead});
  if (!shelf) return std::unexpected(shelf.error());
  auto found = islebook::ReadShelfMap(**shelf, name);
  if (!found) return std::unexpected(found.error());
  return BenchMap{std::make_shared<const islebook::PerformanceMap>(std::move(found->map)), found->name, found->revision, found->speed_limit_rpm};
}

Result<void> Open(islebook::BenchCase asked, BenchOptions options, islebook_bench** out) {
  auto bench = islebook::OpenedBench::Open(
      std::move(asked), [&options](const std::string& name) { return Find(options.sources, name); }, options.surge_margin);
  if (!bench) return std::unexpected(bench.error());
  auto result = bench->Run();
  if (!result) return std::unexpected(result.error());
  std::string report = islebook::WriteBenchReport(*result), csv = islebook::WriteBenchCsv(*result);
  *out = new islebook_bench{std::move(*bench), std::move(*result), std::move(options.sources), std::move(report), std::move(csv)};
  return {};
}

int32_t GradeCode(islebook::Grade grade) {
  switch (grade) {
    case islebook::Grade::kRoom: return ISLEBOOK_ROOM;
    case islebook::Grade::kUnknown: return ISLEBOOK_UNKNOWN;
    case islebook::Grade::kClose: return ISLEBOOK_CLOSE;
    case islebook::Grade::kOver: return ISLEBOOK_OVER;
  }
  return ISLEBOOK_UNKNOWN;
}

const char* Text(const std::string& text, size_t* size) {
  if (size != nullptr) *size = text.size();
  return text.c_str();
}

}  // namespace

extern "C" {

int32_t islebook_bench_open_file(const char* path, const islebook_bench_options* options, islebook_bench** bench, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (bench == nullptr) return Missing("bench");
    *bench = nullptr;
    if (path == nullptr) return Missing("path");
    const std::filesystem::path file(path), folder = file.parent_path();
    auto read = Read(options, folder.empty() ? "." : folder);
    if (!read) return std::unexpected(read.error());
    auto asked = islebook::ReadCaseFile(file);
    if (!asked) return std::unexpected(asked.error());
    return Open(std::move(*asked), std::move(*read), bench);
  });
}

int32_t islebook_bench_open_text(const char* toml, size_t size, const islebook_bench_options* options, islebook_bench** bench,
                                 islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (bench == nullptr) return Missing("bench");
    *bench = nullptr;
    if (toml == nullptr) return Missing("toml");
    auto read = Read(options, {});
    if (!read) return std::unexpected(read.error());
    auto asked = islebook::ParseCase({toml, size}, "");
    if (!asked) return std::unexpected(asked.error());
    return Open(std::move(*asked), std::move(*read), bench);
  });
}

void islebook_bench_close(islebook_bench* bench) { delete bench; }

int32_t islebook_bench_facts_of(const islebook_bench* bench, islebook_bench_facts* facts) {
  if (bench == nullptr || facts == nullptr || facts->struct_size < sizeof(size_t) * 2) return ISLEBOOK_INVALID_ARGUMENT;
  const islebook::BenchResult& result = bench->result;
  islebook_bench_facts out;
  std::memset(&out, 0, sizeof out);
  out.struct_size = facts->struct_size;
  out.points = result.points.size();
  out.stages = result.asked.stages.size();
  out.rows = islebook::BenchRows(result);
  out.columns = islebook::BenchColumns().size();
  for (const islebook::PointResult& point : result.points) out.failures += point.failure.empty() ? 0 : 1;
  out.grade = GradeCode(result.grade);
  out.has_turbines = result.asked.HasTurbines();
  out.needs_review = result.NeedsReview();
  out.title = result.asked.title.c_str();
  out.summary = result.summary.c_str();
  std::memcpy(facts, &out, std::min(facts->struct_size, sizeof out));
  return ISLEBOOK_OK;
}

const char* islebook_bench_report(const islebook_bench* bench, size_t* size) { return bench == nullptr ? nullptr : Text(bench->report, size); }
const char* islebook_bench_csv(const islebook_bench* bench, size_t* size) { return bench == nullptr ? nullptr : Text(bench->csv, size); }

const char* islebook_bench_point(const islebook_bench* bench, size_t point) {
  return bench == nullptr || point >= bench->result.points.size() ? nullptr : bench->result.points[point].name.c_str();
}
const char* islebook_bench_failure(const islebook_bench* bench, size_t point) {
  return bench == nullptr || point >= bench->result.points.size() ? nullptr : bench->result.points[point].failure.c_str();
}
const char* islebook_bench_stage(const islebook_bench* bench, size_t stage) {
  return bench == nullptr || stage >= bench->result.asked.stages.size() ? nullptr : bench->result.asked.stages[stage].name.c_str();
}

int32_t islebook_bench_column_of(const islebook_bench* bench, size_t column, islebook_bench_column* out) {
  if (bench == nullptr || out == nullptr || out->struct_size < sizeof(size_t) + sizeof(const char*)) return ISLEBOOK_INVALID_ARGUMENT;
  if (column >= islebook::BenchColumns().size()) return ISLEBOOK_NOT_FOUND;
  const BenchColumn& from = islebook::BenchColumns()[column];
  const islebook_bench_column found{out->struct_size, from.role, from.quantity, from.unit};
  std::memcpy(out, &found, std::min(out->struct_size, sizeof found));
  return ISLEBOOK_OK;
}

int32_t islebook_bench_values(const islebook_bench* bench, const char* role, const char* quantity, double* values, size_t count,
                              islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (bench == nullptr) return Missing("bench");
    if (role == nullptr) return Missing("role");
    if (quantity == nullptr) return Missing("quantity");
    if (values == nullptr && count > 0) return Missing("values");
    const std::size_t rows = islebook::BenchRows(bench->result);
    if (count > rows) return Fail(ErrorCode::kInvalidArgument, "count is more than the bench has rows, " + std::to_string(rows) + ".", "count");
    const auto columns = islebook::BenchColumns();
    const auto found = std::find_if(columns.begin(), columns.end(), [&](const BenchColumn& column) {
      return std::string_view(column.role) == role && std::string_view(column.quantity) == quantity;
    });
    if (found == columns.end())
      return Fail(ErrorCode::kNotFound,
                  std::string("there is no column ") + quantity + " of the " + role + "; islebook_bench_column_of lists what there is.",
                  std::string(role) + " " + quantity);
    const auto column = static_cast<std::size_t>(found - columns.begin());
    for (std::size_t row = 0; row < count; ++row) values[row] = islebook::BenchValue(bench->result, row, column).value_or(kNone);
    return {};
  });
}

int32_t islebook_bench_changes(const islebook_bench* bench, const char* goal, const char* point, char** json, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (json == nullptr) return Missing("json");
    *json = nullptr;
    if (bench == nullptr) return Missing("bench");
    if (goal == nullptr) return Missing("goal");
    std::vector<islebook::ShelfMap> shelf;
    if (!bench->sources.shelf.empty()) {
      auto opened = islebook::OpenShelf(bench->sources.shelf, {.access = islebook::ShelfAccess::kRead});
      if (!opened) return std::unexpected(opened.error());
      auto maps = islebook::ReadShelfMaps(**opened, islebook::kMostShelfWheels);
      if (!maps) return std::unexpected(maps.error());
      shelf = std::move(*maps);
    }
    std::vector<islebook::ShelfWheel> wheels;
    for (const NamedMap& named : bench->sources.maps) wheels.push_back({named.name, named.map.map.get()});
    for (const islebook::ShelfMap& map : shelf) wheels.push_back({map.name, &map.map, map.speed_limit_rpm});
    const auto found = bench->bench.WhatToChange(goal, point == nullptr ? "" : point, wheels);
    if (!found) return std::unexpected(found.error());
    const std::string text = islebook::WriteBenchChanges(*found);
    auto* copy = static_cast<char*>(std::malloc(text.size() + 1));
    if (copy == nullptr) throw std::bad_alloc();
    std::memcpy(copy, text.c_str(), text.size() + 1);
    *json = copy;
    return {};
  });
}

void islebook_text_free(char* text) { std::free(text); }

}  // extern "C"
