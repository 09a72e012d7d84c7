#pragma once
// Flow and head over (relative speed, beta) as a bicubic table, forward and inverse. Internal to mapstore/surface.

#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include "mapstore/surface/line_family.h"

namespace islebook {

// Flow and head side by side.
using Pair = std::array<double, 2>;

struct TableJet {
  Pair value, by_n, by_beta;
};

struct TablePlace {
  double n = 0.0, beta = 0.0;
};

class SurfaceTable {
 public:
  SurfaceTable() = default;
  // Rows at the family's lines and `between` rows between each two; and beyond the outermost lines down to `lowest` and up to `highest`, where these lie outside.
  // `uses`: many lookups are what most tables are for; for a few it is quicker made and slower to look into, and whether it folds is `known_folds`.
  enum class Uses { kMany, kFew };
  SurfaceTable(const LineFamily& family, int beta_intervals, int between, double lowest = 1e300, double highest = 0.0, Uses uses = Uses::kMany,
               bool known_folds = false);

  // Of the lines, and of the table with what it extrapolates.
  double MinN() const { return lines_low_; }
  double MaxN() const { return lines_high_; }
  double LowestN() const { return n_.front(); }
  double HighestN() const { return n_.back(); }
  const std::vector<double>& rows() const { return n_; }
  int columns() const { return columns_; }
  // Straight on outside the table.
  TableJet At(double n, double beta) const;
  Pair Value(double n, double beta) const { return At(n, beta).value; }
  double HeadAt(double n, double beta) const;                       // inside the table
  Pair SurgeEdge(double n) const { return Edge(n, 0); }             // value at beta 0
  Pair ChokeEdge(double n) const { return Edge(n, columns_ - 1); }  // at beta 1
  bool one_way_flow() const { return one_way_flow_; }

  // Newton from the stored start. nullopt: it did not converge within the margin around the table.
  std::optional<TablePlace> Locate(double flow, double head) const;
  // From a start of the caller's.
  std::optional<TablePlace> LocateFrom(TablePlace start, double flow, double head) const;
  // From every cell that may hold it.
  std::vector<TablePlace> LocateAll(double flow, double head) const;
  bool folds() const { return folds_; }
  std::array<double, 2> fold_speeds() const { return fold_speeds_; }  // about the first fold

  // Betas in [0, 1] at which the row n has that flow (component 0) or head (component 1), ascending.
  std::vector<double> Crossings(double n, int component, double target) const;
  // The only one, without allocating, where the component runs one way along the whole row; nullopt otherwise or if there is none.
  std::optional<double> SingleFlow(double n, double flow) const;
  // The head there, in one go.
  std::optional<double> SingleHead(double n, double flow) const;

  // The row and the place within it, 0..1 inside.
  int RowOf(double n) const;

  static constexpr double kMarginBeta = 0.2;  // how far outside places are found
  static constexpr double kMarginN = 0.06;    // of the highest speed
  double MarginLow() const { return std::max(n_.front() - kMarginN, 0.3 * n_.front()); }
  double MarginHigh() const { return n_.back() + kMarginN; }

 private:
  struct alignas(64) Node {
    Pair value, by_n, by_beta, by_both;
  };
  const Node& node(int row, int column) const { return nodes_[static_cast<std::size_t>(row) * columns_ + column]; }
  struct OnRow;
  bool FindFlow(double n, double flow, OnRow& at) const;
  void BuildStarts();
  Pair Edge(double n, int column) const;
  TablePlace Start(double flow, double head) const;

  std::vector<double> n_;
  double lines_low_ = 0.0, lines_high_ = 1.0;
  int columns_ = 0;
  double beta_step_ = 1.0;
  std::vector<Node> nodes_;
  std::vector<int> row_of_bin_;
  double bins_per_n_ = 0.0;
  double flow_scale_ = 1.0, head_scale_ = 1.0;
  bool folds_ = false;
  std::array<double, 2> fold_speeds_{};
  bool one_way_flow_ = false;  // flow never falls with beta
  static constexpr int kGuesses = 64;
  std::array<int, kGuesses + 1> column_guess_{};  // of a share of a line's flow range

  // Starts over u = W / (W + c sqrt(h)), nearly constant along beta = const, and v = W + c sqrt(h), nearly proportional to speed.
  static constexpr int kStarts = 64;
  double start_c_ = 1.0, u_low_ = 0.0, u_step_ = 1.0, v_low_ = 0.0, v_step_ = 1.0;
  std::vector<std::array<float, 2>> starts_;  // empty: a table for a few uses, whose starts are looked for
};

}  // namespace islebook
