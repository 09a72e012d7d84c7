#pragma once
// Which way up the sheet lies: pages are scanned on their side and photographed upside down.

#include "digitizer/print/print.h"
#include "digitizer/sheet/stage_report.h"

namespace islebook {

struct WritingTurnOptions {
  std::size_t most_lines = 6;  // lines of letters that are read, both ways up
  double clearly = 1.35;       // how much better the other way up must read
};

struct WritingTurn {
  int quarter_turns = 0;  // clockwise, that make most of the writing upright; 0 unless the evidence is clear
  StageReport report;
};

// Most of a chart's print is level, its vertical axis' title alone is not: the way in which most words run decides between level and on its side, the
// better reading of the longest lines of letters between the two ways up. For sheets whose axes could not be read as they lie.
WritingTurn FindWritingTurn(const Page& page, const PrintFound& print, PrintReader& reader, const WritingTurnOptions& options = {});

}  // namespace islebook
