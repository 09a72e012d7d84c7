#include "ui/desktop/shelf_room/shelf_clerk.h"

#include <QPointer>

#include "mapstore/shelf/open_shelf.h"

namespace islebook {

Result<Shelf*> ClerkDesk::OpenShelf() {
  if (shelf_ == nullptr) {
    Result<std::unique_ptr<Shelf>> opened = islebook::OpenShelf(file_.string(), {.access = ShelfAccess::kCreate});
    if (!opened) return std::unexpected(opened.error());
    shelf_ = std::move(*opened);
  }
  return shelf_.get();
}

Result<MapFinder*> ClerkDesk::Finder() {
  const Result<Shelf*> shelf = OpenShelf();
  if (!shelf) return std::unexpected(shelf.error());
  if (finder_ == nullptr) finder_ = std::make_unique<MapFinder>(**shelf);
  return finder_.get();
}

ShelfClerk::ShelfClerk(std::filesystem::path file) : post_(std::make_shared<QObject>()) {
  desk_.file_ = std::move(file);
  thread_ = std::thread([this] { Work(); });
}

ShelfClerk::~ShelfClerk() {
  {
    const std::lock_guard lock(mutex_);
    closing_ = true;
    std::erase_if(waiting_, [](const Waiting& job) { return !job.question.isEmpty(); });
  }
  bell_.notify_all();
  thread_.join();
}

void ShelfClerk::Do(QObject* context, const QString& question, Job job) {
  {
    const std::lock_guard lock(mutex_);
    const std::uint64_t number = ++numbers_;
    if (!question.isEmpty()) {
      std::erase_if(waiting_, [&](const Waiting& old) { return old.question == question; });
      latest_[question] = number;
    }
    waiting_.push_back({question, number, std::make_shared<QPointer<QObject>>(context), std::move(job)});
  }
  bell_.notify_one();
}

bool ShelfClerk::IsIdle() const {
  const std::lock_guard lock(mutex_);
  return waiting_.empty() && !working_ && undelivered_ == 0;
}

bool ShelfClerk::IsLatest(const QString& question, std::uint64_t number) const {
  const std::lock_guard lock(mutex_);
  if (question.isEmpty()) return !closing_;
  const auto found = latest_.find(question);
  return !closing_ && found != latest_.end() && found->second == number;
}

void ShelfClerk::Work() {
  while (true) {
    Waiting job;
    {
      std::unique_lock lock(mutex_);
      working_ = false;
      bell_.wait(lock, [this] { return closing_ || !waiting_.empty(); });
      if (waiting_.empty()) return;
      job = std::move(waiting_.front());
      waiting_.pop_front();
      working_ = true;
    }
    desk_.stale_ = [this, question = job.question, number = job.number] { return !IsLatest(question, number); };
    desk_.tell_ = [this, &job](Outcome words) { Post(job, std::move(words)); };
    Outcome outcome = job.job(desk_);
    if (outcome) Post(job, std::move(outcome));
  }
}

void ShelfClerk::Post(const Waiting& job, Outcome outcome) {
  {
    const std::lock_guard lock(mutex_);
    ++undelivered_;
  }
  QMetaObject::invokeMethod(
      post_.get(),
      [this, question = job.question, number = job.number, context = job.context, outcome = std::move(outcome)] {
        if (!static_cast<QPointer<QObject>*>(context.get())->isNull() && IsLatest(question, number)) outcome();
        const std::lock_guard lock(mutex_);
        --undelivered_;
      },
      Qt::QueuedConnection);
}

}  // namespace islebook
