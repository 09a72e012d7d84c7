#include <set>

#include <fmt/format.h>

#include "mapstore/parcel/parcel.h"

namespace islebook {

std::string BranchFor(const Parcel& parcel, const std::optional<std::string>& trusted_name) {
  std::string name = trusted_name ? *trusted_name : parcel.SignedBy().state == Signature::State::kGood ? "an unknown signer" : "a parcel";
  for (char& c : name)
    if (c == '@') c = ' ';
  std::string branch = "from " + name;
  // A branch's name has 100 bytes at most, and must not be cut within a letter.
  while (branch.size() > 90 || (!branch.empty() && branch.back() == ' ')) {
    while (!branch.empty() && (static_cast<unsigned char>(branch.back()) & 0xC0) == 0x80) branch.pop_back();
    if (!branch.empty()) branch.pop_back();
  }
  return branch;
}

Result<std::vector<ReceivedMap>> UnpackParcel(const Parcel& parcel, Shelf& shelf, const std::string& branch) {
  if (parcel.SignedBy().state == Signature::State::kWrong)
    return Fail(ErrorCode::kWrongSignature, fmt::format("its signature does not hold ({}); nothing was taken over.", parcel.SignedBy().reason));
  std::vector<IncomingMap> maps;
  std::set<std::string> given;  // revisions that stand in an earlier map already
  for (const ParcelMap& map : parcel.Maps()) {
    IncomingMap incoming{map.name, {}, map.head, map.facts};
    for (const RevisionRecord& record : map.history) {
      if (!given.insert(record.id).second) continue;
      Result<std::string> document = parcel.Document(record.document_sha256);
      if (!document) return std::unexpected(document.error());
      incoming.revisions.push_back({record, std::move(*document)});
    }
    maps.push_back(std::move(incoming));
  }
  std::vector<std::string> sheets;
  for (const auto& [sha256, path] : parcel.Sheets()) {
    Result<std::string> bytes = parcel.Sheet(sha256);
    if (!bytes) return std::unexpected(bytes.error());
    sheets.push_back(std::move(*bytes));
  }
  return shelf.Receive(maps, sheets, branch);
}

Result<std::vector<Foreseen>> ForeseeUnpack(const Parcel& parcel, Shelf& shelf) {
  std::vector<Foreseen> foreseen;
  std::set<std::string> counted;
  for (const ParcelMap& map : parcel.Maps()) {
    Foreseen one{map.name, ReceivedAs::kNewMap, 0};
    for (const RevisionRecord& record : map.history) {
      if (counted.contains(record.id)) continue;
      const Result<ShownRevision> known = shelf.ShowRevision(record.id);
      if (!known && known.error().code != ErrorCode::kNotFound) return std::unexpected(known.error());
      if (known) continue;
      counted.insert(record.id);
      ++one.new_revisions;
    }
    const Result<std::vector<ShelfBranch>> branches = shelf.Branches(map.name);
    if (!branches && branches.error().code != ErrorCode::kNotFound) return std::unexpected(branches.error());
    if (branches && !branches->empty()) {
      one.as = ReceivedAs::kBranch;
      for (const ShelfBranch& branch : *branches) {
        if (branch.head.id == map.head) {
          one.as = ReceivedAs::kSame;
          break;
        }
        for (const RevisionRecord& record : map.history)
          if (record.id == branch.head.id && branch.name.empty()) one.as = ReceivedAs::kForward;
        if (one.new_revisions > 0) continue;  // a head that is not here is in nobody's history
        const Result<Relation> relation = shelf.Relate(map.head, branch.head.id);
        if (!relation) return std::unexpected(relation.error());
        if (*relation == Relation::kBefore) {
          one.as = ReceivedAs::kBehind;
          break;
        }
      }
    }
    foreseen.push_back(std::move(one));
  }
  return foreseen;
}

}  // namespace islebook
