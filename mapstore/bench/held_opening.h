#pragma once
// An opening that the case holds, of a wastegate's port or of vanes: the same at every engine speed, or a schedule over it.

#include <utility>
#include <vector>

namespace islebook {

class HeldOpening {
 public:
  HeldOpening(double everywhere) : at_{{0.0, everywhere}} {}  // NOLINT: a number is the usual case
  // (engine speed in rev/s, opening), at least one, each speed once; in any order.
  explicit HeldOpening(std::vector<std::pair<double, double>> schedule);

  // Straight between the speeds of the schedule, level beyond the first and the last.
  double At(double speed_rev_s) const;
  bool IsSchedule() const { return at_.size() > 1; }
  double Lowest() const;
  double Highest() const;
  // The same, further open by so much everywhere.
  HeldOpening Moved(double by) const;

 private:
  std::vector<std::pair<double, double>> at_;  // by speed
};

}  // namespace islebook
