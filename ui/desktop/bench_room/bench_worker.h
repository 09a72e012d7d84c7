#pragma once
// Works cases out away from the window's thread. Of several requests the newest counts: what was asked before and not begun is dropped.

#include <atomic>
#include <condition_variable>
#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>

#include <QObject>

#include "ui/chart/chart.h"
#include "ui/desk/map_drawer.h"

namespace islebook {

struct BenchRequest {
  quint64 number = 0;
  std::string text;
  std::string name;              // for messages
  std::filesystem::path folder;  // for map files
  UnitHabit units;
};

// A case worked out, or why not.
struct BenchOutcome {
  quint64 number = 0;
  std::optional<Error> error;  // then nothing below holds
  int error_line = 0;          // 0: of no line
  BenchResult result;
  std::optional<OpenedBench> bench;
  std::vector<std::shared_ptr<const AskableMap>> askable;  // one a compressor; null where it cannot be asked
  std::vector<ChartOverlay> overlays;                      // likewise
  // Of the turbines that have maps, in the order of the stages.
  struct Turbine {
    std::string stage;
    std::shared_ptr<const PerformanceMap> map;
    std::shared_ptr<const AskableMap> askable;  // null where it cannot be asked
    ChartOverlay overlay;
  };
  std::vector<Turbine> turbines;
  double milliseconds = 0.0;
};

struct WhatFirstRequest {
  OpenedBench bench;
  std::size_t point = 0;
  Goal goal = Goal::kPower;
};

// The line that an error's place names; 0: none.
int LineOfPlace(const std::string& place);

class BenchWorker : public QObject {
  Q_OBJECT

 public:
  BenchWorker(std::filesystem::path shelf_file, QObject* parent);
  ~BenchWorker() override;  // waits for what is under way

  // Returns the request's number.
  quint64 Ask(BenchRequest request);
  // Names of the shelf may mean other maps now.
  void ForgetMaps();

 signals:
  void Done(std::shared_ptr<const islebook::BenchOutcome> outcome);

 private:
  void Work();
  std::shared_ptr<BenchOutcome> WorkOut(const BenchRequest& request, MapDrawer& drawer) const;

  std::filesystem::path shelf_file_;
  std::mutex mutex_;
  std::condition_variable woken_;
  std::optional<BenchRequest> next_;
  bool forget_ = false;
  bool ends_ = false;
  quint64 last_number_ = 0;
  std::thread thread_;
};

// The search for what to change first, one at a time.
class WhatFirstWorker : public QObject {
  Q_OBJECT

 public:
  WhatFirstWorker(std::filesystem::path shelf_file, QObject* parent);
  ~WhatFirstWorker() override;

  void Start(WhatFirstRequest request);  // one under way is stopped first
  void Stop();
  bool IsBusy() const { return busy_; }

 signals:
  void Progress(int done, int all);
  void Found(std::shared_ptr<const islebook::WhatFirst> found);
  void Failed(const QString& words, bool stopped);

 private:
  std::filesystem::path shelf_file_;
  std::shared_ptr<std::atomic<bool>> stop_;
  bool busy_ = false;
  std::thread thread_;
};

}  // namespace islebook
