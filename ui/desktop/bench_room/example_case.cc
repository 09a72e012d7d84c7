#include "ui/desktop/bench_room/example_case.h"

#include <algorithm>
#include <atomic>
#include <memory>

#include "mapstore/bench/case_edit.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/desk/example_shelf.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

// What a sample case calls a wheel (the folder of its sheets) and what the example shelf calls it.
const ExampleMap* FindExample(const std::vector<ExampleMap>& examples, const std::string& named) {
  const auto found = std::find_if(examples.begin(), examples.end(), [&](const ExampleMap& example) {
    return example.sheet.parent_path().filename() == named || example.name == named;
  });
  return found == examples.end() ? nullptr : &*found;
}

}  // namespace

std::vector<ExampleCase> FindExampleCases() {
  std::vector<ExampleCase> cases;
  const auto folder = ExampleFolder();
  if (!folder) return cases;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(*folder / "cases", error)) {
    if (entry.path().extension() != ".toml") continue;
    const auto text = ReadFileContents(entry.path(), 1 << 20);
    const auto root = text ? ParseToml(*text) : Fail(ErrorCode::kCannotRead, "");
    if (!root) continue;
    cases.push_back({QString::fromStdString(WrittenValue(*text, *root, {"", 0, "title"}).value_or(entry.path().stem().string())),
                     QString::fromStdString(entry.path().string())});
  }
  std::sort(cases.begin(), cases.end(), [](const ExampleCase& a, const ExampleCase& b) { return a.file < b.file; });
  return cases;
}

ExampleOpener::ExampleOpener(Workplace& workplace, QObject* parent) : QObject(parent), workplace_(workplace) {}

ExampleOpener::~ExampleOpener() {
  if (stop_) *stop_ = true;
  if (thread_.joinable()) thread_.join();
}

void ExampleOpener::Open(const QString& file) {
  if (stop_) *stop_ = true;
  if (thread_.joinable()) thread_.join();
  auto stop = std::make_shared<std::atomic<bool>>(false);
  stop_ = stop;
  thread_ = std::thread([this, stop, path = file.toStdString(), shelf_file = workplace_.shelf_file(), author = workplace_.author().toStdString()] {
    const auto tell = [&](auto signal, const QString& words) {
      QMetaObject::invokeMethod(
          this,
          [this, stop, signal, words] {
            if (!*stop) emit(this->*signal)(words);
          },
          Qt::QueuedConnection);
    };
    const auto fail = [&](const Error& error) {
      tell(&ExampleOpener::Failed, QString::fromStdString(error.place.empty() ? error.message : error.place + ": " + error.message));
    };
    auto text = ReadFileContents(path, 1 << 20);
    if (!text) return fail(text.error());
    const auto root = ParseToml(*text);
    if (!root) return fail(root.error());
    const auto folder = ExampleFolder();
    const auto examples = folder ? ReadExamples(*folder) : Result<std::vector<ExampleMap>>{};
    if (!examples) return fail(examples.error());
    auto shelf = islebook::OpenShelf(shelf_file, {.access = ShelfAccess::kCreate, .busy_timeout = std::chrono::milliseconds(5000)});
    if (!shelf) return fail(shelf.error());
    for (std::size_t stage = 0; stage < CountSections(*root, "stage"); ++stage)
      for (const char* key : {"compressor", "turbine"}) {
        const CasePlace place{"stage", stage, key};
        const auto named = WrittenValue(*text, *ParseToml(*text), place);
        if (!named || (*shelf)->Show(*named)) continue;
        const ExampleMap* example = FindExample(*examples, *named);
        if (example == nullptr) continue;  // the bench says what is missing
        if (!(*shelf)->Show(example->name)) {
          tell(&ExampleOpener::Progress, tr("Digitizing the example sheet of %1.").arg(QString::fromStdString(example->name)));
          const auto added = AddExample(**shelf, *example, author, [&](double) { return !*stop; });
          if (!added) return fail(added.error());
          QMetaObject::invokeMethod(
              this,
              [this, stop, name = QString::fromStdString(example->name)] {
                if (!*stop) workplace_.ShelfHasChanged(name);
              },
              Qt::QueuedConnection);
        }
        const auto change = SetCaseValue(*text, place, example->name);
        if (change) *text = Changed(*text, *change);
      }
    tell(&ExampleOpener::Ready, QString::fromStdString(*text));
  });
}

}  // namespace islebook
