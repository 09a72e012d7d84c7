#pragma once
/*
 * Islebook in C: open a compressor or turbine map, ask it; work out an engine's operating points on maps (islebook_bench.h, included below).
 *
 * A map is made and freed by the library and never changes: any number of threads may ask one map. Functions that can fail return ISLEBOOK_OK or a code; where the last
 * argument is an islebook_error**, it is set to NULL on success and to a new error on failure, which the caller frees (or pass NULL: the code alone then tells). Nothing
 * throws across this border, and null pointers are refused where something is needed.
 *
 * Structs that may grow begin with their size or are passed with it. Fill it with sizeof: a program built against an older header goes on working with a newer library.
 *
 * A map's values are in its printed units (islebook_facts names them; islebook_read_value and islebook_unit_factor convert). Efficiencies and margins are fractions.
 * What cannot be known is a quiet NaN without its bit in `known`: it can never pass for a number.
 *
 * A map read from a picture is an estimate, and makers' limits come first: see the README before you act on a number.
 */
#include <stddef.h>
#include <stdint.h>

#if defined(__GNUC__)
#define ISLEBOOK_API __attribute__((visibility("default")))
#else
#define ISLEBOOK_API
#endif

#ifdef __cplusplus
extern "C" {
#endif

/* Raised when something here changes so that programs must be built anew; functions and fields added at the end do not. */
#define ISLEBOOK_ABI_VERSION 1
ISLEBOOK_API int32_t islebook_abi_version(void);
/* "0.1.0", never freed. */
ISLEBOOK_API const char* islebook_version(void);

/* --- errors --- */

/* Never renumbered; later versions may return others. */
enum {
  ISLEBOOK_OK = 0,
  ISLEBOOK_INVALID_ARGUMENT = 1,
  ISLEBOOK_NOT_FOUND = 2,
  ISLEBOOK_CANNOT_READ = 3,
  ISLEBOOK_INTERNAL = 6, /* a library failed, or memory ran out */
  ISLEBOOK_UNKNOWN_UNIT = 1000,
  ISLEBOOK_INCOMPATIBLE_UNIT = 1001,
  ISLEBOOK_OUT_OF_RANGE = 1002,
  ISLEBOOK_MALFORMED_DOCUMENT = 1100,
  ISLEBOOK_UNSUPPORTED_SCHEMA = 1101,
  ISLEBOOK_WRONG_KIND = 1102, /* neither kind of map, or a turbine asked for a surge margin */
  ISLEBOOK_SHELF_UNAVAILABLE = 2000,
  ISLEBOOK_SHELF_DAMAGED = 2001,
  ISLEBOOK_SHELF_BUSY = 2002,
  ISLEBOOK_NEWER_SHELF = 2003,
  ISLEBOOK_NOT_ENOUGH_CURVES = 3000,
  ISLEBOOK_BAD_CASE = 3200
};

typedef struct islebook_error islebook_error;
ISLEBOOK_API int32_t islebook_error_code(const islebook_error* error);
/* One sentence: what happened and what to do; and the file, key or line that it is about (may be empty). Valid until the error is freed; "" for NULL. */
ISLEBOOK_API const char* islebook_error_message(const islebook_error* error);
ISLEBOOK_API const char* islebook_error_place(const islebook_error* error);
ISLEBOOK_API void islebook_error_free(islebook_error* error); /* NULL is fine */

/* --- maps --- */

typedef struct islebook_map islebook_map;

typedef struct islebook_options {
  size_t struct_size;       /* sizeof(islebook_options) */
  const char* surge_margin; /* name of the definition ("constant-speed", ...); NULL: constant-speed. For a turbine it must be NULL */
  int32_t sigma;            /* not 0: answers carry their standard uncertainties */
  int32_t threads;          /* of one islebook_ask, at most; 0: as many as there are processors */
} islebook_options;
#define ISLEBOOK_OPTIONS_INIT {sizeof(islebook_options), NULL, 1, 1}

/* A map document (*.map.json) in a file or in memory, or a map on a shelf in a file: NAME, or NAME@REVISION for an earlier one. `options` may be NULL: the defaults above.
   On failure *map is NULL. */
ISLEBOOK_API int32_t islebook_open_file(const char* path, const islebook_options* options, islebook_map** map, islebook_error** error);
ISLEBOOK_API int32_t islebook_open_document(const char* json, size_t size, const islebook_options* options, islebook_map** map,
                                            islebook_error** error);
ISLEBOOK_API int32_t islebook_open_shelf(const char* shelf_file, const char* name, const islebook_options* options, islebook_map** map,
                                         islebook_error** error);
ISLEBOOK_API void islebook_close(islebook_map* map); /* NULL is fine */

enum { ISLEBOOK_COMPRESSOR = 0, ISLEBOOK_TURBINE = 1 };

/* What is known of a map before it is asked. Texts are valid until the map is closed. */
typedef struct islebook_facts {
  size_t struct_size;            /* sizeof(islebook_facts), set by the caller */
  int32_t kind;                  /* ISLEBOOK_COMPRESSOR, ISLEBOOK_TURBINE */
  int32_t has_efficiency;        /* not 0: the map prints efficiencies */
  const char* title;             /* as the sheet prints it; may be "" */
  const char* name;              /* of the file or on the shelf */
  const char* revision;          /* 64 hex digits; "" for a file */
  const char* flow_unit;         /* "kg/s", ... */
  const char* speed_unit;        /* of the lines' labels; "" where they are no speeds */
  const char* vane_opening_unit; /* a turbine's, where its lines are labeled so; else "" */
  const char* surge_margin;      /* name of the definition in use; "" for a turbine */
  double lowest_line;            /* labels of the lowest and highest line; NaN where lines have none */
  double highest_line;
  double reference_temperature_K; /* what flows and speeds are corrected to; NaN where the map does not say */
  double reference_pressure_Pa;
  uint64_t doubts; /* how many doubts about the map as a whole: a person should look at them before relying on it */
} islebook_facts;
ISLEBOOK_API int32_t islebook_facts_of(const islebook_map* map, islebook_facts* facts);
/* One doubt in words, valid until the map is closed; NULL beyond the last. */
ISLEBOOK_API const char* islebook_doubt(const islebook_map* map, size_t index);

/* --- values --- */

enum {
  ISLEBOOK_FLOW = 1 << 0,
  ISLEBOOK_PRESSURE_RATIO = 1 << 1,
  ISLEBOOK_SPEED = 1 << 2,
  ISLEBOOK_EXPANSION_RATIO = 1 << 3,
  ISLEBOOK_VANE_OPENING = 1 << 4,
  ISLEBOOK_EFFICIENCY = 1 << 5,
  ISLEBOOK_SURGE_MARGIN = 1 << 6,
  ISLEBOOK_CHOKE_MARGIN = 1 << 7,
  ISLEBOOK_SIGMA_FLOW = 1 << 8,
  ISLEBOOK_SIGMA_PRESSURE_RATIO = 1 << 9,
  ISLEBOOK_SIGMA_SPEED = 1 << 10,
  ISLEBOOK_SIGMA_EFFICIENCY = 1 << 11,
  ISLEBOOK_SIGMA_SURGE_MARGIN = 1 << 12,
  ISLEBOOK_MAP_WIDTH = 1 << 13
};

/* "0.42 kg/s", "52,000 rpm" or a bare number, to the map's printed unit. `value` is one of the first five bits above. */
ISLEBOOK_API int32_t islebook_read_value(const islebook_map* map, uint32_t value, const char* text, double* number, islebook_error** error);
/* What a number in `unit` is multiplied by to be in the map's printed unit. */
ISLEBOOK_API int32_t islebook_unit_factor(const islebook_map* map, uint32_t value, const char* unit, double* factor, islebook_error** error);

/* --- questions and answers --- */

/* Two of flow, pressure ratio and speed (a turbine: of expansion ratio, flow and speed or vane opening; expansion ratio or flow alone where it has a single line). */
typedef struct islebook_question {
  uint32_t given; /* bits of the values that are given */
  uint32_t reserved;
  double flow;
  double pressure_ratio;
  double speed;
  double expansion_ratio;
  double vane_opening;
} islebook_question;

enum {
  ISLEBOOK_NOT_ASKED = -1, /* the question made no sense; islebook_reason says why */
  ISLEBOOK_ON_MAP = 0,
  ISLEBOOK_LEFT_OF_SURGE = 1,
  ISLEBOOK_PAST_CHOKE = 2,
  ISLEBOOK_OVER_SPEED = 3,
  ISLEBOOK_UNDER_SPEED = 4,
  ISLEBOOK_OUTSIDE_LINES = 5, /* of a turbine */
  ISLEBOOK_REGION_UNKNOWN = 6 /* no surge line, and the speed lines next to the point are flagged for review */
};

/* Why a value is missing or marked; islebook_reason has the words. */
enum {
  ISLEBOOK_DOUBT_OFF_MAP = 1 << 0,
  ISLEBOOK_DOUBT_EFFICIENCY_EXTRAPOLATED = 1 << 1,
  ISLEBOOK_DOUBT_EFFICIENCY_UNKNOWN = 1 << 2,
  ISLEBOOK_DOUBT_NO_ISLANDS = 1 << 3,
  ISLEBOOK_DOUBT_SPEED_UNKNOWN = 1 << 4,
  ISLEBOOK_DOUBT_MARGIN_UNKNOWN = 1 << 5,
  ISLEBOOK_DOUBT_MARGIN_FROM_FLAT_LINE = 1 << 6,
  ISLEBOOK_DOUBT_SEVERAL_ANSWERS = 1 << 7,
  ISLEBOOK_DOUBT_BAD_QUESTION = 1 << 8,
  ISLEBOOK_DOUBT_BEYOND_LINE = 1 << 9,
  ISLEBOOK_DOUBT_SPEED_OUTSIDE_LINES = 1 << 10,
  ISLEBOOK_DOUBT_CHOKE_MARGIN_UNKNOWN = 1 << 11,
  ISLEBOOK_DOUBT_SPEED_EXTRAPOLATED = 1 << 12,
  ISLEBOOK_DOUBT_SPEED_FROM_FLAGGED = 1 << 13,      /* a speed line next to the point is flagged for review */
  ISLEBOOK_DOUBT_EFFICIENCY_FROM_FLAGGED = 1 << 14, /* islands next to the point are flagged for review */
  ISLEBOOK_DOUBT_REGION_UNKNOWN = 1 << 15,          /* and so is the surge margin */
  ISLEBOOK_DOUBT_IN_WORDS = 1 << 30                 /* a turbine's: only islebook_reason says more */
};

typedef struct islebook_answer {
  double flow;
  double pressure_ratio;
  double speed;
  double expansion_ratio;
  double vane_opening;
  double efficiency;
  double surge_margin;
  double choke_margin; /* W_choke / W - 1 at constant corrected speed */
  double sigma_flow;   /* standard uncertainties */
  double sigma_pressure_ratio;
  double sigma_speed;
  double sigma_efficiency;
  double sigma_surge_margin;
  uint32_t known;        /* bits of the values that are known */
  uint32_t doubts;       /* 0: nothing to say */
  int32_t region;        /* ISLEBOOK_ON_MAP, ... */
  uint32_t alternatives; /* how many further answers there are; this is the likelier */
  double map_width;      /* 1 - W_surge / W_choke at constant corrected speed */
} islebook_answer;

/* Answers[i] to questions[i]. question_size and answer_size are sizeof(islebook_question) and sizeof(islebook_answer): the arrays' strides. A question that makes no sense
   (a NaN, a negative flow, one value only) is answered with ISLEBOOK_NOT_ASKED and nothing known; the rest is answered, and the function returns ISLEBOOK_OK. */
ISLEBOOK_API int32_t islebook_ask(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_answer* answers,
                                  size_t answer_size, size_t count, islebook_error** error);

/* How a value of an answer changes with the two that were asked with, in the order flow, pressure or expansion ratio, speed or vane opening: by flow and pressure ratio, by
   flow and speed, or by pressure ratio and speed. In the units of the values; NaN where not known. A turbine map with a single line is asked with one value, and by_second
   is 0. */
typedef struct islebook_slope {
  double by_first;
  double by_second;
} islebook_slope;
typedef struct islebook_slopes {
  uint32_t known; /* bits of the values whose slope is known; what was asked with has none */
  uint32_t reserved;
  islebook_slope flow;
  islebook_slope pressure_ratio;
  islebook_slope speed;
  islebook_slope efficiency;
  islebook_slope surge_margin;
  islebook_slope choke_margin;
  islebook_slope map_width;
  islebook_slope expansion_ratio; /* a turbine's */
  islebook_slope vane_opening;
} islebook_slopes;

/* First derivatives of the answers to the questions; sizes as for islebook_ask. */
ISLEBOOK_API int32_t islebook_slopes_of(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_slopes* slopes,
                                        size_t slopes_size, size_t count, islebook_error** error);

/* Where one way from a point meets the edge of the map. */
typedef struct islebook_edge {
  double flow; /* there */
  double pressure_ratio;
  double speed;
  double change;  /* of what changes on this way, with its sign: flow, pressure ratio or speed */
  double share;   /* straight distance to there, in parts of the map's extent in flow and in pressure ratio */
  int32_t beyond; /* what lies on the other side: ISLEBOOK_LEFT_OF_SURGE, ... */
  int32_t known;  /* 0: no edge that way; the numbers are then NaN */
} islebook_edge;
typedef struct islebook_edges {
  int32_t known; /* 0: the point is not on the map, and nothing else here is known */
  int32_t reserved;
  islebook_edge less_flow; /* at constant pressure ratio; change of flow */
  islebook_edge more_flow;
  islebook_edge less_pressure_ratio; /* at constant flow; change of pressure ratio */
  islebook_edge more_pressure_ratio;
  islebook_edge toward_surge; /* along the speed line; change of flow */
  islebook_edge toward_choke;
  islebook_edge slower; /* at the same place between surge and choke; change of speed */
  islebook_edge faster;
  islebook_edge nearest; /* of the whole edge; change is the share */
} islebook_edges;

/* How far the answers' points are from the edges of the map, of a compressor; sizes as for islebook_ask. ISLEBOOK_WRONG_KIND: a turbine. */
ISLEBOOK_API int32_t islebook_edges_of(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_edges* edges,
                                       size_t edges_size, size_t count, islebook_error** error);

/* The further answers to one question, at most `capacity` of them, and how many there are. `answers` may be NULL if capacity is 0. */
ISLEBOOK_API int32_t islebook_alternatives(const islebook_map* map, const islebook_question* question, size_t question_size, islebook_answer* answers,
                                           size_t answer_size, size_t capacity, size_t* count, islebook_error** error);

/* Why the answer to this question is marked or lacks values, in words; "" if there is nothing to say. Written to `buffer` (cut to `size` bytes, always closed by a zero);
   *needed, where not NULL, is the whole text's length without the zero. */
ISLEBOOK_API int32_t islebook_reason(const islebook_map* map, const islebook_question* question, size_t question_size, char* buffer, size_t size,
                                     size_t* needed, islebook_error** error);

#ifdef __cplusplus
}
#endif

#include "islebook_bench.h"
