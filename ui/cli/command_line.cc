#include "ui/cli/command_line.h"

#include <csignal>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <unistd.h>

#include "ui/cli/common.h"
#include "ui/cli/digitize_command.h"

namespace islebook {
namespace {

// What the parser fills: the shared options and the command that was chosen.
struct Chosen {
  CommonArguments common;
  std::function<int()> run;
};

// A command or a sub-command with the options that all of them take.
CLI::App* AddCommand(CLI::App& parent, const std::string& name, const std::string& description, Chosen& chosen) {
  CLI::App* command = parent.add_subcommand(name, description);
  command->footer("");
  command->add_flag("--json", chosen.common.json, "One JSON document on standard output, nothing else there");
  command->add_flag("--quiet", chosen.common.quiet, "No messages and no progress; errors still speak");
  command->add_option("--shelf", chosen.common.shelf, "The library's file (else $ISLEBOOK_SHELF, else the user's data folder)")->type_name("FILE");
  return command;
}

// `run` is called after parsing, with the arguments as parsed.
template <typename Arguments>
void OnChosen(CLI::App* command, Chosen& chosen, std::shared_ptr<Arguments> arguments, int (*run)(const Arguments&, const CommonArguments&)) {
  command->callback([command, &chosen, arguments, run] {
    std::string name = command->get_name();
    for (const CLI::App* above = command->get_parent(); above != nullptr && above->get_parent() != nullptr; above = above->get_parent())
      name = above->get_name() + " " + name;
    chosen.common.command = name;
    chosen.run = [&chosen, arguments, run] { return run(*arguments, chosen.common); };
  });
}

void AddDigitize(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<DigitizeArguments>();
  CLI::App* command = AddCommand(app, "digitize", "Turn pictures of maps into map documents", chosen);
  command->add_option("SHEET", arguments->sheets, "Pictures (JPEG, PNG, TIFF, WebP, BMP, PNM), PDF or SVG pages")->required()->type_name("");
  command->add_option("--out", arguments->out, "Folder for the map documents (made if need be)")->required()->type_name("DIR");
  command->add_option("--kind", arguments->kind, "What the sheets show, where you know better")->check(CLI::IsMember({"compressor", "turbine"}))->type_name("KIND");
  command->add_option("--recipe", arguments->recipe, "Settings and corrections to apply, one JSON file")->type_name("FILE");
  command->add_option("--jobs", arguments->jobs, "Sheets worked on at a time")->check(CLI::Range(1, 256))->type_name("N");
  command->add_option("--page", arguments->page, "Page of a PDF or a TIFF, from 1")->check(CLI::Range(1, 100000))->type_name("N");
  command->add_flag("--proof", arguments->proof, "Also write STEM.proof.png: the curves drawn over the sheet");
  command->add_option("--stages", arguments->stages, "Also write one picture of every stage into this folder")->type_name("DIR");
  OnChosen(command, chosen, arguments, RunDigitize);
}

void BuildCommands(CLI::App& app, Chosen& chosen) {
  AddDigitize(app, chosen);
}

// The innermost command that the words reached, for messages about them.
const CLI::App* Innermost(const CLI::App& app) {
  const CLI::App* reached = &app;
  for (auto parsed = reached->get_subcommands(); !parsed.empty(); parsed = reached->get_subcommands()) reached = parsed.front();
  return reached;
}

std::string FullName(const CLI::App* command) {
  std::string name = command->get_name();
  for (const CLI::App* above = command->get_parent(); above != nullptr; above = above->get_parent()) name = above->get_name() + " " + name;
  return name;
}

// With no command at all, the desktop program that stands beside this one.
int StartDesktop() {
  std::error_code error;
  const std::filesystem::path own = std::filesystem::read_symlink("/proc/self/exe", error);
  const std::filesystem::path desktop = own.parent_path() / "islebook-desktop";
  if (!error && std::filesystem::exists(desktop, error)) execl(desktop.c_str(), desktop.c_str(), static_cast<char*>(nullptr));
  Complain({}, {ErrorCode::kNotFound, "no command was given and the desktop program is not installed beside this one; see islebook --help.", ""});
  return kExitWrongCommandLine;
}

}  // namespace

int RunCommandLine(int argc, const char* const* argv) {
  // A full disk or a closed pipe shall come back as an error to speak about, not end the program.
  std::signal(SIGXFSZ, SIG_IGN);
  std::signal(SIGPIPE, SIG_IGN);
  Chosen chosen;
  CLI::App app("Turns pictures of compressor and turbine maps into numbers that can be trusted, keeps them, and answers questions about them.", "islebook");
  app.set_version_flag("--version", std::string(ISLEBOOK_VERSION));
  app.add_flag("--json", chosen.common.json, "One JSON document on standard output, nothing else there");
  app.add_flag("--quiet", chosen.common.quiet, "No messages and no progress; errors still speak");
  app.add_option("--shelf", chosen.common.shelf, "The library's file (else $ISLEBOOK_SHELF, else the user's data folder)")->type_name("FILE");
  app.require_subcommand(0, 1);
  app.footer("islebook COMMAND --help says more.");
  BuildCommands(app, chosen);
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& asked) {  // --help, --version
    const int code = app.exit(asked);
    std::fflush(stdout);
    return code;
  } catch (const CLI::ParseError& wrong) {
    std::string reason = wrong.what();
    for (char& c : reason)
      if (c == '\n') c = ' ';
    while (!reason.empty() && (reason.back() == '.' || reason.back() == ' ')) reason.pop_back();
    const CLI::App* reached = Innermost(app);
    chosen.common.command.clear();
    if (reached != &app) chosen.common.command = FullName(reached).substr(app.get_name().size() + 1);
    return RefuseArguments(chosen.common, {ErrorCode::kInvalidArgument, reason + "; see " + FullName(reached) + " --help.", ""});
  }
  if (!chosen.run) return StartDesktop();
  return chosen.run();
}

}  // namespace islebook
