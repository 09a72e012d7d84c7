// A shelf of 20,000 maps with 100,000 revisions: how large it gets, and how long finding, opening and committing take.
//
// shelf_scale FOLDER [MAPS [REVISIONS]]    the shelf is made in FOLDER/scale.db, or in the database of a server, postgresql://...; where it is there already, only the
//                                          times are measured anew.
//
// Maps are one wheel of Fellside Rotors scaled to any size, with a printed chart's number of points. Times are of one process with the shelf open, the median and the
// 95th percentile of many, and the median of the processor's time alone, which other work on the machine does not lengthen; a commit's yardstick is writing and
// syncing one page on the same disk.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <memory>
#include <random>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "mapstore/find/find_maps.h"
#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/server/server_shelf.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using Clock = std::chrono::steady_clock;

double Milliseconds(Clock::time_point since) { return std::chrono::duration<double, std::milli>(Clock::now() - since).count(); }

double ProcessorMilliseconds() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return 1e3 * static_cast<double>(now.tv_sec) + 1e-6 * static_cast<double>(now.tv_nsec);
}

// Both times of one thing after another.
class Watch {
 public:
  void Start() {
    start_ = Clock::now();
    processor_start_ = ProcessorMilliseconds();
  }
  void Stop() {
    processor_.push_back(ProcessorMilliseconds() - processor_start_);
    wall_.push_back(Milliseconds(start_));
  }
  void Report(const char* what) {
    if (wall_.empty()) return;
    std::sort(wall_.begin(), wall_.end());
    std::sort(processor_.begin(), processor_.end());
    fmt::print("{:<58} {:8.2f} {:8.2f} {:8.2f} ms\n", what, wall_[wall_.size() / 2], wall_[wall_.size() * 95 / 100],
               processor_[processor_.size() / 2]);
    std::fflush(stdout);
  }

 private:
  Clock::time_point start_;
  double processor_start_ = 0.0;
  std::vector<double> wall_, processor_;
};

[[noreturn]] void Stop(const Error& error) {
  fmt::print(stderr, "shelf_scale: {}: {}\n", error.place, error.message);
  std::exit(1);
}

template <typename T>
T Must(Result<T> result) {
  if (!result) Stop(result.error());
  if constexpr (!std::is_void_v<T>) return std::move(*result);
}

const char* const kTrees[] = {"Alder", "Rowan", "Larch", "Birch", "Hazel", "Maple", "Aspen", "Willow", "Cherry", "Juniper", "Linden", "Elm"};
const char* const kWords[] = {"brochure", "bench", "ferry", "hauler", "spare", "rebuilt", "cracked", "polished", "copied", "measured", "old", "new"};

struct Wheel {
  double flow, rise, efficiency;
};

Wheel WheelOf(std::int64_t map) {
  std::mt19937 random(static_cast<unsigned>(map) * 2654435761u + 17u);
  std::uniform_real_distribution<double> decade(std::log(0.05), std::log(20.0)), rise(0.6, 2.2), efficiency(-0.08, 0.03);
  return {std::exp(decade(random)), rise(random), efficiency(random)};
}

std::string NameOf(std::int64_t map) { return fmt::format("{} {} no. {}", kTrees[map % 12], 30 + map % 90, map); }

PerformanceMap MapOf(std::int64_t map, int revision) {
  const Wheel wheel = WheelOf(map);
  PerformanceMap out = ExampleCompressorMap();
  out.title = fmt::format("{} {}, Fellside Rotors", kTrees[map % 12], 30 + map % 90);
  out.source.reset();
  out.x->max *= wheel.flow;
  out.y->max = 1.0 + (out.y->max - 1.0) * wheel.rise;
  const double nudge = 1.0 + 0.001 * revision;
  for (Curve& curve : out.curves) {
    for (Point2& p : curve.points) p = {p.x * wheel.flow * nudge, 1.0 + (p.y - 1.0) * wheel.rise};
    for (Point2& s : curve.sigma) s.x *= wheel.flow;
    if (curve.role == CurveRole::kEfficiencyIsland) *curve.value += wheel.efficiency;
  }
  return out;
}

NewRevision RevisionOf(std::int64_t map, int revision) {
  NewRevision out;
  out.name = NameOf(map);
  out.document = WriteMapDocument(MapOf(map, revision));
  out.author = revision % 2 == 0 ? "Ines" : "Tomas";
  out.message = fmt::format("{} {} of state {}", kWords[(map + revision) % 12], kWords[(map / 12 + revision) % 12], revision);
  return out;
}

void ReportSize(const std::string& file, std::int64_t revisions) {
  if (IsServerShelf(file)) return;
  const auto bytes = static_cast<double>(std::filesystem::file_size(file));
  fmt::print("{:>9} revisions: {:8.1f} MB, {:6.2f} kB a revision\n", revisions, bytes / 1e6, bytes / 1e3 / static_cast<double>(revisions));
  std::fflush(stdout);
}

void Fill(const std::string& file, std::int64_t maps, std::int64_t revisions) {
  constexpr std::int64_t kBatch = 250;
  const auto start = Clock::now();
  for (std::int64_t from = 0; from < revisions; from += kBatch) {
    {
      // Closed after each portion of a size that is reported, so that the log is folded into the file.
      auto shelf = Must(OpenShelf(file, {.access = ShelfAccess::kCreate}));
      std::vector<NewRevision> batch;
      for (std::int64_t i = from; i < std::min(from + kBatch, revisions); ++i) batch.push_back(RevisionOf(i % maps, static_cast<int>(i / maps)));
      Must(shelf->AddRevisions(batch));
      if (from < maps) {
        for (std::int64_t map = from; map < std::min(from + kBatch, maps); map += 10) {
          const double size = 30 + static_cast<double>(map % 90);
          Must(shelf->SetWheel(NameOf(map), {"Fellside Rotors", NameOf(map), size, size * 1.36, std::nullopt, std::nullopt, std::nullopt}, "Ines"));
          Must(shelf->SetTag(NameOf(map), kWords[map / 10 % 12], true, "Ines"));
        }
      }
    }
    for (const std::int64_t mark : {1000, 10000, 100000})
      if (from + kBatch == mark) ReportSize(file, mark);
    if (from % (40 * kBatch) == 0) fmt::print(stderr, "{} of {}, {:.0f} s\n", from, revisions, Milliseconds(start) / 1e3);
  }
}

// One page written and synced, the least that a durable commit can cost.
void MeasureDisk(const std::filesystem::path& folder) {
  const std::filesystem::path file = folder / "yardstick";
  const int handle = open(file.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  const std::string page(4096, 'x');
  Watch watch;
  for (int i = 0; i < 100; ++i) {
    watch.Start();
    if (write(handle, page.data(), page.size()) != static_cast<ssize_t>(page.size()) || fdatasync(handle) != 0) break;
    watch.Stop();
  }
  close(handle);
  std::filesystem::remove(file);
  watch.Report("yardstick: a page written and synced");
}

void Measure(const std::string& file, std::int64_t maps) {
  auto shelf = Must(OpenShelf(file, {.access = ShelfAccess::kWrite}));
  std::mt19937 random(20250314);
  {
    MapFinder finder(*shelf);
    const auto start = Clock::now();
    const double processor = ProcessorMilliseconds();
    const std::int64_t made = Must(finder.UpdateIndex());
    if (made > 0)
      fmt::print("{} index entries made, {:.2f} ms each, {:.2f} ms of the processor\n", made, Milliseconds(start) / static_cast<double>(made),
                 (ProcessorMilliseconds() - processor) / static_cast<double>(made));
  }
  fmt::print("{:<58} {:>8} {:>8} {:>8}\n", "", "median", "95 %", "processor");
  if (!IsServerShelf(file)) MeasureDisk(std::filesystem::path(file).parent_path());

  {
    Watch watch;
    for (int i = 0; i < 200; ++i) {
      watch.Start();
      auto other = Must(OpenShelf(file, {.access = ShelfAccess::kRead}));
      watch.Stop();
    }
    watch.Report("open the shelf");
  }
  Watch watch0;
  for (int i = 0; i < 500; ++i) {
    const std::string name = NameOf(static_cast<std::int64_t>(random() % static_cast<unsigned>(maps)));
    watch0.Start();
    const ShownRevision shown = Must(shelf->Show(name));
    const PerformanceMap map = Must(ParseMapDocument(shown.document));
    watch0.Stop();
    if (map.curves.empty()) std::abort();
  }
  watch0.Report("open a map (read, check the hash, parse)");

  for (const auto& [what, words] :
       {std::pair("find by a rare word (a map's number)", std::string("1234")), std::pair("find by two words", std::string("rowan ferry")),
        std::pair("find by a word that a twelfth of the maps has", std::string("juniper")),
        std::pair("find by a word that every map has", std::string("fellside"))}) {
    Watch watch;
    for (int i = 0; i < 100; ++i) {
      watch.Start();
      const auto found = Must(shelf->Find({.words = words, .limit = 20}));
      watch.Stop();
      if (found.empty()) std::abort();
    }
    watch.Report(what);
  }
  Watch watch1;
  for (int i = 0; i < 100; ++i) {
    watch1.Start();
    (void)Must(shelf->Find({.tags = {kWords[i % 12]}, .inducer_min_mm = 50, .inducer_max_mm = 60, .limit = 20}));
    watch1.Stop();
  }
  watch1.Report("find by tag and wheel size");

  // A point in the middle of some map; asked so that few maps fit, and so that all that cover it do. Each time by a finder that remembers no map.
  for (const auto& [what, ask, choosy] :
       {std::tuple("find by point, from the index, few fit", false, true), std::tuple("find by point, the ten best, few fit", true, true),
        std::tuple("find by point, the ten best, many fit", true, false), std::tuple("find by line of 20 points, the ten best", true, false)}) {
    const bool line = std::string_view(what).find("line") != std::string_view::npos;
    Watch watch;
    Watch again;
    double found_in_all = 0;
    for (int i = 0; i < 100; ++i) {
      const Wheel wheel = WheelOf(static_cast<std::int64_t>(random() % static_cast<unsigned>(maps)));
      CapabilityOptions options;
      const JobPoint middle{25.0 * wheel.flow * 0.45359237 / 60 * 1.08, 1.0 + 1.2 * wheel.rise};
      for (int k = 0; k < (line ? 20 : 1); ++k)
        options.points.push_back({middle.flow * (1.0 - 0.008 * k), 1.0 + (middle.pressure_ratio - 1.0) * (1.0 - 0.015 * k)});
      if (choosy) {
        options.surge_margin = 0.1;
        options.efficiency = 0.7;
      }
      options.limit = 10;
      options.ask_maps = ask;
      MapFinder finder(*shelf);
      watch.Start();
      const CapableMaps found = Must(finder.FindCapable(options));
      watch.Stop();
      found_in_all += static_cast<double>(found.maps.size()) + static_cast<double>(found.more);
      again.Start();
      (void)Must(finder.FindCapable(options));
      again.Stop();
    }
    watch.Report(what);
    if (ask) again.Report("  the same question again");
    fmt::print("  ({:.0f} maps fit, on average)\n", found_in_all / 100);
  }
  Watch watch2;
  MapFinder finder(*shelf);
  for (int i = 0; i < 50; ++i) {
    const std::string name = NameOf(static_cast<std::int64_t>(random() % static_cast<unsigned>(maps)));
    watch2.Start();
    (void)Must(finder.FindLike(name, 10));
    watch2.Stop();
  }
  watch2.Report("find by likeness");

  Watch watch3;
  for (int i = 0; i < 200; ++i) {
    NewRevision revision = RevisionOf(static_cast<std::int64_t>(random() % static_cast<unsigned>(maps)), 1000 + static_cast<int>(random() % 100000));
    watch3.Start();
    (void)Must(shelf->AddRevision(revision));
    watch3.Stop();
  }
  watch3.Report("commit a revision, durable");
}

}  // namespace
}  // namespace islebook

int main(int count, char** arguments) {
  if (count < 2) {
    std::fprintf(stderr, "shelf_scale FOLDER|postgresql://... [MAPS [REVISIONS]]\n");
    return 2;
  }
  islebook::UseServerShelves();
  const std::string place = arguments[1];
  const std::string file = islebook::IsServerShelf(place) ? place : place + "/scale.db";
  const std::int64_t maps = count > 2 ? std::atoll(arguments[2]) : 20000;
  const std::int64_t revisions = count > 3 ? std::atoll(arguments[3]) : 5 * maps;
  if (maps < 1 || revisions < maps) {
    std::fprintf(stderr, "shelf_scale: at least one map, and a revision for each\n");
    return 2;
  }
  if (!islebook::OpenShelf(file, {})) islebook::Fill(file, maps, revisions);
  islebook::ReportSize(file, revisions);
  islebook::Measure(file, maps);
  return 0;
}
