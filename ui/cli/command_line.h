#pragma once
// The command line: parses it into plain argument structs and runs the command. command_line.cc is the only file that knows CLI11.
//
// To add a command: `<command>_command.{h,cc}` with `struct XArguments` and `int RunX(const XArguments&, const CommonArguments&)`,
// a function AddX in command_line.cc, and its line in BuildCommands there.

namespace islebook {

// Returns the exit code (common.h).
int RunCommandLine(int argc, const char* const* argv);

}  // namespace islebook
