#pragma once
// One sheet being digitized: its stage results and its recipe. After a correction only what lapsed is done again. Serves the command line, the window
// and the service alike. Not thread safe; one object per thread.

#include <memory>
#include <optional>
#include <vector>

#include "digitizer/digitize.h"
#include "digitizer/working_sheet.h"

namespace islebook {

// The panels that make one map, and what was judged of them. `axes` holds just those panels; indices in `judged` go by it.
struct MapPart {
  std::vector<std::size_t> panels;  // indices into StageResults::axes.panels
  AxesFound axes;
  JudgedMap judged;  // corrections applied
};

struct StageResults {
  std::optional<Page> page;
  std::optional<DrawingFound> drawing;  // of PDF and SVG pages; where it is usable, ridges and print are its own
  std::optional<RidgesFound> ridges;
  std::optional<PrintFound> print;
  std::optional<AxesFound> axes_found;                 // as found
  std::optional<AxesFound> axes;                       // with the recipe's frame and axis corrections
  std::vector<std::string> axes_doubts;                // corrections that did not apply
  std::optional<std::vector<PanelEvidence>> evidence;  // along axes->panels
  std::optional<std::vector<MapPart>> parts;
};

class Session {
 public:
  explicit Session(std::shared_ptr<const Sheet> sheet, DigitizeOptions options = {});
  ~Session();

  // Replaces the recipe; results that depend on what changed lapse. Its page and dpi must be those the sheet was read with.
  void SetRecipe(Recipe recipe);
  const Recipe& recipe() const { return recipe_; }
  const Sheet& sheet() const { return *sheet_; }
  // What the stages work on, in whose pixels their results are: the sheet, a small sheet at twice its size, one that lies turned upright.
  const Sheet& working_sheet() const { return *work_.sheet; }
  const WorkingSheet& work() const { return work_; }

  // Does what is still to do. On an error or a cancel the stages already done stay done.
  Result<DigitizeResult> Run(const Progress& progress = {});

  const StageResults& stages() const { return stages_; }

 private:
  template <typename T, typename Work>
  Result<void> Do(const char* stage, double fraction, std::optional<T>& slot, const Progress& progress, Work work);
  Result<AxesFound> FindAxesOrNone();
  Result<std::vector<PanelEvidence>> GatherEvidence();
  Result<std::vector<MapPart>> Judge();
  Result<DigitizeResult> Finish();
  Result<void> FindLinesAndPrint(const Progress& progress);
  Result<void> TurnUpright(const Progress& progress);
  Result<PrintReader*> Reader();

  std::shared_ptr<const Sheet> sheet_;
  WorkingSheet work_;
  DigitizeOptions options_;
  Recipe recipe_;
  Recipe working_recipe_;  // the same in working pixels
  StageResults stages_;
  std::unique_ptr<PrintReader> reader_;
  std::unique_ptr<PrintReader> exact_reader_;  // of a drawing; leans on reader_
  std::vector<StageTime> times_;
};

}  // namespace islebook
