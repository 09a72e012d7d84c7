#pragma once
// data/parcel.json: which maps a parcel carries and what is known about them. For this folder's own use.

#include <string>
#include <string_view>
#include <vector>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct ParcelIndexEntry {
  std::string name;
  std::string head;
  MapFacts facts;
};
struct ParcelIndex {
  bool sheets_left_out = false;
  std::vector<ParcelIndexEntry> maps;
};

std::string WriteParcelIndex(const ParcelIndex& index);            // canonical JSON
Result<ParcelIndex> ReadParcelIndex(std::string_view text);        // kParcelDamaged, kNewerParcel
Result<RevisionRecord> ReadRevisionFile(std::string_view record);  // the record's canonical JSON; its id is its hash

}  // namespace islebook
