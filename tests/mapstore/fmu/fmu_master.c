/* A small master: runs the library of an unpacked mock-up through model exchange or co-simulation.
 * Usage: fmu_master LIBRARY RESOURCES_URI GUID me|cs < COMMANDS
 * Commands, one a line: "real REF VALUE", "integer REF VALUE", "string REF VALUE" set; "get REF..." prints real outputs, "state" prints inside, region, alternatives, reason;
 * "slopes UNKNOWN KNOWN UNKNOWN KNOWN..." prints directional derivatives of a unit change of each;
 * "reset". Prints "error" where a call is refused. */
#include <dlfcn.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "mapstore/fmu/fmi2.h"

static void logger(fmi2ComponentEnvironment environment, fmi2String instance, fmi2Status status, fmi2String category, fmi2String message, ...) {
  va_list arguments;
  (void)environment;
  (void)status;
  va_start(arguments, message);
  fprintf(stderr, "%s %s: ", instance, category);
  vfprintf(stderr, message, arguments);
  fputc('\n', stderr);
  va_end(arguments);
}

static void* find(void* library, const char* name) {
  void* found = dlsym(library, name);
  if (found == NULL) {
    fprintf(stderr, "the library has no %s\n", name);
    exit(1);
  }
  return found;
}
#define FIND(result, name, arguments) result(*name) arguments = (result(*) arguments)find(library, #name)

int main(int argc, char** argv) {
  if (argc != 5) return 2;
  const int exchange = strcmp(argv[4], "me") == 0;
  void* library = dlopen(argv[1], RTLD_NOW | RTLD_LOCAL);
  if (library == NULL) {
    fprintf(stderr, "%s\n", dlerror());
    return 1;
  }
  /* Every function that the standard asks of either kind must be there. */
  static const char* const names[] = {"fmi2GetTypesPlatform",
                                      "fmi2GetVersion",
                                      "fmi2SetDebugLogging",
                                      "fmi2Instantiate",
                                      "fmi2FreeInstance",
                                      "fmi2SetupExperiment",
                                      "fmi2EnterInitializationMode",
                                      "fmi2ExitInitializationMode",
                                      "fmi2Terminate",
                                      "fmi2Reset",
                                      "fmi2GetReal",
                                      "fmi2GetInteger",
                                      "fmi2GetBoolean",
                                      "fmi2GetString",
                                      "fmi2SetReal",
                                      "fmi2SetInteger",
                                      "fmi2SetBoolean",
                                      "fmi2SetString",
                                      "fmi2GetFMUstate",
                                      "fmi2SetFMUstate",
                                      "fmi2FreeFMUstate",
                                      "fmi2SerializedFMUstateSize",
                                      "fmi2SerializeFMUstate",
                                      "fmi2DeSerializeFMUstate",
                                      "fmi2GetDirectionalDerivative",
                                      "fmi2EnterEventMode",
                                      "fmi2NewDiscreteStates",
                                      "fmi2EnterContinuousTimeMode",
                                      "fmi2CompletedIntegratorStep",
                                      "fmi2SetTime",
                                      "fmi2SetContinuousStates",
                                      "fmi2GetDerivatives",
                                      "fmi2GetEventIndicators",
                                      "fmi2GetContinuousStates",
                                      "fmi2GetNominalsOfContinuousStates",
                                      "fmi2SetRealInputDerivatives",
                                      "fmi2GetRealOutputDerivatives",
                                      "fmi2DoStep",
                                      "fmi2CancelStep",
                                      "fmi2GetStatus",
                                      "fmi2GetRealStatus",
                                      "fmi2GetIntegerStatus",
                                      "fmi2GetBooleanStatus",
                                      "fmi2GetStringStatus"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; ++i) find(library, names[i]);
  FIND(fmi2String, fmi2GetTypesPlatform, (void));
  FIND(fmi2String, fmi2GetVersion, (void));
  FIND(fmi2Component, fmi2Instantiate, (fmi2String, fmi2Type, fmi2String, fmi2String, const fmi2CallbackFunctions*, fmi2Boolean, fmi2Boolean));
  FIND(void, fmi2FreeInstance, (fmi2Component));
  FIND(fmi2Status, fmi2SetupExperiment, (fmi2Component, fmi2Boolean, fmi2Real, fmi2Real, fmi2Boolean, fmi2Real));
  FIND(fmi2Status, fmi2EnterInitializationMode, (fmi2Component));
  FIND(fmi2Status, fmi2ExitInitializationMode, (fmi2Component));
  FIND(fmi2Status, fmi2Terminate, (fmi2Component));
  FIND(fmi2Status, fmi2Reset, (fmi2Component));
  FIND(fmi2Status, fmi2GetReal, (fmi2Component, const fmi2ValueReference*, size_t, fmi2Real*));
  FIND(fmi2Status, fmi2GetInteger, (fmi2Component, const fmi2ValueReference*, size_t, fmi2Integer*));
  FIND(fmi2Status, fmi2GetBoolean, (fmi2Component, const fmi2ValueReference*, size_t, fmi2Boolean*));
  FIND(fmi2Status, fmi2GetString, (fmi2Component, const fmi2ValueReference*, size_t, fmi2String*));
  FIND(fmi2Status, fmi2SetReal, (fmi2Component, const fmi2ValueReference*, size_t, const fmi2Real*));
  FIND(fmi2Status, fmi2SetInteger, (fmi2Component, const fmi2ValueReference*, size_t, const fmi2Integer*));
  FIND(fmi2Status, fmi2SetString, (fmi2Component, const fmi2ValueReference*, size_t, const fmi2String*));
  FIND(fmi2Status, fmi2NewDiscreteStates, (fmi2Component, fmi2EventInfo*));
  FIND(fmi2Status, fmi2EnterContinuousTimeMode, (fmi2Component));
  FIND(fmi2Status, fmi2SetTime, (fmi2Component, fmi2Real));
  FIND(fmi2Status, fmi2GetDerivatives, (fmi2Component, fmi2Real*, size_t));
  FIND(fmi2Status, fmi2GetDirectionalDerivative,
       (fmi2Component, const fmi2ValueReference*, size_t, const fmi2ValueReference*, size_t, const fmi2Real*, fmi2Real*));
  FIND(fmi2Status, fmi2DoStep, (fmi2Component, fmi2Real, fmi2Real, fmi2Boolean));
  if (strcmp(fmi2GetVersion(), "2.0") != 0 || strcmp(fmi2GetTypesPlatform(), "default") != 0) return 1;

  const fmi2CallbackFunctions callbacks = {logger, calloc, free, NULL, NULL};
  fmi2Component map = fmi2Instantiate("map", exchange ? fmi2ModelExchange : fmi2CoSimulation, argv[3], argv[2], &callbacks, fmi2False, fmi2True);
  if (map == NULL) {
    puts("not instantiated");
    return 3;
  }
  if (fmi2SetupExperiment(map, fmi2False, 0, 0, fmi2False, 0) != fmi2OK || fmi2EnterInitializationMode(map) != fmi2OK ||
      fmi2ExitInitializationMode(map) != fmi2OK)
    return 1;
  if (exchange) {
    fmi2EventInfo info;
    if (fmi2NewDiscreteStates(map, &info) != fmi2OK || info.newDiscreteStatesNeeded || info.terminateSimulation ||
        fmi2EnterContinuousTimeMode(map) != fmi2OK)
      return 1;
  }
  double time = 0;
  char line[2000];
  while (fgets(line, sizeof line, stdin) != NULL) {
    line[strcspn(line, "\n")] = '\0';
    char* word = strtok(line, " ");
    if (word == NULL) continue;
    if (strcmp(word, "get") == 0) {
      time += 0.1;
      if (exchange ? fmi2SetTime(map, time) != fmi2OK || fmi2GetDerivatives(map, NULL, 0) != fmi2OK : fmi2DoStep(map, time, 0.1, fmi2True) != fmi2OK)
        return 1;
      for (word = strtok(NULL, " "); word != NULL; word = strtok(NULL, " ")) {
        const fmi2ValueReference reference = (fmi2ValueReference)strtoul(word, NULL, 10);
        fmi2Real value = 0;
        if (fmi2GetReal(map, &reference, 1, &value) == fmi2OK)
          printf("%.17g ", value);
        else
          printf("error ");
      }
      putchar('\n');
    } else if (strcmp(word, "slopes") == 0) {
      while ((word = strtok(NULL, " ")) != NULL) {
        const char* other = strtok(NULL, " ");
        if (other == NULL) return 2;
        const fmi2ValueReference unknown = (fmi2ValueReference)strtoul(word, NULL, 10), known = (fmi2ValueReference)strtoul(other, NULL, 10);
        const fmi2Real change = 1;
        fmi2Real value = 0;
        if (fmi2GetDirectionalDerivative(map, &unknown, 1, &known, 1, &change, &value) == fmi2OK)
          printf("%.17g ", value);
        else
          printf("error ");
      }
      putchar('\n');
    } else if (strcmp(word, "state") == 0) {
      const fmi2ValueReference region[2] = {100, 101}, inside = 100, reason = 100;
      fmi2Integer numbers[2];
      fmi2Boolean is_inside;
      fmi2String words;
      if (fmi2GetInteger(map, region, 2, numbers) != fmi2OK || fmi2GetBoolean(map, &inside, 1, &is_inside) != fmi2OK ||
          fmi2GetString(map, &reason, 1, &words) != fmi2OK)
        return 1;
      printf("%d %d %d %s\n", is_inside, numbers[0], numbers[1], words);
    } else if (strcmp(word, "reset") == 0) {
      puts(fmi2Reset(map) == fmi2OK ? "ok" : "error");
    } else {
      const char* number = strtok(NULL, " ");
      const char* text = strtok(NULL, "");
      if (number == NULL || text == NULL) return 2;
      const fmi2ValueReference reference = (fmi2ValueReference)strtoul(number, NULL, 10);
      fmi2Status status = fmi2Error;
      if (strcmp(word, "real") == 0) {
        const fmi2Real value = strtod(text, NULL);
        status = fmi2SetReal(map, &reference, 1, &value);
      } else if (strcmp(word, "integer") == 0) {
        const fmi2Integer value = atoi(text);
        status = fmi2SetInteger(map, &reference, 1, &value);
      } else if (strcmp(word, "string") == 0) {
        status = fmi2SetString(map, &reference, 1, &text);
      }
      if (status != fmi2OK) puts("error");
    }
  }
  if (fmi2Terminate(map) != fmi2OK) return 1;
  fmi2FreeInstance(map);
  if (fmi2GetReal(NULL, NULL, 0, NULL) != fmi2Error) return 1;
  dlclose(library);
  return 0;
}
