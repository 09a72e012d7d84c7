// As ask_in_c, by the C++ interface.
#include <cmath>
#include <cstdio>

#include "mapstore/answers/askable_map.h"
#include "mapstore/map/map_document.h"

int main(int argc, char** argv) {
  using namespace islebook;
  if (argc != 2) return 1;
  auto document = ReadMapFile(argv[1]);
  if (!document) return 1;
  auto map = AskableMap::Make(*document, "map", "");
  if (!map) return 1;
  double in[5];
  while (std::scanf("%lf %lf %lf %lf %lf", &in[0], &in[1], &in[2], &in[3], &in[4]) == 5) {
    Question question;
    for (int i = 0; i < 5; ++i)
      if (!std::isnan(in[i])) question.Set(static_cast<QuestionValue>(i), in[i]);
    const MapAnswer answer = map->Ask(question);
    for (const auto& value : {answer.flow, answer.pressure_ratio, answer.speed, answer.expansion_ratio, answer.vane_opening, answer.efficiency,
                              answer.surge_margin, answer.choke_margin, answer.sigma_flow, answer.sigma_pressure_ratio, answer.sigma_speed,
                              answer.sigma_efficiency, answer.sigma_surge_margin, answer.map_width})
      std::printf("%.17g ", value.value_or(NAN));
    std::printf("%d", !answer.asked ? -1 : map->is_turbine() ? (answer.inside ? 0 : 5) : answer.region ? static_cast<int>(*answer.region) : 6);
    const AnswerSlopes slopes = map->Slopes(question).value_or(AnswerSlopes{});
    for (const auto& slope : {slopes.flow, slopes.pressure_ratio, slopes.expansion_ratio, slopes.speed, slopes.vane_opening, slopes.efficiency,
                              slopes.surge_margin, slopes.choke_margin, slopes.map_width})
      std::printf(" %.17g %.17g", slope ? slope->by_first : NAN, slope ? slope->by_second : NAN);
    const std::optional<EdgeDistances> edges = map->Edges(question);
    for (const NamedEdge& way : NamedEdges()) {
      const EdgeHit* hit = edges ? HitOf(*edges, way) : nullptr;
      if (hit != nullptr) {
        std::printf(" %.17g %.17g %.17g %.17g %.17g %d", hit->at.flow, hit->at.pressure_ratio, hit->speed, hit->change, hit->share,
                    static_cast<int>(hit->beyond));
      } else {
        std::printf(" nan nan nan nan nan -1");
      }
    }
    std::putchar('\n');
  }
  return 0;
}
