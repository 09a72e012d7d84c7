#pragma once
// A thread of its own that works at the shelf for the window: reads, searches, writes and draws, one job after the other, so that the window never waits.
//
// A job runs in that thread and returns what is to be done in the window's thread with its outcome. Of jobs that answer the same question only the latest counts:
// an older one that waits is left out, one that runs is told to stop, and its outcome is dropped.

#include <condition_variable>
#include <deque>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <thread>

#include <QObject>
#include <QString>

#include "mapstore/find/find_maps.h"
#include "mapstore/shelf/shelf.h"

namespace islebook {

// What a job has at hand.
class ClerkDesk {
 public:
  // Opened at the first call, made where there is none.
  Result<Shelf*> OpenShelf();
  Result<MapFinder*> Finder();
  // True: a later job of the same question waits, or the window closes: stop as soon as may be.
  bool IsStale() const { return stale_(); }
  // Says something in the window's thread while the job goes on.
  void Tell(std::function<void()> words) { tell_(std::move(words)); }

 private:
  friend class ShelfClerk;
  std::filesystem::path file_;
  std::unique_ptr<Shelf> shelf_;
  std::unique_ptr<MapFinder> finder_;
  std::function<bool()> stale_;
  std::function<void(std::function<void()>)> tell_;
};

class ShelfClerk {
 public:
  using Outcome = std::function<void()>;
  using Job = std::function<Outcome(ClerkDesk&)>;

  explicit ShelfClerk(std::filesystem::path file);
  // Waits for the job at hand; those without a question are done first (and see that they are stale, where they ask), all others are dropped.
  ~ShelfClerk();
  ShelfClerk(const ShelfClerk&) = delete;
  ShelfClerk& operator=(const ShelfClerk&) = delete;

  // `question` empty: every such job is done (writing). The outcome is dropped where `context` is gone by then.
  void Do(QObject* context, const QString& question, Job job);
  // For a window that is about to close, and for tests.
  bool IsIdle() const;

 private:
  struct Waiting {
    QString question;
    std::uint64_t number = 0;
    std::shared_ptr<void> context;  // a QPointer, looked into by the window's thread alone
    Job job;
  };
  void Work();
  void Post(const Waiting& job, Outcome outcome);
  bool IsLatest(const QString& question, std::uint64_t number) const;

  ClerkDesk desk_;
  std::shared_ptr<QObject> post_;  // outcomes pass through it
  mutable std::mutex mutex_;
  std::condition_variable bell_;
  std::deque<Waiting> waiting_;
  std::map<QString, std::uint64_t> latest_;
  std::uint64_t numbers_ = 0;
  bool closing_ = false, working_ = false;
  int undelivered_ = 0;  // outcomes on their way
  std::thread thread_;
};

}  // namespace islebook
