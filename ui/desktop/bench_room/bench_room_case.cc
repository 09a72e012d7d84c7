// Which case lies on the bench: opened, saved, new, or another map in it.

#include <algorithm>

#include <QSettings>
#include <QStackedWidget>

#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/bench_room/case_form.h"
#include "ui/desktop/bench_room/example_case.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr char kNewCase[] = R"(# An engine, the air it breathes, its compressors, the points to check.
# The engine below stands for yours: write your own numbers. Pressures are absolute, but for boost.
schema = 1
title = "New case"

[engine]
displacement = "5.9 L"
volumetric_efficiency = "90 %"
speed = ["1200 rpm", "1600 rpm", "2200 rpm"]
boost = "0.8 bar"

[ambient]
altitude = "0 m"

[[stage]]
compressor = "%1"
)";

}  // namespace

void BenchRoom::OpenCase(const QString& file) {
  if (document_->IsUnsaved()) {
    workplace().Complain(tr("%1 has changes that are not saved: save it, or undo them, then open another.").arg(document_->Name()));
    return;
  }
  if (const auto opened = document_->Open(file); !opened) {
    workplace().Complain(opened.error());
    return;
  }
  workplace().habits().setValue("bench/case", document_->file());
  pages_->setCurrentWidget(work_);
  TakeKeyboard();
}

void BenchRoom::OpenExample(const QString& file) { examples_->Open(file); }

bool BenchRoom::SaveCase(const QString& file) {
  if (const auto saved = document_->Save(file); !saved) {
    workplace().Complain(saved.error());
    return false;
  }
  unfinished_.Drop();
  workplace().habits().setValue("bench/case", document_->file());
  workplace().Say(tr("Saved %1.").arg(document_->file()));
  return true;
}

void BenchRoom::NewCase(const QString& compressor) {
  if (document_->IsUnsaved()) {
    workplace().Complain(tr("%1 has changes that are not saved: save it, or undo them, then begin another.").arg(document_->Name()));
    return;
  }
  document_->Take(QString::fromUtf8(kNewCase).arg(compressor), {}, true);
  pages_->setCurrentWidget(work_);
}

void BenchRoom::TakeMap(const QString& name) {
  emit ShowMe();
  QString kind;
  if (const auto shelf = workplace().OpenShelf())
    if (const auto list = (*shelf)->List())
      for (const ShelfEntry& entry : *list)
        if (QString::fromStdString(entry.name) == name) kind = QString::fromStdString(entry.kind);
  const bool turbine = kind == QLatin1String("turbine");
  if (document_->IsEmpty() && !turbine) {
    NewCase(name);
    return;
  }
  if (document_->IsEmpty()) {
    workplace().Complain(tr("%1 is a turbine: open a case first, or send a compressor to the bench.").arg(name));
    return;
  }
  const auto stage = std::min(static_cast<std::size_t>(form_->chosen_stage()), std::max<std::size_t>(document_->Count("stage"), 1) - 1);
  if (document_->Set({"stage", stage, turbine ? "turbine" : "compressor"}, name))
    workplace().Say(tr("%1 is now the %2 of stage %3; undo takes it back.").arg(name, turbine ? tr("turbine") : tr("compressor")).arg(stage + 1));
}

}  // namespace islebook
