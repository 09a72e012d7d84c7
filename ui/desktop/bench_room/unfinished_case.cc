#include "ui/desktop/bench_room/unfinished_case.h"

#include <QDateTime>
#include <QDir>
#include <QFile>
#include <QFileInfo>
#include <QLocale>
#include <QLockFile>

#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr int kMostPlaces = 64;

std::unique_ptr<QLockFile> TryLock(const QString& file) {
  auto lock = std::make_unique<QLockFile>(file);
  lock->setStaleLockTime(0);  // only a program that has ended leaves it
  if (!lock->tryLock(0)) return nullptr;
  return lock;
}

}  // namespace

UnfinishedCase::UnfinishedCase(std::filesystem::path folder) : folder_(std::move(folder)) { QDir().mkpath(QString::fromStdString(folder_.string())); }
UnfinishedCase::~UnfinishedCase() = default;

QString UnfinishedCase::TextFile(int number) const {
  return QString::fromStdString((folder_ / ("bench-" + std::to_string(number) + ".toml")).string());
}
QString UnfinishedCase::SourceFile(int number) const { return TextFile(number) + QStringLiteral(".source"); }

std::optional<KeptCase> UnfinishedCase::TakeOver() {
  int latest = -1;
  std::unique_ptr<QLockFile> latest_lock;
  for (int number = 0; number < kMostPlaces; ++number) {
    const QFileInfo kept(TextFile(number));
    if (!kept.exists()) continue;
    auto lock = TryLock(TextFile(number) + QStringLiteral(".lock"));
    if (!lock) continue;  // another window's
    if (latest >= 0 && kept.lastModified() <= QFileInfo(TextFile(latest)).lastModified()) continue;
    latest = number;
    latest_lock = std::move(lock);
  }
  if (latest < 0) return std::nullopt;
  QFile text(TextFile(latest)), source(SourceFile(latest));
  if (!text.open(QIODevice::ReadOnly)) return std::nullopt;
  number_ = latest;
  lock_ = std::move(latest_lock);
  KeptCase kept;
  kept.text = QString::fromUtf8(text.readAll());
  if (source.open(QIODevice::ReadOnly)) kept.file = QString::fromUtf8(source.readAll());
  kept.time = QLocale::c().toString(QFileInfo(text).lastModified(), QStringLiteral("MMM d, HH:mm"));
  return kept;
}

bool UnfinishedCase::TakePlace() {
  for (int number = 0; number_ < 0 && number < kMostPlaces; ++number) {
    if (QFileInfo::exists(TextFile(number))) continue;
    if ((lock_ = TryLock(TextFile(number) + QStringLiteral(".lock")))) number_ = number;
  }
  return number_ >= 0;
}

bool UnfinishedCase::Keep(const QString& text, const QString& file) {
  if (!TakePlace()) return false;
  return ReplaceFileContents(SourceFile(number_).toStdString(), file.toStdString()).has_value() &&
         ReplaceFileContents(TextFile(number_).toStdString(), text.toStdString()).has_value();
}

void UnfinishedCase::Drop() {
  if (number_ < 0) return;
  QFile::remove(TextFile(number_));
  QFile::remove(SourceFile(number_));
  lock_.reset();
  number_ = -1;
}

}  // namespace islebook
