#pragma once
// Solving a drawn case, and what must hold of every solution.

#include "tests/mapstore/bench/balance_case.h"

namespace islebook::bench_test {

Result<BalanceState> SolveDrawn(const DrawnCase& drawn);

// Mass, energy and shaft power, worked out again from the states alone, not from the solver's own equations; each to 1e-8.
void ExpectConserved(const DrawnCase& drawn, const BalanceState& state);

}  // namespace islebook::bench_test
