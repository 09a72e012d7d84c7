// What a person can do in the shelf room.

#include <QAction>
#include <QCheckBox>
#include <QClipboard>
#include <QDir>
#include <QFileInfo>
#include <QGuiApplication>
#include <QLabel>
#include <QMimeData>
#include <QPushButton>
#include <QSettings>
#include <QToolButton>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/revision.h"
#include "ui/desk/branch_merge.h"
#include "ui/desk/example_shelf.h"
#include "ui/desktop/frame/carried.h"
#include "ui/desktop/frame/file_question.h"
#include "ui/desktop/shelf_room/map_deeds.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {
namespace {

QString Text(const std::string& text) { return QString::fromStdString(text); }

// One deed and the way back, by functions. It was done already when it comes here.
class Undoable : public QUndoCommand {
 public:
  Undoable(const QString& words, std::function<void()> again, std::function<void()> back)
      : QUndoCommand(words), again_(std::move(again)), back_(std::move(back)) {}
  void undo() override { back_(); }
  void redo() override {
    if (std::exchange(first_, false)) return;
    again_();
  }

 private:
  std::function<void()> again_, back_;
  bool first_ = true;
};

}  // namespace

QAction* ShelfRoom::AddDeed(const Deed& deed, std::function<void()> does) {
  QAction* action = MakeDeed(this, deed);
  connect(action, &QAction::triggered, this, std::move(does));
  return action;
}

void ShelfRoom::MakeDeeds() {
  const auto with_one = [this](auto does) {
    return [this, does] {
      if (const QString name = ChosenOne(); !name.isEmpty()) does(name);
    };
  };
  QAction* correct = AddDeed({"shelf.correct", tr("Correct"), QKeySequence("Ctrl+K"), tr("islebook digitize SHEET --recipe FILE")},
                             with_one([this](const QString& name) { emit workplace().CorrectAsked(name); }));
  QAction* bench = AddDeed({"shelf.bench", tr("To the bench"), QKeySequence("Ctrl+B"), tr("islebook bench CASE.toml")},
                           with_one([this](const QString& name) { emit workplace().BenchAsked(name); }));
  QAction* like = AddDeed({"shelf.like", tr("Like this"), QKeySequence("Ctrl+L"), tr("islebook shelf find --like NAME")},
                          with_one([this](const QString& name) { search_->SetLike(name); }));
  QAction* write =
      AddDeed({"shelf.export", tr("Write"), QKeySequence("Ctrl+E"), tr("islebook export NAME; islebook chart NAME")}, [this] { OpenExport(); });
  QAction* picture = AddDeed({"shelf.copy_picture", tr("Copy chart"), QKeySequence("Ctrl+Shift+C"), tr("islebook chart NAME --png FILE")},
                             [this] { CopyPicture(); });
  QAction* curves =
      AddDeed({"shelf.copy_curves", tr("Copy curves"), QKeySequence("Ctrl+C"), tr("islebook export NAME --curves FILE")}, [this] { CopyCurves(); });
  QAction* pack = AddDeed({"shelf.pack", tr("Pack"), QKeySequence("Ctrl+Shift+P"), tr("islebook parcel pack NAME...")}, [this] { OpenPack(); });
  QAction* open = AddDeed({"shelf.open_parcel", tr("Open parcel"), QKeySequence("Ctrl+O"), tr("islebook parcel look FILE")}, [this] {
    const QString folder = workplace().habits().value("shelf/folder", QDir::homePath()).toString();
    AskForFile(this,
               {.title = tr("A parcel, a map document or a table of curves"),
                .start = folder,
                .kinds = tr("Parcels, map documents, tables (*.zip *.map.json *.csv *.xlsx)"),
                .several = true},
               [this](const QStringList& files) { TakeFiles(files); });
  });
  QAction* remove =
      AddDeed({"shelf.remove", tr("Remove"), QKeySequence("Shift+Del"), tr("islebook shelf remove NAME")}, [this] { SetRemoved(true); });
  QAction* restore =
      AddDeed({"shelf.restore", tr("Restore"), QKeySequence("Shift+Ins"), tr("islebook shelf restore NAME")}, [this] { SetRemoved(false); });
  AddDeed({"shelf.find", tr("Find by words"), QKeySequence("Ctrl+F"), tr("islebook shelf find WORDS")},
          [this] { search_->findChild<QWidget*>(QStringLiteral("search_words"))->setFocus(Qt::ShortcutFocusReason); });
  AddDeed({"shelf.back", tr("Close what is open above the chart, or show all maps"), QKeySequence("Esc"), tr("islebook shelf list")}, [this] {
    if (drawer_->IsOpen()) {
      drawer_->Close();
      chart_->setFocus();
    } else {
      search_->Clear();
      list_->setFocus();
    }
  });
  AddDeed({"shelf.import", tr("Take over a table of curves"), QKeySequence("Ctrl+I"), tr("islebook import FILE")}, [this] {
    const QString folder = workplace().habits().value("shelf/folder", QDir::homePath()).toString();
    AskForFile(this, {.title = tr("A table of curves"), .start = folder, .kinds = tr("Tables (*.csv *.xlsx)")},
               [this](const QStringList& files) { LookIntoTable({files.front().toStdString(), std::nullopt, false}); });
  });
  AddDeed({"shelf.keys", tr("Keys"), QKeySequence("Ctrl+Shift+K"), tr("islebook parcel key; islebook parcel trust KEY")}, [this] { OpenKeys(); });
  QAction* undo =
      AddDeed({"shelf.undo", tr("Undo"), QKeySequence("Ctrl+Z"), tr("the opposite command: shelf revert, restore, tag --off, wheel")}, [this] {
        if (!undo_.canUndo())
          workplace().Say(tr("Nothing to undo."));
        else
          undo_.undo();
      });
  AddDeed({"shelf.redo", tr("Redo"), QKeySequence("Ctrl+Shift+Z"), tr("the command again")}, [this] { undo_.redo(); });
  for (QAction* action : {correct, bench, like, write, picture, curves, pack, open, remove, undo}) {
    QToolButton* button = DeedButton(action, this);
    button->setProperty("close", true);
    deeds_->addWidget(button);
  }
  QToolButton* restore_button = DeedButton(restore, this);
  restore_button->hide();
  connect(search_, &ShelfSearch::Asked, this, [this, restore_button] { restore_button->setVisible(search_->Question().removed); });
  deeds_->addWidget(restore_button);
}

QString ShelfRoom::ChosenOne() const {
  const QStringList chosen = list_->ChosenNames();
  if (chosen.size() == 1) return chosen.front();
  workplace().Complain(chosen.isEmpty() ? tr("Choose a map first.") : tr("Choose one map alone for this."));
  return {};
}

void ShelfRoom::Write(const QString& name, const QString& words, Writing writing) {
  clerk_.Do(this, {}, [this, name, words, writing = std::move(writing)](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    const Result<void> done = shelf ? writing(**shelf) : std::unexpected(shelf.error());
    return [this, name, words, done] {
      if (!done) {
        workplace().Complain(done.error());
        ShowFacts();
        return;
      }
      if (!words.isEmpty()) workplace().Say(words);
      workplace().ShelfHasChanged(name);
    };
  });
}

void ShelfRoom::WriteUndoably(const QString& name, const QString& words, const Writing& there, const Writing& back) {
  Write(name, words, there);
  undo_.push(new Undoable(
      words, [this, name, words, there] { Write(name, words, there); },
      [this, name, words, back] { Write(name, tr("Undone: %1").arg(words), back); }));
}

void ShelfRoom::SetWheel(const QString& name, const WheelData& before, const WheelData& after) {
  const std::string author = workplace().author().toStdString(), map = name.toStdString();
  WriteUndoably(
      name, tr("The wheel of %1 is noted.").arg(name), [=](Shelf& shelf) { return shelf.SetWheel(map, after, author); },
      [=](Shelf& shelf) { return shelf.SetWheel(map, before, author); });
}

void ShelfRoom::SetTag(const QString& name, const QString& tag, bool present) {
  const std::string author = workplace().author().toStdString(), map = name.toStdString(), word = tag.toStdString();
  WriteUndoably(
      name, present ? tr("%1 is tagged \u201c%2\u201d.").arg(name, tag) : tr("\u201c%2\u201d is taken off %1.").arg(name, tag),
      [=](Shelf& shelf) { return shelf.SetTag(map, word, present, author); },
      [=](Shelf& shelf) { return shelf.SetTag(map, word, !present, author); });
}

void ShelfRoom::AddNote(const QString& name, const QString& text) {
  const MapNote note{workplace().author().toStdString(), CurrentRevisionTime(), text.toStdString(), std::nullopt};
  Write(name, tr("Noted on %1. Notes stay.").arg(name), [map = name.toStdString(), note](Shelf& shelf) { return shelf.AddNote(map, note); });
}

void ShelfRoom::SetRemoved(bool removed) {
  const QStringList names = list_->ChosenNames();
  if (names.isEmpty()) {
    workplace().Complain(tr("Choose a map first."));
    return;
  }
  const std::string author = workplace().author().toStdString();
  const auto set = [names, author](bool off) {
    return [names, author, off](Shelf& shelf) -> Result<void> {
      for (const QString& name : names)
        if (const Result<void> done = shelf.SetRemoved(name.toStdString(), off, author, ""); !done) return done;
      return {};
    };
  };
  const QString which = names.size() == 1 ? names.front() : tr("%1 maps").arg(names.size());
  WriteUndoably(names.size() == 1 ? names.front() : QString(),
                removed ? tr("%1: off the lists; the history stays.").arg(which) : tr("%1: back on the lists.").arg(which), set(removed),
                set(!removed));
}

void ShelfRoom::Revert(const QString& id) {
  const QString name = history_->history().name;
  if (name.isEmpty() || history_->history().revisions.empty()) return;
  const std::string author = workplace().author().toStdString(), head = history_->history().revisions.front().id;
  const auto back_to = [name = name.toStdString(), author](const std::string& revision) {
    return [name, author, revision](Shelf& shelf) -> Result<void> {
      const Result<ShownRevision> shown = shelf.ShowRevision(revision);
      if (!shown) return std::unexpected(shown.error());
      NewRevision added;
      added.name = name;
      added.document = shown->document;
      added.author = author;
      added.message = "back to " + revision.substr(0, 12);
      if (const auto done = shelf.AddRevision(added); !done) return std::unexpected(done.error());
      return {};
    };
  };
  WriteUndoably(name, tr("%1 holds again what %2 held, as a new revision.").arg(name, id.left(12)), back_to(id.toStdString()), back_to(head));
}

void ShelfRoom::Merge(const QString& name, const QString& branch, const MergeChoices& choices) {
  BranchMergeOptions options;
  options.name = name.toStdString();
  options.branch = branch.toStdString();
  options.author = workplace().author().toStdString();
  options.choices = choices;
  clerk_.Do(this, {}, [this, options, name, branch](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    auto merge = std::make_shared<Result<BranchMerge>>(shelf ? PlanBranchMerge(**shelf, options) : std::unexpected(shelf.error()));
    Result<std::optional<RevisionRecord>> written = std::nullopt;
    if (*merge) written = CarryOutBranchMerge(**shelf, options, **merge);
    return [this, merge, written, name, branch] {
      if (!*merge || !written) {
        workplace().Complain(!*merge ? merge->error() : written.error());
        return;
      }
      if ((*merge)->outcome == BranchMerge::Outcome::kConflicts) {
        merge_->Show(name, branch, (*merge)->merged.conflicts);
        drawer_->Open(merge_);
        return;
      }
      if (drawer_->page() == merge_) drawer_->Close();
      QString words = (*merge)->outcome == BranchMerge::Outcome::kNothing
                          ? tr("%1 held all of the branch already; the branch is closed.").arg(name)
                          : tr("%1: the branch \u201c%2\u201d is merged and closed.").arg(name, branch);
      for (const std::string& doubt : (*merge)->merged.doubts) words += QLatin1Char(' ') + Text(doubt);
      workplace().Say(words);
      workplace().ShelfHasChanged(name);
    };
  });
}

void ShelfRoom::OpenExport() {
  const ShownChart* shown = chart_->shown();
  if (shown == nullptr || shown->maps.empty()) {
    workplace().Complain(tr("Choose a map first."));
    return;
  }
  QStringList names;
  for (const ShownMap& map : shown->maps) names << Text(map.name);
  drawer_->Open(export_);
  export_->Open(workplace().habits().value("shelf/folder", QDir::homePath()).toString(), names.join(QStringLiteral(" and ")));
}

void ShelfRoom::Export(const QString& file) {
  const std::shared_ptr<const ShownChart> shown = chart_->shared();
  if (shown == nullptr) return;
  const bool night = workplace().night();
  clerk_.Do(this, {}, [this, shown, file, night](ClerkDesk&) -> ShelfClerk::Outcome {
    const Result<void> written = WriteChosen(*shown, file.toStdString(), night);
    return [this, written, file] {
      if (!written) {
        export_->SetRemark(Text(written.error().message), true);
        workplace().Complain(written.error());
        return;
      }
      workplace().habits().setValue("shelf/folder", QFileInfo(file).path());
      drawer_->Close();
      workplace().Say(tr("Wrote %1.").arg(file));
    };
  });
}

void ShelfRoom::OpenPack() {
  const QStringList names = list_->ChosenNames();
  if (names.isEmpty()) {
    workplace().Complain(tr("Choose the maps to pack first."));
    return;
  }
  drawer_->Open(pack_);
  pack_->Open(workplace().habits().value("shelf/folder", QDir::homePath()).toString(),
              names.size() == 1 ? names.front() : tr("%1 maps").arg(names.size()));
  const Result<QString> signer = SignsAs();
  if (!signer)
    pack_->SetRemark(Text(signer.error().message), true);
  else
    pack_->SetRemark((names.size() == 1 ? names.front() : tr("%1 maps").arg(names.size())) + QStringLiteral(", ") +
                     (signer->isEmpty() ? tr("not signed: this shop has no key yet (islebook parcel key --name SHOP makes one).")
                                        : tr("signed as %1.").arg(*signer)));
}

void ShelfRoom::Pack(const QString& file) {
  const QStringList names = list_->ChosenNames();
  const bool sheets = pack_sheets_->isChecked();
  workplace().Say(tr("Packing ..."));
  seeker_.Do(this, {}, [this, names, sheets, file](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    const Result<QString> packed = shelf ? PackMaps(**shelf, names, sheets, file.toStdString()) : std::unexpected(shelf.error());
    return [this, packed, file] {
      if (!packed) {
        pack_->SetRemark(Text(packed.error().message), true);
        workplace().Complain(packed.error());
        return;
      }
      workplace().habits().setValue("shelf/folder", QFileInfo(file).path());
      drawer_->Close();
      workplace().Say(*packed);
    };
  });
}

QStringList ShelfRoom::TakeFiles(const QStringList& files) {
  QStringList left, documents;
  QString later;
  QString parcel, table;
  for (const QString& file : files) {
    if (file.endsWith(QStringLiteral(".zip"), Qt::CaseInsensitive))
      (parcel.isEmpty() ? parcel : later) = file;
    else if (file.endsWith(QStringLiteral(".csv"), Qt::CaseInsensitive) || file.endsWith(QStringLiteral(".xlsx"), Qt::CaseInsensitive))
      (table.isEmpty() ? table : later) = file;
    else if (file.endsWith(QStringLiteral(".map.json"), Qt::CaseInsensitive))
      documents << file;
    else
      left << file;
  }
  // They are looked into one at a time.
  if (!table.isEmpty() && !parcel.isEmpty()) later = std::exchange(table, {});
  if (!parcel.isEmpty()) LookInto(parcel);
  if (!table.isEmpty()) LookIntoTable({table.toStdString(), std::nullopt, false});
  if (!later.isEmpty())
    workplace().Complain(tr("Parcels and tables are looked into one at a time; drop %1 again afterwards.").arg(QFileInfo(later).fileName()));
  for (const QString& file : documents) {
    clerk_.Do(this, {}, [this, file, author = workplace().author().toStdString()](ClerkDesk& desk) -> ShelfClerk::Outcome {
      const Result<Shelf*> shelf = desk.OpenShelf();
      const Result<QString> name = shelf ? TakeMapDocument(**shelf, file.toStdString(), author) : std::unexpected(shelf.error());
      return [this, name] {
        if (!name) {
          workplace().Complain(name.error());
          return;
        }
        wanted_ = *name;
        workplace().Say(tr("%1 is on the shelf.").arg(*name));
        workplace().ShelfHasChanged(*name);
      };
    });
  }
  if (!parcel.isEmpty() || !table.isEmpty() || !documents.isEmpty()) emit ShowMe();
  return left;
}

void ShelfRoom::LookInto(const QString& file) {
  workplace().Say(tr("Looking into %1 ...").arg(QFileInfo(file).fileName()));
  seeker_.Do(this, {}, [this, file](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    const Result<ParcelWords> words = shelf ? LookIntoParcel(**shelf, file.toStdString()) : std::unexpected(shelf.error());
    return [this, words] {
      if (!words) {
        workplace().Complain(words.error());
        return;
      }
      drawer_->Open(parcel_);
      parcel_->Show(*words);
      workplace().Say(tr("Nothing was taken over yet."));
      if (words->wrong) workplace().Complain(tr("The signature does not hold. Do not use this parcel; ask for it again."));
    };
  });
}

void ShelfRoom::Unpack(const QString& file) {
  seeker_.Do(this, {}, [this, file](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    const Result<Unpacked> unpacked = shelf ? UnpackOntoShelf(**shelf, file.toStdString()) : std::unexpected(shelf.error());
    return [this, unpacked] {
      if (!unpacked) {
        workplace().Complain(unpacked.error());
        return;
      }
      drawer_->Close();
      wanted_ = unpacked->first;
      workplace().Say(unpacked->words);
      workplace().ShelfHasChanged({});
    };
  });
}

void ShelfRoom::CopyPicture() {
  const std::shared_ptr<const ShownChart> shown = chart_->shared();
  if (shown == nullptr) {
    workplace().Complain(tr("Choose a map first."));
    return;
  }
  clerk_.Do(this, QStringLiteral("copy"), [this, shown](ClerkDesk&) -> ShelfClerk::Outcome {
    const QImage picture = ChartPicture(*shown, false);
    return [this, picture] {
      QGuiApplication::clipboard()->setImage(picture);
      workplace().Say(tr("The chart is on the clipboard as a picture."));
    };
  });
}

void ShelfRoom::CopyCurves() {
  const ShownChart* shown = chart_->shown();
  if (shown == nullptr || shown->maps.size() != 1) {
    workplace().Complain(tr("Choose one map alone to copy its curves."));
    return;
  }
  auto* table = new QMimeData;
  PutCurveTable(*table, shown->maps.front().printed, shown->maps.front().name, shown->maps.front().revision);
  QGuiApplication::clipboard()->setMimeData(table);
  workplace().Say(tr("The curves of %1 are on the clipboard as a table: paste them into a spreadsheet.").arg(Text(shown->maps.front().name)));
}

void ShelfRoom::PutOnTheShelf() {
  const std::optional<std::filesystem::path> folder = ExampleFolder();
  if (!folder) {
    workplace().Complain(tr("The example maps are not installed with this program."));
    return;
  }
  const Result<std::vector<ExampleMap>> examples = ReadExamples(*folder);
  if (!examples) {
    workplace().Complain(examples.error());
    return;
  }
  examples_->setEnabled(false);
  const std::string author = workplace().author().toStdString();
  int number = 0;
  const auto count = static_cast<int>(examples->size());
  for (const ExampleMap& example : *examples) {
    ++number;
    seeker_.Do(this, QStringLiteral("example %1").arg(number), [this, example, author, number, count](ClerkDesk& desk) -> ShelfClerk::Outcome {
      desk.Tell(
          [this, number, count, name = Text(example.name)] { workplace().Say(tr("Digitizing %1 (%2 of %3) ...").arg(name).arg(number).arg(count)); });
      const Result<Shelf*> shelf = desk.OpenShelf();
      const Result<void> added =
          shelf ? AddExample(**shelf, example, author, [&desk](double) { return !desk.IsStale(); }) : std::unexpected(shelf.error());
      return [this, added, number, count, name = Text(example.name)] {
        if (!added) {
          workplace().Complain(added.error());
        } else {
          if (number == count) workplace().Say(tr("The example shelf is here: %1 maps.").arg(count));
          workplace().ShelfHasChanged(name);
        }
        if (number == count) examples_->setEnabled(true);
      };
    });
  }
}

}  // namespace islebook
