/* The bench of the C interface as a C program sees it. Usage: capi_bench_in_c MAPS */
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "mapstore/capi/islebook.h"

static int failures = 0;
#define CHECK(condition)                                              \
  do {                                                                \
    if (!(condition)) {                                               \
      fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #condition); \
      ++failures;                                                     \
    }                                                                 \
  } while (0)

static const char kCase[] =
    "title = \"Lake ferry\"\n"
    "[engine]\ndisplacement = \"5.9 L\"\nspeed = [\"1400 rpm\", \"1800 rpm\"]\nair_fuel_ratio = 24\nbrake_specific_fuel_consumption = \"215 "
    "g/kWh\"\nboost = \"0.8 bar\"\n"
    "[[stage]]\ncompressor = \"alder\"\n"
    "[[point]]\n"
    "[[point]]\nname = \"none\"\nspeed = \"1400 rpm\"\nmanifold_pressure = \"0.9 bar absolute\"\n";

static islebook_map* open_map(const char* folder, const char* name) {
  char path[4096];
  islebook_map* map = NULL;
  snprintf(path, sizeof path, "%s/%s", folder, name);
  if (islebook_open_file(path, NULL, &map, NULL) != ISLEBOOK_OK) exit(1);
  return map;
}

static double value_at(const islebook_bench* bench, const char* role, const char* quantity, size_t row) {
  double values[3] = {-1, -1, -1};
  CHECK(islebook_bench_values(bench, role, quantity, values, 3, NULL) == ISLEBOOK_OK);
  return values[row];
}

static void works_out_a_case(islebook_map* map) {
  const islebook_named_map maps[] = {{"other", map}, {"alder", map}};
  islebook_bench_options options = ISLEBOOK_BENCH_OPTIONS_INIT;
  options.maps = maps;
  options.map_count = 2;
  islebook_bench* bench = NULL;
  islebook_error* error = NULL;
  CHECK(islebook_bench_open_text(kCase, strlen(kCase), &options, &bench, &error) == ISLEBOOK_OK && error == NULL);
  if (bench == NULL) {
    fprintf(stderr, "%s: %s\n", islebook_error_place(error), islebook_error_message(error));
    exit(1);
  }
  islebook_bench_facts facts;
  memset(&facts, 0, sizeof facts);
  facts.struct_size = sizeof facts;
  CHECK(islebook_bench_facts_of(bench, &facts) == ISLEBOOK_OK);
  CHECK(facts.points == 3 && facts.stages == 1 && facts.rows == 3 && facts.failures == 1 && facts.has_turbines == 0);
  CHECK(strcmp(facts.title, "Lake ferry") == 0 && strlen(facts.summary) > 10 && facts.grade >= ISLEBOOK_ROOM && facts.grade <= ISLEBOOK_OVER);
  CHECK(strcmp(islebook_bench_point(bench, 0), "1,400 rpm") == 0 && islebook_bench_point(bench, 3) == NULL);
  CHECK(islebook_bench_failure(bench, 0)[0] == '\0' && strstr(islebook_bench_failure(bench, 2), "without a compressor") != NULL);
  CHECK(islebook_bench_stage(bench, 0)[0] != '\0' && islebook_bench_stage(bench, 1) == NULL);
  size_t size = 0;
  CHECK(islebook_bench_report(bench, &size) != NULL && size == strlen(islebook_bench_report(bench, NULL)) &&
        strstr(islebook_bench_report(bench, NULL), "bench-report"));
  CHECK(strstr(islebook_bench_csv(bench, &size), "compressor_surge_margin") != NULL && size == strlen(islebook_bench_csv(bench, NULL)));

  /* Faster engine, more air; a power follows from air, ratio and consumption; what failed is no number. */
  CHECK(value_at(bench, "engine", "air_flow", 1) > value_at(bench, "engine", "air_flow", 0));
  CHECK(fabs(value_at(bench, "engine", "power", 0) * 24 * 215 / 3.6e9 / value_at(bench, "engine", "air_flow", 0) - 1) < 1e-12);
  CHECK(isnan(value_at(bench, "engine", "air_flow", 2)) && isnan(value_at(bench, "turbine", "power", 0)));
  CHECK(fabs(value_at(bench, "engine", "speed", 2) - 1400.0 / 60) < 1e-12);

  size_t named = 0;
  islebook_bench_column column = {.struct_size = sizeof column};
  while (islebook_bench_column_of(bench, named, &column) == ISLEBOOK_OK) {
    ++named;
    CHECK(column.role[0] != '\0' && column.quantity[0] != '\0' && column.unit[0] != '\0');
  }
  CHECK(named == facts.columns);
  column.struct_size = offsetof(islebook_bench_column, unit); /* of an earlier version */
  column.unit = NULL;
  CHECK(islebook_bench_column_of(bench, 0, &column) == ISLEBOOK_OK && column.quantity != NULL && column.unit == NULL);

  char* json = NULL;
  CHECK(islebook_bench_changes(bench, "power", NULL, &json, &error) == ISLEBOOK_OK && strstr(json, "bench-changes") != NULL);
  islebook_text_free(json);
  CHECK(islebook_bench_changes(bench, "fame", NULL, &json, &error) == ISLEBOOK_INVALID_ARGUMENT && json == NULL);
  CHECK(strstr(islebook_error_message(error), "power") != NULL);
  islebook_error_free(error);
  CHECK(islebook_bench_changes(bench, "drive-ratio", NULL, &json, NULL) == ISLEBOOK_BAD_CASE);
  CHECK(islebook_bench_changes(NULL, "power", NULL, &json, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_changes(bench, "power", NULL, NULL, NULL) == ISLEBOOK_INVALID_ARGUMENT);

  double values[3];
  CHECK(islebook_bench_values(bench, "engine", "fame", values, 3, &error) == ISLEBOOK_NOT_FOUND);
  islebook_error_free(error);
  CHECK(islebook_bench_values(bench, "engine", "speed", values, 4, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_values(bench, "engine", "speed", NULL, 3, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_values(bench, NULL, "speed", values, 3, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_values(NULL, "engine", "speed", values, 3, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_values(bench, "engine", "speed", NULL, 0, NULL) == ISLEBOOK_OK);
  CHECK(islebook_bench_facts_of(bench, NULL) == ISLEBOOK_INVALID_ARGUMENT && islebook_bench_facts_of(NULL, &facts) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_report(NULL, NULL) == NULL && islebook_bench_csv(NULL, NULL) == NULL && islebook_bench_point(NULL, 0) == NULL);
  islebook_bench_close(bench);
  islebook_bench_close(NULL);
  islebook_text_free(NULL);
}

static int32_t refused(const char* text, const islebook_bench_options* options, const char* place, const char* words) {
  islebook_bench* bench = (islebook_bench*)&failures;
  islebook_error* error = NULL;
  const int32_t code = islebook_bench_open_text(text, strlen(text), options, &bench, &error);
  CHECK(code != ISLEBOOK_OK && bench == NULL && error != NULL);
  if (strstr(islebook_error_place(error), place) == NULL || strstr(islebook_error_message(error), words) == NULL) {
    fprintf(stderr, "%s: %s\n", islebook_error_place(error), islebook_error_message(error));
    ++failures;
  }
  islebook_error_free(error);
  return code;
}

static void refuses_what_it_cannot_use(const char* folder, islebook_map* map) {
  islebook_map* turbine = open_map(folder, "turbine.map.json");
  islebook_named_map maps[] = {{"alder", map}};
  islebook_bench_options options = ISLEBOOK_BENCH_OPTIONS_INIT;
  CHECK(refused(kCase, &options, "line 9", "no map \"alder\" was given") == ISLEBOOK_NOT_FOUND);
  options.shelf_file = "no such shelf.db";
  CHECK(refused(kCase, &options, "line 9", "shelf") == ISLEBOOK_NOT_FOUND);
  options.folder = folder;
  options.shelf_file = NULL;
  CHECK(refused(kCase, &options, "line 9", "no map file") == ISLEBOOK_NOT_FOUND);
  options.maps = maps;
  options.map_count = 1;
  CHECK(refused("", &options, "the case", "no compressor map is named") == ISLEBOOK_BAD_CASE);
  CHECK(refused("[engine\n", &options, "line", "") == ISLEBOOK_BAD_CASE);
  CHECK(refused("[engine]\ndisplacement = 5.9\n[[stage]]\ncompressor = \"alder\"\n", &options, "line 2", "no unit") == ISLEBOOK_BAD_CASE);
  maps[0].map = turbine;
  CHECK(refused(kCase, &options, "line 9", "wants a compressor map") == ISLEBOOK_WRONG_KIND);
  maps[0].map = NULL;
  CHECK(refused(kCase, &options, "", "null") == ISLEBOOK_INVALID_ARGUMENT);
  options.surge_margin = "mine";
  CHECK(refused(kCase, &options, "surge_margin", "constant-speed") == ISLEBOOK_INVALID_ARGUMENT);
  options.struct_size = 4;
  CHECK(refused(kCase, &options, "options", "struct_size") == ISLEBOOK_INVALID_ARGUMENT);
  islebook_bench* bench = NULL;
  CHECK(islebook_bench_open_text(NULL, 0, NULL, &bench, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_open_text(kCase, 1, NULL, NULL, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_open_file(NULL, NULL, &bench, NULL) == ISLEBOOK_INVALID_ARGUMENT);
  CHECK(islebook_bench_open_file("no such case.toml", NULL, &bench, NULL) != ISLEBOOK_OK && bench == NULL);
  islebook_close(turbine);
}

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  islebook_map* map = open_map(argv[1], "compressor.map.json");
  works_out_a_case(map);
  refuses_what_it_cannot_use(argv[1], map);
  islebook_close(map);
  if (failures > 0) fprintf(stderr, "%d checks failed\n", failures);
  return failures == 0 ? 0 : 1;
}
