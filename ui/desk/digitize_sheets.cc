#include "ui/desk/digitize_sheets.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <thread>

#include <fmt/format.h>

#include "digitizer/proof/proof.h"
#include "digitizer/proof/stage_pictures.h"
#include "digitizer/session.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "ui/desk/output_file.h"

namespace islebook {
namespace {

constexpr std::size_t kMostJobs = 64;

// "plans/alder.map.scan.jpg" writes alder.map.scan.map.json.
std::string StemOf(const std::filesystem::path& sheet) {
  const std::string stem = sheet.stem().string();
  return stem.empty() ? sheet.filename().string() : stem;
}

class Batch {
 public:
  Batch(const std::vector<std::filesystem::path>& sheets, const DigitizeSheetsOptions& options, const DigitizeSheetsWatch& watch)
      : options_(options), watch_(watch), outcomes_(sheets.size()) {
    std::map<std::string, std::size_t> first;
    for (std::size_t i = 0; i < sheets.size(); ++i) {
      outcomes_[i].sheet = sheets[i];
      const auto [before, is_new] = first.emplace(StemOf(sheets[i]), i);
      stems_.insert(before->first);
      if (is_new) continue;
      outcomes_[i].errors.push_back(
          {ErrorCode::kInvalidArgument,
           fmt::format("would write the same {}.map.json as {}; digitize it into another folder.", before->first, sheets[before->second].string()),
           sheets[i].string()});
    }
  }

  std::vector<SheetOutcome> Run() {
    std::size_t jobs = options_.jobs > 0 ? static_cast<std::size_t>(options_.jobs) : std::max(1U, std::thread::hardware_concurrency());
    jobs = std::clamp<std::size_t>(jobs, 1, std::min(kMostJobs, outcomes_.size()));
    LimitThreads(jobs > 1 ? 1 : 0);
    std::vector<std::thread> workers;
    for (std::size_t i = 1; i < jobs; ++i) workers.emplace_back([this] { Work(); });
    Work();
    for (std::thread& worker : workers) worker.join();
    return std::move(outcomes_);
  }

 private:
  bool Stopped() const { return watch_.stop && watch_.stop(); }

  void Work() {
    for (std::size_t i = next_++; i < outcomes_.size() && !Stopped(); i = next_++) {
      SheetOutcome& outcome = outcomes_[i];
      const auto start = std::chrono::steady_clock::now();
      outcome.begun = true;
      if (outcome.errors.empty()) {
        try {
          DoSheet(i, outcome);
        } catch (const std::bad_alloc&) {
          Note(outcome,
               {ErrorCode::kInternal, "there is not enough memory for this sheet; work on fewer at a time (--jobs 1) or give a smaller copy.", ""});
        } catch (const std::exception& failure) {
          Note(outcome, {ErrorCode::kInternal, fmt::format("the work on this sheet stopped unexpectedly ({}).", failure.what()), ""});
        }
      }
      outcome.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
      if (Stopped()) return;
      const std::lock_guard lock(mutex_);
      if (watch_.done) watch_.done(outcome);
    }
  }

  static void Note(SheetOutcome& outcome, Error error) {
    if (error.code == ErrorCode::kCancelled) return;
    if (error.place.empty() || error.place == outcome.sheet.filename().string()) error.place = outcome.sheet.string();
    outcome.errors.push_back(std::move(error));
  }

  void DoSheet(std::size_t index, SheetOutcome& outcome) {
    auto read = ReadSheet(outcome.sheet, SheetOptionsFor(options_.recipe));
    if (!read) return Note(outcome, read.error());
    const auto sheet = std::make_shared<const Sheet>(std::move(*read));
    Session session(sheet);
    session.SetRecipe(options_.recipe);
    const auto result = session.Run([&](const char* stage, double part) {
      if (watch_.progress) {
        const std::lock_guard lock(mutex_);
        watch_.progress(index, stage, part);
      }
      return !Stopped();
    });
    // Also where a later stage failed: the pictures of the earlier ones show why.
    if (options_.stages && !Stopped()) WriteStages(session, outcome);
    if (!result) return Note(outcome, result.error());
    for (std::size_t i = 0; i < result->maps.size() && !Stopped(); ++i) WriteMap(*sheet, result->maps[i], i, outcome);
  }

  void WriteMap(const Sheet& sheet, const PerformanceMap& map, std::size_t number, SheetOutcome& outcome) {
    std::string stem = StemOf(outcome.sheet);
    if (number > 0) {
      stem += fmt::format("-{}", number + 1);
      if (stems_.contains(stem))
        return Note(outcome,
                    {ErrorCode::kInvalidArgument,
                     fmt::format("its map number {} would overwrite that of the sheet {}; digitize it into another folder.", number + 1, stem), ""});
    }
    WrittenMap written;
    written.file = options_.out / (stem + ".map.json");
    written.map = map;
    outcome.needs_review = outcome.needs_review || NeedsReview(map);
    auto kept = KeepCorrected(written.file, stem);
    if (!kept) return Note(outcome, kept.error());
    written.kept = std::move(*kept);
    outcome.needs_review = outcome.needs_review || written.kept.has_value();
    if (const auto done = WriteMapFile(written.file, map); !done) return Note(outcome, done.error());
    if (options_.proof && !Stopped()) {
      const std::filesystem::path proof = options_.out / (stem + ".proof.png");
      if (const auto done = WriteWholeFile(proof, DrawProofPng(sheet, map)); done)
        written.proof = proof;
      else
        Note(outcome, done.error());
    }
    outcome.maps.push_back(std::move(written));
  }

  // The document that stands there is copied aside if it holds corrections and this run has none.
  Result<std::optional<std::filesystem::path>> KeepCorrected(const std::filesystem::path& file, const std::string& stem) const {
    std::error_code ignored;
    if (!options_.recipe.corrections.empty() || !std::filesystem::exists(file, ignored)) return std::nullopt;
    const auto text = ReadFileContents(file);
    const auto map = text ? ParseMapDocument(*text) : Fail(ErrorCode::kCannotRead, "");
    if (!map || map->recipe_json.empty()) return std::nullopt;
    if (const auto recipe = ParseRecipe(map->recipe_json); recipe && recipe->corrections.empty()) return std::nullopt;
    std::filesystem::path kept;
    for (int number = 1; kept.empty() || std::filesystem::exists(kept, ignored); ++number)
      kept = options_.out / fmt::format("{}.kept-{}.map.json", stem, number);
    if (const auto done = ReplaceFileContents(kept, *text); !done) return std::unexpected(done.error());
    return kept;
  }

  void WriteStages(const Session& session, SheetOutcome& outcome) {
    DrawStagePngs(session.working_sheet(), session.stages(), [&](const std::string& name, const std::vector<std::uint8_t>& png) {
      const auto done = WriteWholeFile(*options_.stages / fmt::format("{}.{}.png", StemOf(outcome.sheet), name), png);
      if (!done) Note(outcome, done.error());
      return done.has_value() && !Stopped();
    });
  }

  const DigitizeSheetsOptions& options_;
  const DigitizeSheetsWatch& watch_;
  std::vector<SheetOutcome> outcomes_;
  std::set<std::string> stems_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;
};

}  // namespace

Result<void> DigitizeSheetsOptions::Check() const {
  if (jobs < 0 || jobs > static_cast<int>(kMostJobs))
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the number of jobs must lie between 1 and {}.", kMostJobs), "jobs");
  return {};
}

std::vector<SheetOutcome> DigitizeSheets(const std::vector<std::filesystem::path>& sheets, const DigitizeSheetsOptions& options,
                                         const DigitizeSheetsWatch& watch) {
  return Batch(sheets, options, watch).Run();
}

}  // namespace islebook
