#include "ui/desktop/light_table/unfinished_work.h"

#include <algorithm>
#include <mutex>
#include <system_error>
#include <utility>

#include <QCoreApplication>
#include <QJsonDocument>
#include <QJsonObject>
#include <QLockFile>

#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr char kSheet[] = "sheet", kFacts[] = "work.json", kRecipe[] = "recipe.json", kHeld[] = "held", kPutAway[] = "put_away";
constexpr std::size_t kMostPutAway = 10;

std::unique_ptr<QLockFile> LockOf(const std::filesystem::path& folder) {
  auto lock = std::make_unique<QLockFile>(QString::fromStdString((folder / kHeld).string()));
  lock->setStaleLockTime(0);  // held as long as its program runs, however long that is
  return lock;
}

std::string FactsJson(const UnfinishedSheet& facts) {
  const QJsonObject json{{"file", facts.file}, {"sha256", facts.sha256}, {"shelf_name", facts.shelf_name}, {"shelf_revision", facts.shelf_revision}};
  return QJsonDocument(json).toJson().toStdString();
}

}  // namespace

struct UnfinishedWork::Shared {
  std::mutex mutex;
  std::string failure;
  std::unique_ptr<QLockFile> held;
};

UnfinishedWork::UnfinishedWork(std::filesystem::path folder) : folder_(std::move(folder)), shared_(std::make_shared<Shared>()) {
  pool_.setMaxThreadCount(1);
}
UnfinishedWork::~UnfinishedWork() { Flush(); }

std::vector<UnfinishedSheet> UnfinishedWork::Left() const {
  std::vector<UnfinishedSheet> left;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(folder_, error)) {
    if (!entry.is_directory(error) || entry.path() == kept_.folder || std::ranges::find(gone_, entry.path()) != gone_.end()) continue;
    const auto text = ReadFileContents(entry.path() / kFacts, 1U << 20);
    if (!text || !std::filesystem::exists(entry.path() / kSheet, error)) continue;
    const QJsonObject json = QJsonDocument::fromJson(QByteArray::fromStdString(*text)).object();
    UnfinishedSheet work;
    work.folder = entry.path();
    work.file = json["file"].toString();
    work.sha256 = json["sha256"].toString();
    work.shelf_name = json["shelf_name"].toString();
    work.shelf_revision = json["shelf_revision"].toString();
    const auto recipe = RecipeOf(work);
    if (!recipe) continue;
    work.corrections = static_cast<int>(recipe->corrections.size());
    const auto when = std::filesystem::last_write_time(entry.path() / kRecipe, error);
    const auto since = std::chrono::file_clock::to_sys(when).time_since_epoch();
    work.changed = QDateTime::fromMSecsSinceEpoch(std::chrono::duration_cast<std::chrono::milliseconds>(since).count());
    if (const auto lock = LockOf(work.folder); !lock->tryLock(0)) continue;
    left.push_back(std::move(work));
  }
  std::ranges::sort(left, [](const UnfinishedSheet& a, const UnfinishedSheet& b) { return a.changed > b.changed; });
  return left;
}

Result<std::string> UnfinishedWork::SheetOf(const UnfinishedSheet& work) const { return ReadFileContents(work.folder / kSheet); }

Result<Recipe> UnfinishedWork::RecipeOf(const UnfinishedSheet& work) const {
  const auto text = ReadFileContents(work.folder / kRecipe, 64U << 20);
  if (!text) return std::unexpected(text.error());
  return ParseRecipe(*text);
}

void UnfinishedWork::Write(std::filesystem::path file, std::shared_ptr<const std::string> contents) {
  pool_.start([shared = shared_, file = std::move(file), contents = std::move(contents)] {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    if (const auto done = ReplaceFileContents(file, *contents); !done) {
      const std::lock_guard lock(shared->mutex);
      if (shared->failure.empty()) shared->failure = done.error().message;
    }
  });
}

void UnfinishedWork::Keep(std::shared_ptr<const std::string> sheet, const UnfinishedSheet& facts, const Recipe& recipe) {
  Forget();
  kept_ = facts;
  const QString name =
      QDateTime::currentDateTimeUtc().toString(QStringLiteral("yyyyMMdd-hhmmss-zzz")) + QStringLiteral("-%1").arg(QCoreApplication::applicationPid());
  kept_.folder = folder_ / name.toStdString();
  pool_.start([shared = shared_, folder = kept_.folder] {
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    std::filesystem::permissions(folder, std::filesystem::perms::owner_all, error);
    shared->held = LockOf(folder);
    shared->held->tryLock(0);
  });
  Write(kept_.folder / kSheet, std::move(sheet));
  Write(kept_.folder / kFacts, std::make_shared<const std::string>(FactsJson(kept_)));
  KeepRecipe(recipe);
}

void UnfinishedWork::KeepRecipe(const Recipe& recipe) {
  if (keeps()) Write(kept_.folder / kRecipe, std::make_shared<const std::string>(WriteRecipe(recipe)));
}

void UnfinishedWork::Forget() {
  if (!keeps()) return;
  pool_.start([shared = shared_, folder = std::exchange(kept_, {}).folder] {
    shared->held.reset();
    std::error_code error;
    std::filesystem::remove_all(folder, error);
  });
}

void UnfinishedWork::Forget(const UnfinishedSheet& work) {
  gone_.push_back(work.folder);
  pool_.start([folder = work.folder] {
    std::error_code error;
    std::filesystem::remove_all(folder, error);
  });
}

void UnfinishedWork::Leave() {
  if (!keeps()) return;
  kept_ = {};
  pool_.start([shared = shared_] { shared->held.reset(); });
}

void UnfinishedWork::PutAway(const UnfinishedSheet& work) {
  gone_.push_back(work.folder);
  pool_.start([from = work.folder, away = folder_ / kPutAway] {
    std::error_code error;
    std::filesystem::create_directories(away, error);
    std::filesystem::rename(from, away / from.filename(), error);
    std::vector<std::filesystem::path> all;  // named by their time
    for (const auto& entry : std::filesystem::directory_iterator(away, error)) all.push_back(entry.path());
    std::ranges::sort(all);
    for (std::size_t i = 0; i + kMostPutAway < all.size(); ++i) std::filesystem::remove_all(all[i], error);
  });
}

void UnfinishedWork::Flush() { pool_.waitForDone(); }

QString UnfinishedWork::TakeFailure() {
  const std::lock_guard lock(shared_->mutex);
  return QString::fromStdString(std::exchange(shared_->failure, {}));
}

}  // namespace islebook
