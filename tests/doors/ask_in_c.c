/* ask_in_c MAP < LINES      each line: flow, pressure ratio, speed, expansion ratio, vane opening, "nan" where not given; printed: the fourteen values and the region. */
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
    printf("%.17g %d\n", answer.map_width, answer.region);
  }
  islebook_close(map);
  return 0;
}
