/* ask_in_c MAP < LINES      each line: flow, pressure ratio, speed, expansion ratio, vane opening, "nan" where not given; printed: the fourteen values, the region,
 * nine slopes (by the first and by the second value asked with), and nine edges (flow, pressure ratio, speed, change, share, what lies beyond). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "mapstore/capi/islebook.h"

int main(int argc, char** argv) {
  islebook_map* map;
  if (argc != 2 || islebook_open_file(argv[1], NULL, &map, NULL) != ISLEBOOK_OK) return 1;
  double in[5];
  while (scanf("%lf %lf %lf %lf %lf", &in[0], &in[1], &in[2], &in[3], &in[4]) == 5) {
    islebook_question question;
    islebook_answer answer;
    memset(&question, 0, sizeof question);
    question.flow = in[0];
    question.pressure_ratio = in[1];
    question.speed = in[2];
    question.expansion_ratio = in[3];
    question.vane_opening = in[4];
    for (int i = 0; i < 5; ++i)
      if (!isnan(in[i])) question.given |= 1u << i;
    if (islebook_ask(map, &question, sizeof question, &answer, sizeof answer, 1, NULL) != ISLEBOOK_OK) return 1;
    const double* values = &answer.flow;
    for (int i = 0; i < 13; ++i) printf("%.17g ", values[i]);
    printf("%.17g %d", answer.map_width, answer.region);
    islebook_slopes slopes;
    if (islebook_slopes_of(map, &question, sizeof question, &slopes, sizeof slopes, 1, NULL) != ISLEBOOK_OK) return 1;
    const islebook_slope named[9] = {slopes.flow,       slopes.pressure_ratio, slopes.expansion_ratio, slopes.speed,    slopes.vane_opening,
                                     slopes.efficiency, slopes.surge_margin,   slopes.choke_margin,    slopes.map_width};
    for (int i = 0; i < 9; ++i) printf(" %.17g %.17g", named[i].by_first, named[i].by_second);
    islebook_edges edges;
    const int32_t code = islebook_edges_of(map, &question, sizeof question, &edges, sizeof edges, 1, NULL);
    for (int i = 0; i < 9; ++i) {
      const islebook_edge* edge = &edges.less_flow + i;
      if (code == ISLEBOOK_WRONG_KIND)
        printf(" nan nan nan nan nan -1");
      else
        printf(" %.17g %.17g %.17g %.17g %.17g %d", edge->flow, edge->pressure_ratio, edge->speed, edge->change, edge->share, edge->beyond);
    }
    putchar('\n');
  }
  islebook_close(map);
  return 0;
}
