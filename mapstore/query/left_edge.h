#pragma once
// Whether an answer may be believed about the left edge of the map. Every door and the bench ask here, so that all of them leave the same thing open.

#include <string>

#include "mapstore/query/compressor_query.h"

namespace islebook {

// Nothing sound tells where the map ends on its left next to that point: no surge line was printed or found, and the speed lines whose left ends stand for it are flagged
// for review. Region, surge margin and map width are then not known.
bool LeftEdgeIsDoubtful(const CompressorAnswer& answer, const CompressorSurface& surface);

// DoubtWords for such an answer.
std::string DoubtfulEdgeWords(const CompressorAnswer& answer, const CompressorSurface& surface);

}  // namespace islebook
