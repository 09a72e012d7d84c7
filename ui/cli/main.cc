#include <cstdio>
#include <exception>

#include "ui/cli/command_line.h"
#include "ui/cli/common.h"
#include "ui/cli/workshop.h"

int main(int argc, char** argv) {
  try {
    islebook::PrepareProgram(argv);
    return islebook::RunCommandLine(argc, argv);
  } catch (const std::exception& failure) {  // a library failed beyond what its caller foresaw (out of memory)
    std::fprintf(stderr, "islebook: the work stopped unexpectedly: %s.\n", failure.what());
    return islebook::kExitNotDone;
  }
}
