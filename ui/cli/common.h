#pragma once
// What every command shares: the global options, how it speaks (one JSON document on standard output, people's text on standard error)
// and how it ends (exit codes).

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// How a command ends. Fixed: scripts rely on them.
enum ExitCode : int {
  kExitDone = 0,     // done, nothing to review
  kExitNotDone = 1,  // something asked for could not be done; the rest was
  kExitWrongCommandLine = 2,
  kExitReview = 4,         // done, and something needs a person's eye
  kExitInterrupted = 130,  // nothing half-written is left
};

struct CommonArguments {
  std::string command;               // as typed, for messages: "digitize", "shelf add"
  bool json = false;                 // one JSON document on standard output, nothing else there
  bool quiet = false;                // no messages and no progress; errors still speak
  std::optional<std::string> shelf;  // --shelf
};

// --shelf, else DefaultShelfFile(). A file's path or a server's address (open_shelf.h), which may hold a password: messages
// and results name it by ShelfForPeople().
std::string ShelfPlace(const CommonArguments& common);

// A command's result, to standard output: a JSON document (a newline is added) or text for a person.
// Returns kExitDone, or kExitNotDone with a sentence on standard error if the output cannot be written (disk full, closed pipe).
int PrintResult(const CommonArguments& common, std::string_view text);

// The same for a part of a long result: nothing is added.
int PrintPart(const CommonArguments& common, std::string_view text);

// A message for a person, to standard error; silent with --quiet.
void Say(const CommonArguments& common, std::string_view message);

// A file's name or a message as it can stand in one line of a report: line breaks and other controls become "\\n", "\\t", "\\x1b".
std::string OnOneLine(std::string_view text);

// An error, to standard error, even with --quiet: "islebook digitize: sheet.png: it is empty".
void Complain(const CommonArguments& common, const Error& error);

// The command fails as a whole: complains, with --json prints {"error": {"code", "message", "place"}}, and returns kExitNotDone
// (kExitInterrupted for kCancelled). `place_in_words`: for the complaint, where people say the place otherwise than programs do.
int FailCommand(const CommonArguments& common, const Error& error, const std::string& place_in_words = {});

// The command line is wrong, or an argument is well formed but makes no sense ("--flow 3 parsecs"): likewise, and returns kExitWrongCommandLine.
int RefuseArguments(const CommonArguments& common, const Error& error);

// From now on the first interrupt (SIGINT, SIGTERM, SIGHUP) only sets a flag, so that a command can stop cleanly; a second one ends the program.
void CatchInterrupts();
bool Interrupted();

// One line of progress, redrawn in place; draws only if standard error is a terminal and --quiet is not given.
class ProgressLine {
 public:
  explicit ProgressLine(const CommonArguments& common);
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;
  void Show(std::string_view what, double fraction);  // fraction 0..1
  void Clear();

 private:
  bool draws_ = false;
  bool dirty_ = false;
};

}  // namespace islebook
