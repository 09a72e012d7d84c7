#pragma once
// The second reading of a chart's labels: all numbers of a family are printed alike, so that each is asked which of the family's possible numbers its ink
// shows. Print that made no number by itself, and gaps that a label has left in its curve, are asked too.

#include <vector>

#include "digitizer/labels/label_places.h"
#include "digitizer/labels/labels.h"

namespace islebook {

struct PrintAtCurves {
  std::vector<Word> of_label;  // runs along the labels
  std::vector<Word> unread;    // pieces of print that made no label
  std::vector<std::size_t> unread_index;
};

class FormReader {
 public:
  FormReader(const Page& page, const CurvesFound& curves, PrintReader& reader, const PlaceRules& rules)
      : page_(page), curves_(curves), reader_(reader), rules_(rules) {}
  void Run(const PrintAtCurves& print, std::vector<CurveLabel>& labels) const;

 private:
  const Page& page_;
  const CurvesFound& curves_;
  PrintReader& reader_;
  const PlaceRules& rules_;
};

// Fills in which curves the label may belong to, likeliest first.
void FindCurvesOf(CurveLabel& label, const CurvesFound& curves, const PlaceRules& rules);

}  // namespace islebook
