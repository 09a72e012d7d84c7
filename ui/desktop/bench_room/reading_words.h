#pragma once
// Answers and verdicts in a person's words: as many digits as the uncertainty allows, the uncertainty beside, the unit always.

#include <optional>
#include <utility>
#include <vector>

#include <QString>
#include <QStringList>

#include "mapstore/answers/askable_map.h"
#include "mapstore/bench/bench.h"

namespace islebook {

// "128,400 ± 300", "74.2 ± 0.4", "1.203"; `digits`: significant ones where no uncertainty is known.
QString NumberWithSigma(double value, const std::optional<double>& sigma, int digits = 4);
// "74.2 % ± 0.4 %".
QString PercentWithSigma(const std::optional<double>& value, const std::optional<double>& sigma);

// Three or four lines for beside the mouse.
QStringList ReadingInShort(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units);
// A wheel's speed in the shop's unit.
QString SpeedInWords(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units);
// Name and value, all that is known; the last row is the reason where something is not.
std::vector<std::pair<QString, QString>> ReadingInFull(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units);

QString RegionInWords(MapRegion region);
// The number that a verdict grades, short enough for a table's cell; empty where it has none.
QString VerdictNumber(const Verdict& verdict, const UnitHabit& units);
const Verdict* FindVerdict(const std::vector<Verdict>& verdicts, VerdictKind kind);
QString GradeWords(Grade grade);

}  // namespace islebook
