#include "ui/desktop/bench_room/bench_worker.h"

#include <charconv>
#include <chrono>

#include "mapstore/bench/case_file.h"
#include "ui/desk/open_map.h"
#include "ui/report/stage_overlay.h"

namespace islebook {
int LineOfPlace(const std::string& place) {
  constexpr std::string_view kWord = "line ";
  const std::size_t at = place.rfind(kWord);
  if (at == std::string::npos) return 0;
  int line = 0;
  std::from_chars(place.data() + at + kWord.size(), place.data() + place.size(), line);
  return line;
}

BenchWorker::BenchWorker(std::filesystem::path shelf_file, QObject* parent) : QObject(parent), shelf_file_(std::move(shelf_file)) {
  thread_ = std::thread([this] { Work(); });
}

BenchWorker::~BenchWorker() {
  {
    const std::lock_guard lock(mutex_);
    ends_ = true;
  }
  woken_.notify_one();
  thread_.join();
}

quint64 BenchWorker::Ask(BenchRequest request) {
  const std::lock_guard lock(mutex_);
  request.number = ++last_number_;
  next_ = std::move(request);
  woken_.notify_one();
  return last_number_;
}

void BenchWorker::ForgetMaps() {
  const std::lock_guard lock(mutex_);
  forget_ = true;
}

void BenchWorker::Work() {
  MapDrawer drawer(shelf_file_);
  while (true) {
    BenchRequest request;
    {
      std::unique_lock lock(mutex_);
      woken_.wait(lock, [this] { return ends_ || next_; });
      if (ends_) return;
      request = std::move(*next_);
      next_.reset();
      if (forget_) drawer.Forget();
      forget_ = false;
    }
    std::shared_ptr<const BenchOutcome> outcome = WorkOut(request, drawer);
    QMetaObject::invokeMethod(this, [this, outcome] { emit Done(outcome); }, Qt::QueuedConnection);
  }
}

std::shared_ptr<BenchOutcome> BenchWorker::WorkOut(const BenchRequest& request, MapDrawer& drawer) const {
  const auto start = std::chrono::steady_clock::now();
  auto outcome = std::make_shared<BenchOutcome>();
  outcome->number = request.number;
  const auto fail = [&](const Error& error) {
    outcome->error = error;
    outcome->error_line = LineOfPlace(error.place);
    return outcome;
  };
  auto asked = ParseCase(request.text, request.name);
  if (!asked) return fail(asked.error());
  asked->units = request.units;
  auto bench = drawer.Open(std::move(*asked), request.folder);
  if (!bench) return fail(bench.error());
  auto result = bench->Run();
  if (!result) return fail(result.error());
  outcome->result = std::move(*result);
  outcome->bench = std::move(*bench);
  for (std::size_t i = 0; i < outcome->bench->compressors().size(); ++i) {
    const auto askable = drawer.Ask(outcome->bench->compressors()[i]);
    outcome->askable.push_back(askable ? *askable : nullptr);
    outcome->overlays.push_back(StageOverlay(outcome->result, i));
  }
  for (std::size_t i = 0; i < outcome->bench->turbines().size(); ++i) {
    const std::optional<BenchMap>& turbine = outcome->bench->turbines()[i];
    if (!turbine) continue;  // a nozzle of a given area
    const auto askable = drawer.Ask(*turbine);
    outcome->turbines.push_back(
        {outcome->result.asked.stages[i].name, turbine->map, askable ? *askable : nullptr, TurbineOverlay(outcome->result, i, *turbine->map)});
  }
  outcome->milliseconds = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  return outcome;
}

WhatFirstWorker::WhatFirstWorker(std::filesystem::path shelf_file, QObject* parent) : QObject(parent), shelf_file_(std::move(shelf_file)) {}

WhatFirstWorker::~WhatFirstWorker() {
  if (stop_) *stop_ = true;
  if (thread_.joinable()) thread_.join();
}

void WhatFirstWorker::Stop() {
  if (stop_) *stop_ = true;
}

void WhatFirstWorker::Start(WhatFirstRequest request) {
  Stop();
  auto stop = std::make_shared<std::atomic<bool>>(false);
  stop_ = stop;
  busy_ = true;
  // The one before ends within a candidate; the new one waits for it, the window does not.
  auto before = std::make_shared<std::thread>(std::move(thread_));
  thread_ = std::thread([this, stop, before, request = std::move(request)] {
    if (before->joinable()) before->join();
    const auto hand_over = [&](auto deed) {
      QMetaObject::invokeMethod(
          this,
          [this, stop, deed] {
            if (stop != stop_) return;  // an older one's
            deed();
          },
          Qt::QueuedConnection);
    };
    const auto fail = [&](const Error& error) {
      const QString words = QString::fromStdString(error.message);
      const bool stopped = error.code == ErrorCode::kCancelled;
      hand_over([this, words, stopped] {
        busy_ = false;
        emit Failed(words, stopped);
      });
    };
    const auto shelf = OpenShelfMaps(shelf_file_, kMostShelfWheels);
    if (!shelf) return fail(shelf.error());
    std::vector<ShelfWheel> wheels;
    for (const OpenedMap& map : *shelf) wheels.push_back({map.name, &map.map, map.speed_limit_rpm});
    const auto progress = [&](std::size_t done, std::size_t all) {
      hand_over([this, done, all] { emit Progress(static_cast<int>(done), static_cast<int>(all)); });
      return *stop ? SearchStep::kCancel : SearchStep::kGoOn;
    };
    auto found = request.bench.WhatToChange(request.goal, request.point, wheels, progress);
    if (!found) return fail(found.error());
    auto kept = std::make_shared<const WhatFirst>(std::move(*found));
    hand_over([this, kept] {
      busy_ = false;
      emit Found(kept);
    });
  });
}

}  // namespace islebook
