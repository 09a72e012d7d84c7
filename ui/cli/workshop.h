#pragma once
// The program `islebook` starts in milliseconds because it carries neither the digitizer's nor the drawing libraries, nor what speaks to a database server. Commands that need them go on in a second program,
// the workshop, which stands beside the libraries and is the same command line with everything in it. The process, its output and its exit code stay the same.

#include "ui/cli/common.h"

namespace islebook {

// Whether this program has everything in it.
bool HaveWorkshop();

// Once, before any command: the arguments as the program was started with them. The workshop can reach shelves on a server from then on.
void PrepareProgram(char** arguments);

// Replaces this program by the workshop with the same arguments. Returns only if that fails: kExitNotDone, having said why.
int ContinueInWorkshop(const CommonArguments& common);

}  // namespace islebook
