#include "ui/desktop/frame/workplace.h"

#include <cstdlib>

#include <QSettings>
#include <QStandardPaths>

#include "mapstore/shelf/open_shelf.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

std::filesystem::path StateFolder() {
  if (const char* xdg = std::getenv("XDG_STATE_HOME"); xdg != nullptr && *xdg == '/') return std::filesystem::path(xdg) / "islebook";
  const char* home = std::getenv("HOME");
  return std::filesystem::path(home != nullptr && *home != '\0' ? home : ".") / ".local" / "state" / "islebook";
}

std::filesystem::path ConfigurationFolder() {
  return std::filesystem::path(QStandardPaths::writableLocation(QStandardPaths::GenericConfigLocation).toStdString()) / "islebook";
}

}  // namespace

Workplace::Workplace(const WorkplaceOptions& options, QObject* parent)
    : QObject(parent),
      shelf_file_(options.shelf_file.empty() ? DefaultShelfFile() : options.shelf_file),
      work_folder_(options.work_folder.empty() ? StateFolder() / "work" : options.work_folder) {
  const std::filesystem::path file = options.habits_file.empty() ? ConfigurationFolder() / "desktop.ini" : options.habits_file;
  habits_ = std::make_unique<QSettings>(QString::fromStdString(file.string()), QSettings::IniFormat);
  look_ = DeskLook::Of(night());
}

Workplace::~Workplace() = default;

Result<Shelf*> Workplace::OpenShelf() {
  if (shelf_ == nullptr) {
    Result<std::unique_ptr<Shelf>> opened =
        islebook::OpenShelf(shelf_file_, {.access = ShelfAccess::kCreate, .busy_timeout = std::chrono::milliseconds(2000)});
    if (!opened) return std::unexpected(opened.error());
    shelf_ = std::move(*opened);
  }
  return shelf_.get();
}

void Workplace::ShelfHasChanged(const QString& name) { emit ShelfChanged(name); }

QString Workplace::author() const { return habits_->value("author", QString::fromStdString(UserName())).toString(); }

void Workplace::SetAuthor(const QString& author) { habits_->setValue("author", author); }

UnitHabit Workplace::units() const { return ParseUnitHabit(habits_->value("units", "si").toString().toStdString()).value_or(UnitHabit::kSi); }

void Workplace::SetUnits(const UnitHabit& units) {
  if (units == this->units()) return;
  habits_->setValue("units", QString::fromStdString(WriteUnitHabit(units)));
  emit UnitsChanged();
}

QString Workplace::language() const { return habits_->value("language").toString(); }

void Workplace::SetLanguage(const QString& language) {
  if (language == this->language()) return;
  habits_->setValue("language", language);
  emit LanguageChanged();
}

bool Workplace::night() const { return habits_->value("night", false).toBool(); }

void Workplace::SetNight(bool night) {
  if (night == this->night()) return;
  habits_->setValue("night", night);
  look_ = DeskLook::Of(night);
  emit LookChanged();
}

void Workplace::Say(const QString& words) { emit Said(words, false); }
void Workplace::Complain(const QString& words) { emit Said(words, true); }

void Workplace::Complain(const Error& error) {
  const QString message = QString::fromStdString(error.message);
  Complain(error.place.empty() ? message : QString::fromStdString(error.place) + QStringLiteral(": ") + message);
}

}  // namespace islebook
