#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_lines.h"
#include "mapstore/map/validate_checks.h"

namespace islebook::validation {
namespace {

using frame_geometry::FindCrossings;

constexpr double kEndTolerance = 0.006;  // parts of the frame

struct IslandCurve {
  std::size_t curve = 0;
  std::optional<double> efficiency;  // a fraction
  std::vector<Point2> line;          // closed ones end where they begin
  bool closed = false;
};

std::vector<IslandCurve> IslandsOf(const Context& context) {
  std::vector<IslandCurve> islands;
  for (const std::size_t i : context.CurvesOf(CurveRole::kEfficiencyIsland)) {
    const Curve& curve = context.map.curves[i];
    islands.push_back({i, map_lines::ValueIn(curve, "1"), curve.closed ? frame_geometry::Closed(context.frame[i]) : context.frame[i],
                       curve.closed && curve.points.size() >= 3});
  }
  return islands;
}

// Where a speed line meets islands, in order from surge: each with its efficiency.
struct Meeting {
  double along = 0.0;
  const IslandCurve* island = nullptr;
};

}  // namespace

void CheckIslands(const Context& context) {
  const std::vector<IslandCurve> islands = IslandsOf(context);
  const auto name = [&](const IslandCurve& island) { return CurveInWords(context.map.curves[island.curve]); };

  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  std::vector<Point2> places;
  for (std::size_t i = 0; i < islands.size(); ++i)
    for (std::size_t j = i + 1; j < islands.size(); ++j) {
      const IslandCurve &a = islands[i], &b = islands[j];
      const auto crossings = FindCrossings(a.line, b.line, a.closed && b.closed ? 0.0 : kEndTolerance);
      if (!crossings.empty()) {
        pairs.emplace_back(a.curve, b.curve);
        places.push_back(crossings.front().at);
        continue;
      }
      if (!a.closed || !b.closed || !a.efficiency || !b.efficiency) continue;
      for (const auto& [inner, outer] : {std::pair(&a, &b), std::pair(&b, &a)}) {
        if (!frame_geometry::IsInside(outer->line, inner->line.front())) continue;
        if (*inner->efficiency < *outer->efficiency)
          context.Add(Severity::kDoubt, inner->curve,
                      Capitalized(fmt::format("{} lies inside {}, though its efficiency is lower.", name(*inner), name(*outer))));
        else if (*inner->efficiency == *outer->efficiency)
          context.Add(Severity::kDoubt, inner->curve, Capitalized(fmt::format("{} lies inside another of the same efficiency.", name(*inner))));
      }
    }

  for (const std::size_t one : ToBlame(context, pairs)) {
    const auto pair = std::ranges::find_if(pairs, [one](const auto& p) { return p.first == one || p.second == one; });
    const std::size_t other = pair->first == one ? pair->second : pair->first;
    context.Add(Severity::kError, one,
                Capitalized(fmt::format("{} crosses {} near {}; islands are nested and never meet.", CurveInWords(context.map.curves[one]),
                                        CurveInWords(context.map.curves[other]),
                                        context.PlaceInWords(places[static_cast<std::size_t>(pair - pairs.begin())]))));
  }

  // Along a speed line the efficiency rises to one peak and falls: an island met between two of higher efficiency speaks of a misread label.
  std::map<std::size_t, std::size_t> valleys;  // island curve: on which speed line first
  for (const std::size_t speed_line : context.CurvesOf(CurveRole::kSpeedLine)) {
    std::vector<Meeting> meetings;
    for (const IslandCurve& island : islands) {
      if (!island.efficiency) continue;
      const auto crossings = FindCrossings(context.frame[speed_line], island.line);
      for (const auto& crossing : crossings) meetings.push_back({crossing.along_a, &island});
    }
    const auto& line = context.frame[speed_line];
    const bool from_right = line.front().x > line.back().x;
    std::ranges::sort(meetings, {}, [&](const Meeting& m) { return from_right ? -m.along : m.along; });
    for (std::size_t k = 1; k + 1 < meetings.size(); ++k) {
      const double here = *meetings[k].island->efficiency;
      std::size_t left = k, right = k;
      while (left > 0 && *meetings[left].island->efficiency == here) --left;
      while (right + 1 < meetings.size() && *meetings[right].island->efficiency == here) ++right;
      if (*meetings[left].island->efficiency > here && *meetings[right].island->efficiency > here)
        valleys.try_emplace(meetings[k].island->curve, speed_line);
    }
  }
  for (const auto& [curve, speed_line] : valleys)
    context.Add(Severity::kDoubt, curve,
                Capitalized(fmt::format("{} lies between islands of higher efficiency along {}; one of their labels may be misread.",
                                        CurveInWords(context.map.curves[curve]), CurveInWords(context.map.curves[speed_line]))));
}

}  // namespace islebook::validation
