#pragma once
// The second reading of a chart's labels: all numbers of a family are printed alike, so that each is asked which of the family's possible numbers its ink
// shows. Print that made no number by itself is asked too.

#include <vector>

#include "digitizer/labels/label_places.h"
#include "digitizer/labels/labels.h"

namespace islebook {

struct PrintAtCurves {
  std::vector<Word> of_label;             // runs along the labels
  std::vector<Word> unread;               // pieces of print that made no label
  std::vector<std::size_t> unread_index;  // runs along them: into PrintFound::words
};

struct SecondReading {
  const Page* page = nullptr;
  const CurvesFound* curves = nullptr;
  PrintReader* reader = nullptr;
  PlaceRules rules;
};

// Adds alternatives to the labels, corrects them where the family's form tells better, and adds labels that were missed.
void ReadByForm(const SecondReading& how, const PrintAtCurves& print, std::vector<CurveLabel>& labels);

// Fills in which curves the label may belong to, likeliest first.
void FindCurvesOf(CurveLabel& label, const CurvesFound& curves, const PlaceRules& rules);

}  // namespace islebook
