/* bench_in_c CASE SHELF      printed: the report, a line "----", the CSV, a line "----", then each column: role, quantity, unit and its values. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "mapstore/capi/islebook.h"

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  islebook_bench_options options = ISLEBOOK_BENCH_OPTIONS_INIT;
  options.shelf_file = argv[2];
  islebook_bench* bench;
  islebook_error* error;
  if (islebook_bench_open_file(argv[1], &options, &bench, &error) != ISLEBOOK_OK) {
    fprintf(stderr, "%s: %s\n", islebook_error_place(error), islebook_error_message(error));
    islebook_error_free(error);
    return 1;
  }
  islebook_bench_facts facts;
  memset(&facts, 0, sizeof facts);
  facts.struct_size = sizeof facts;
  if (islebook_bench_facts_of(bench, &facts) != ISLEBOOK_OK) return 1;
  printf("%s\n----\n%s----\n", islebook_bench_report(bench, NULL), islebook_bench_csv(bench, NULL));
  double* values = calloc(facts.rows, sizeof *values);
  if (values == NULL) return 1;
  for (size_t i = 0; i < facts.columns; ++i) {
    islebook_bench_column column = {.struct_size = sizeof column};
    if (islebook_bench_column_of(bench, i, &column) != ISLEBOOK_OK) return 1;
    if (islebook_bench_values(bench, column.role, column.quantity, values, facts.rows, NULL) != ISLEBOOK_OK) return 1;
    printf("%s %s %s", column.role, column.quantity, column.unit);
    for (size_t row = 0; row < facts.rows; ++row) printf(" %.17g", values[row]);
    putchar('\n');
  }
  free(values);
  islebook_bench_close(bench);
  return 0;
}
