#pragma once
/* The part of islebook.h about the bench: an engine's operating points on maps. What islebook.h says of errors, memory, structs and later versions holds here too. */
#include "islebook.h"

#ifdef __cplusplus
extern "C" {
#endif

/* An engine's operating points on its maps, as a case file asks for them (mapstore/bench/CASE_FILE.md): worked out when it is opened, and never changed after. Values are
   SI. Any number of threads may read one. */
typedef struct islebook_bench islebook_bench;

typedef struct islebook_named_map {
  const char* name; /* as the case names it */
  const islebook_map* map;
} islebook_named_map;

typedef struct islebook_bench_options {
  size_t struct_size;             /* sizeof(islebook_bench_options) */
  const char* surge_margin;       /* name of the definition; NULL: constant-speed */
  const islebook_named_map* maps; /* looked through first; may be closed once the bench is open */
  size_t map_count;
  const char* folder;     /* then map files are looked for here; NULL: beside the case file, and nowhere for a case in memory */
  const char* shelf_file; /* then names on this shelf; NULL: no shelf */
} islebook_bench_options;
#define ISLEBOOK_BENCH_OPTIONS_INIT {sizeof(islebook_bench_options), NULL, NULL, 0, NULL, NULL}

/* A case file, or its text in memory. `options` may be NULL: the defaults above. ISLEBOOK_BAD_CASE, ISLEBOOK_NOT_FOUND and the like: the error's place is the line of the
   case. A point that cannot be worked out is no error: islebook_bench_failure says why, and the others are there. On failure *bench is NULL. */
ISLEBOOK_API int32_t islebook_bench_open_file(const char* path, const islebook_bench_options* options, islebook_bench** bench,
                                              islebook_error** error);
ISLEBOOK_API int32_t islebook_bench_open_text(const char* toml, size_t size, const islebook_bench_options* options, islebook_bench** bench,
                                              islebook_error** error);
ISLEBOOK_API void islebook_bench_close(islebook_bench* bench); /* NULL is fine */

enum { ISLEBOOK_ROOM = 0, ISLEBOOK_UNKNOWN = 1, ISLEBOOK_CLOSE = 2, ISLEBOOK_OVER = 3 };

/* Texts are valid until the bench is closed. */
typedef struct islebook_bench_facts {
  size_t struct_size;   /* sizeof(islebook_bench_facts), set by the caller */
  size_t points;        /* operating points */
  size_t stages;        /* compressors in series */
  size_t rows;          /* points * stages: the length of every array; the stages of a point stand together, in the order of the air */
  size_t columns;       /* how many arrays there are */
  size_t failures;      /* points that could not be worked out */
  int32_t grade;        /* the worst of all: ISLEBOOK_ROOM, ... */
  int32_t has_turbines; /* not 0: every shaft was balanced */
  int32_t needs_review; /* not 0: something is over, not known or doubted; the report says what */
  int32_t reserved;
  const char* title;   /* the case's; may be "" */
  const char* summary; /* the most important thing in one line */
} islebook_bench_facts;
ISLEBOOK_API int32_t islebook_bench_facts_of(const islebook_bench* bench, islebook_bench_facts* facts);

/* The whole report as JSON, and the arrays below as CSV, both with a zero behind them: CASE_FILE.md describes them. Valid until the bench is closed; *size, where not NULL,
   is the length without the zero. NULL for a NULL bench. */
ISLEBOOK_API const char* islebook_bench_report(const islebook_bench* bench, size_t* size);
ISLEBOOK_API const char* islebook_bench_csv(const islebook_bench* bench, size_t* size);

/* Names; NULL beyond the last. The name of a point, why it could not be worked out ("": it was), the name of a stage. */
ISLEBOOK_API const char* islebook_bench_point(const islebook_bench* bench, size_t point);
ISLEBOOK_API const char* islebook_bench_failure(const islebook_bench* bench, size_t point);
ISLEBOOK_API const char* islebook_bench_stage(const islebook_bench* bench, size_t stage);

/* What an array holds: "compressor", "surge_margin", "1". A column's index never changes; later versions add at the end. */
typedef struct islebook_bench_column {
  size_t struct_size; /* sizeof(islebook_bench_column), set by the caller */
  const char* role;   /* "engine", "compressor", "turbine" */
  const char* quantity;
  const char* unit; /* SI; "1": a pure number, and 0 or 1 for what is so or not */
} islebook_bench_column;
/* ISLEBOOK_NOT_FOUND beyond the last column. */
ISLEBOOK_API int32_t islebook_bench_column_of(const islebook_bench* bench, size_t column, islebook_bench_column* out);
/* Fills values[0] to values[count - 1], count at most the rows; what is not known is NaN. ISLEBOOK_NOT_FOUND: no such column. */
ISLEBOOK_API int32_t islebook_bench_values(const islebook_bench* bench, const char* role, const char* quantity, double* values, size_t count,
                                           islebook_error** error);

/* What to change first for a goal ("power", "low-speed", "drive-ratio", "altitude") at a point (its name or its number from 1; NULL: the first), as JSON. Candidates are the
   wheels of the options' shelf and maps, the case's own one size up and down, ports, openings, coolers. Takes seconds with many maps. *json is freed with
   islebook_text_free; NULL on failure. */
ISLEBOOK_API int32_t islebook_bench_changes(const islebook_bench* bench, const char* goal, const char* point, char** json, islebook_error** error);
ISLEBOOK_API void islebook_text_free(char* text); /* NULL is fine */

#ifdef __cplusplus
}
#endif
