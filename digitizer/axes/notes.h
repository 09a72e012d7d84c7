#pragma once
// Lines of words that belong to neither axes nor curves: the sheet's title, notes, legends, and the reference conditions they may state.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/axes/frame_words.h"
#include "digitizer/axes/side_reading.h"

namespace islebook {

struct NoteLine {
  std::vector<int> words;
  std::string text;
  PrintUse use = PrintUse::kNote;
};

struct NotesFound {
  std::vector<NoteLine> lines;
  std::string title;
  std::optional<ReferenceConditions> reference_conditions;
  std::vector<std::string> doubts;
};

// `placed` about the largest frame; `used`: words that are spoken for; `inside_box`: words inside a legend box.
// `top_v`: the upper side of the topmost frame, in the largest frame's coordinates; the sheet's title stands above it.
NotesFound ReadNotes(const std::vector<PlacedWord>& placed, const std::vector<bool>& used, const std::vector<bool>& inside_box, double top_v,
                     WordReadings& readings, const SideReadingOptions& options);

}  // namespace islebook
