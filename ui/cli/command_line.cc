#include "ui/cli/command_line.h"

#include <csignal>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <unistd.h>
#include <CLI/CLI.hpp>

#include "ui/cli/ask_command.h"
#include "ui/cli/bench_command.h"
#include "ui/cli/chart_command.h"
#include "ui/cli/common.h"
#include "ui/cli/digitize_command.h"
#include "ui/cli/export_command.h"
#include "ui/cli/serve_command.h"
#include "ui/cli/shelf_command.h"

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
  command->add_option("--kind", arguments->kind, "What the sheets show, where you know better")
      ->check(CLI::IsMember({"compressor", "turbine"}))
      ->type_name("KIND");
  command->add_option("--recipe", arguments->recipe, "Settings and corrections to apply, one JSON file")->type_name("FILE");
  command->add_option("--jobs", arguments->jobs, "Sheets worked on at a time")->check(CLI::Range(1, 64))->type_name("N");
  command->add_option("--page", arguments->page, "Page of a PDF or a TIFF, from 1")->check(CLI::Range(1, 100000))->type_name("N");
  command->add_flag("--proof", arguments->proof, "Also write STEM.proof.png: the curves drawn over the sheet");
  command->add_option("--stages", arguments->stages, "Also write one picture of every stage into this folder")->type_name("DIR");
  OnChosen(command, chosen, arguments, RunDigitize);
}

void AddAsk(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<AskArguments>();
  CLI::App* command = AddCommand(app, "ask", "Ask a map: speed, efficiency and margins at operating points", chosen);
  command->add_option("MAP", arguments->map, "A map file, or a name on the shelf, NAME or NAME@REVISION")->required()->type_name("");
  command
      ->add_option("--points", arguments->points,
                   "Points as CSV, of any number; columns flow, pressure_ratio, speed, expansion_ratio, vane_opening, units as \"flow [kg/s]\"; -: "
                   "standard input")
      ->type_name("FILE");
  command->add_flag("--csv", arguments->csv, "The answers as CSV on standard output");
  command->add_flag("--slopes", arguments->slopes, "Also how the answers change with what was asked with (first derivatives)");
  command->add_flag("--edges", arguments->edges, "Also how far the edges of a compressor's map are, each way");
  command->add_option("--flow", arguments->flow, "In printed units, or with its own: \"0.42 kg/s\"")->type_name("F");
  command->add_option("--pressure-ratio", arguments->pressure_ratio, "Of a compressor")->type_name("P");
  command->add_option("--speed", arguments->speed, "In the unit of the map's labels, or with its own: \"92 krpm\"")->type_name("N");
  command->add_option("--expansion-ratio", arguments->expansion_ratio, "Of a turbine")->type_name("E");
  command->add_option("--vane-opening", arguments->vane_opening, "Of a turbine with movable vanes, as its lines are labeled")->type_name("V");
  command
      ->add_option("--surge-margin", arguments->surge_margin,
                   "Definition: constant-speed (default), constant-flow, flow, flow-over-surge-flow, constant-pressure-ratio, pressure-ratio")
      ->type_name("NAME");
  command
      ->add_option("--reference", arguments->reference,
                   "What your flows and speeds are corrected to, if not to the map's conditions: \"298 K, 100 kPa\"")
      ->type_name("CONDITIONS");
  command->add_option("--svg", arguments->charts.svg, "Also draw the map with the points on it")->type_name("FILE");
  command->add_option("--png", arguments->charts.png, "The same as a picture")->type_name("FILE");
  command->add_option("--pdf", arguments->charts.pdf, "The same as a PDF page")->type_name("FILE");
  OnChosen(command, chosen, arguments, RunAsk);
}

void AddBench(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<BenchArguments>();
  CLI::App* command = AddCommand(app, "bench", "Check an engine's operating points against the maps of its compressors", chosen);
  command->add_option("CASE", arguments->case_file, "A case file (TOML; mapstore/bench/CASE_FILE.md)")->required()->type_name("");
  command
      ->add_option("--surge-margin", arguments->surge_margin,
                   "Definition: constant-speed (default), constant-flow, flow, flow-over-surge-flow, constant-pressure-ratio, pressure-ratio")
      ->type_name("NAME");
  command->add_option("--svg", arguments->charts.svg, "Also draw each map with the points on it (a second stage: FILE-2)")->type_name("FILE");
  command->add_option("--png", arguments->charts.png, "The same as a picture")->type_name("FILE");
  command->add_option("--pdf", arguments->charts.pdf, "The same as a PDF page")->type_name("FILE");
  OnChosen(command, chosen, arguments, RunBenchCommand);
}

void AddShelf(CLI::App& app, Chosen& chosen) {
  CLI::App* shelf = app.add_subcommand("shelf", "The library: maps with their sheets and their history");
  shelf->require_subcommand(1);
  shelf->footer("islebook shelf COMMAND --help says more.");

  auto add = std::make_shared<ShelfAddArguments>();
  CLI::App* command = AddCommand(*shelf, "add", "Put maps on the shelf, each as a new revision of its name", chosen);
  command->add_option("FILE", add->files, "Map documents (*.map.json)")->required()->type_name("");
  command->add_option("--name", add->name, "The map's name (else the file's, without .map.json)")->type_name("NAME");
  command->add_option("--sheet", add->sheet, "The picture that the map was made from, to be kept too")->type_name("PICTURE");
  command->add_option("--message", add->message, "What this revision is about")->type_name("TEXT");
  command->add_option("--author", add->author, "Who made it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, add, RunShelfAdd);

  OnChosen(AddCommand(*shelf, "list", "Every map on the shelf", chosen), chosen, std::make_shared<ShelfListArguments>(), RunShelfList);

  auto show = std::make_shared<ShelfShowArguments>();
  command = AddCommand(*shelf, "show", "One map, or an earlier revision of it", chosen);
  command->add_option("NAME", show->spec, "NAME, or NAME@REVISION with the first digits of a revision")->required()->type_name("");
  command->add_option("--document", show->document, "Also write the map document to this file")->type_name("FILE");
  command->add_option("--sheet", show->sheet, "Also write the sheet, byte for byte, to this file")->type_name("FILE");
  OnChosen(command, chosen, show, RunShelfShow);

  auto log = std::make_shared<ShelfLogArguments>();
  command = AddCommand(*shelf, "log", "A map's revisions, latest first", chosen);
  command->add_option("NAME", log->name, "The map's name")->required()->type_name("");
  OnChosen(command, chosen, log, RunShelfLog);

  OnChosen(AddCommand(*shelf, "verify", "Read the whole shelf and check everything against its hash", chosen), chosen,
           std::make_shared<ShelfVerifyArguments>(), RunShelfVerify);
}

void AddChart(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<ChartArguments>();
  CLI::App* command = AddCommand(app, "chart", "Draw a map as a clean chart, with points on it", chosen);
  command->add_option("MAP", arguments->map, "A map document or a name on the shelf, NAME or NAME@REVISION")->required()->type_name("");
  command->add_option("--svg", arguments->charts.svg, "Drawing with text as text")->type_name("FILE");
  command->add_option("--png", arguments->charts.png, "Picture, 1600 pixels wide")->type_name("FILE");
  command->add_option("--pdf", arguments->charts.pdf, "One page of A4")->type_name("FILE");
  command->add_option("--points", arguments->points, "CSV with columns flow and pressure_ratio (a turbine: expansion_ratio and flow)")
      ->type_name("FILE");
  command->add_flag("--night", arguments->night, "Light lines on dark");
  OnChosen(command, chosen, arguments, RunChart);
}

void AddExport(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<ExportArguments>();
  CLI::App* command = AddCommand(app, "export", "Write a map as tables or as a functional mock-up, for other programs", chosen);
  command->add_option("MAP", arguments->map, "A map file, or a name on the shelf, NAME or NAME@REVISION")->required()->type_name("");
  command->add_option("--csv", arguments->csv, "CSV, one line a cell of the grid of speed and beta")->type_name("FILE");
  command->add_option("--table", arguments->table, "Text file with matrices over speed and beta, as Modelica's table blocks read it")
      ->type_name("FILE");
  command->add_option("--fmu", arguments->fmu, "Functional mock-up (FMI 2.0) that answers questions, for Linux on x86-64")->type_name("FILE");
  command->add_option("--rows-between-lines", arguments->rows_between_lines, "Rows of the tables between two labeled lines: 3 unless given")
      ->type_name("N");
  command->add_option("--betas", arguments->betas, "Columns of the tables: 21 unless given")->type_name("N");
  command
      ->add_option("--surge-margin", arguments->surge_margin,
                   "Definition: constant-speed (default), constant-flow, flow, flow-over-surge-flow, constant-pressure-ratio, pressure-ratio")
      ->type_name("NAME");
  OnChosen(command, chosen, arguments, RunExport);
}

void AddServe(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<ServeArguments>();
  CLI::App* command = AddCommand(app, "serve", "Answer questions over HTTP, to this machine only unless told otherwise", chosen);
  command->add_option("MAP", arguments->maps, "Map documents to serve beside the shelf's maps")->type_name("");
  command->add_option("--port", arguments->port, "8352 unless given; 0: any that is free")->check(CLI::Range(0, 65535))->type_name("N");
  command->add_option("--listen", arguments->address, "Another address than 127.0.0.1; others may then reach in, and a token is needed")
      ->type_name("ADDRESS");
  command->add_option("--token-file", arguments->token_file, "A file with the token that requests must carry (else $ISLEBOOK_TOKEN)")
      ->type_name("FILE");
  OnChosen(command, chosen, arguments, RunServe);
}

void BuildCommands(CLI::App& app, Chosen& chosen) {
  AddDigitize(app, chosen);
  AddAsk(app, chosen);
  AddBench(app, chosen);
  AddChart(app, chosen);
  AddExport(app, chosen);
  AddServe(app, chosen);
  AddShelf(app, chosen);
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
  CLI::App app("Turns pictures of compressor and turbine maps into numbers that can be trusted, keeps them, and answers questions about them.",
               "islebook");
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
