#include "mapstore/bench/held_opening.h"

#include <algorithm>
#include <iterator>

namespace islebook {
namespace {

bool ByOpening(const std::pair<double, double>& a, const std::pair<double, double>& b) { return a.second < b.second; }

}  // namespace

HeldOpening::HeldOpening(std::vector<std::pair<double, double>> schedule) : at_(std::move(schedule)) { std::sort(at_.begin(), at_.end()); }

double HeldOpening::At(double speed_rev_s) const {
  const auto next = std::find_if(at_.begin(), at_.end(), [speed_rev_s](const auto& entry) { return entry.first > speed_rev_s; });
  if (next == at_.begin()) return at_.front().second;
  if (next == at_.end()) return at_.back().second;
  const auto& [low, from] = *std::prev(next);
  return from + (next->second - from) * (speed_rev_s - low) / (next->first - low);
}

double HeldOpening::Lowest() const { return std::min_element(at_.begin(), at_.end(), ByOpening)->second; }
double HeldOpening::Highest() const { return std::max_element(at_.begin(), at_.end(), ByOpening)->second; }

HeldOpening HeldOpening::Moved(double by) const {
  HeldOpening moved = *this;
  for (auto& [speed, opening] : moved.at_) opening += by;
  return moved;
}

}  // namespace islebook
