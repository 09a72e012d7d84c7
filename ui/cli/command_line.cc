#include "ui/cli/command_line.h"

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>
#include <unistd.h>
#include <CLI/CLI.hpp>

#include "ui/cli/ask_command.h"
#include "ui/cli/bench_command.h"
#include "ui/cli/chart_command.h"
#include "ui/cli/common.h"
#include "ui/cli/digitize_command.h"
#include "ui/cli/export_command.h"
#include "ui/cli/import_command.h"
#include "ui/cli/parcel_command.h"
#include "ui/cli/serve_command.h"
#include "ui/cli/shelf_care_command.h"
#include "ui/cli/shelf_command.h"
#include "ui/cli/shelf_facts_command.h"
#include "ui/cli/shelf_find_command.h"
#include "ui/cli/shelf_history_command.h"

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
  command
      ->add_option("--shelf", chosen.common.shelf,
                   "The library: a file, or postgresql://USER@HOST/DATABASE (else $ISLEBOOK_SHELF, else a file in the user's data folder)")
      ->type_name("SHELF");
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
  command
      ->add_option(
          "--recipe", arguments->recipe,
          "Settings and corrections to apply: one JSON file, or a map document that holds them; values of curves that no correction names follow "
          "from those given")
      ->type_name("FILE");
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
                   "Points as CSV, of any number; columns flow, pressure_ratio, speed, expansion_ratio, vane_opening, units as \"flow [kg/s]\"; "
                   "semicolons and decimal commas are understood; -: standard input")
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
  command
      ->add_option("--what-first", arguments->what_first,
                   "Instead: what to change first for a goal: power, low-speed, drive-ratio, altitude; every map on the shelf is tried")
      ->type_name("GOAL");
  command->add_option("--point", arguments->point, "For which point of the case, by name or number (default: the first)")->type_name("POINT");
  command
      ->add_option("--csv", arguments->csv, "Also write the results as a table: a row a point and wheel, SI, with what each column is in its header")
      ->type_name("FILE");
  command->add_option("--svg", arguments->charts.svg, "Also draw each map with the points on it (a second stage: FILE-2)")->type_name("FILE");
  command->add_option("--png", arguments->charts.png, "The same as a picture")->type_name("FILE");
  command->add_option("--pdf", arguments->charts.pdf, "The whole report as a PDF: points, maps, verdicts, what was taken, cautions")
      ->type_name("FILE");
  OnChosen(command, chosen, arguments, RunBenchCommand);
}

void AddShelfFacts(CLI::App& shelf, Chosen& chosen) {
  auto tag = std::make_shared<ShelfTagArguments>();
  CLI::App* command = AddCommand(shelf, "tag", "Put tags on a map or take them off; without any, show them", chosen);
  command->add_option("NAME", tag->name, "The map's name")->required()->type_name("");
  command->add_option("TAG", tag->tags, "Tags to put on")->type_name("");
  command->add_option("--off", tag->off, "A tag to take off (may be given several times)")->type_name("TAG")->expected(1)->take_all();
  command->add_option("--author", tag->author, "Who says so (else your name)")->type_name("NAME");
  OnChosen(command, chosen, tag, RunShelfTag);

  auto note = std::make_shared<ShelfNoteArguments>();
  command = AddCommand(shelf, "note", "Write a note on a map; without text, show its notes", chosen);
  command->add_option("NAME", note->spec, "NAME, or NAME@REVISION where the note is about that one")->required()->type_name("");
  command->add_option("TEXT", note->text, "The note")->type_name("");
  command->add_option("--author", note->author, "Who writes it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, note, RunShelfNote);

  auto wheel = std::make_shared<ShelfWheelArguments>();
  command = AddCommand(shelf, "wheel", "Say what is known about a map's wheel; without options, show it", chosen);
  command->add_option("NAME", wheel->name, "The map's name")->required()->type_name("");
  command->add_option("--maker", wheel->maker, "Its maker")->type_name("NAME");
  command->add_option("--model", wheel->model, "What its maker calls it")->type_name("NAME");
  command->add_option("--inducer", wheel->inducer, "Inducer diameter, in mm or with its own unit")->type_name("D");
  command->add_option("--exducer", wheel->exducer, "Exducer diameter, likewise")->type_name("D");
  command->add_option("--trim", wheel->trim, "Trim")->type_name("T");
  command->add_option("--area-ratio", wheel->turbine_area_ratio, "Area ratio of the turbine's housing, as its maker states it")->type_name("R");
  command->add_option("--speed-limit", wheel->speed_limit, "The maker's speed limit, in rpm or with its own unit: \"138 krpm\"")->type_name("N");
  command->add_flag("--forget", wheel->forget, "Begin with nothing known");
  command->add_option("--author", wheel->author, "Who says so (else your name)")->type_name("NAME");
  OnChosen(command, chosen, wheel, RunShelfWheel);

  auto remove = std::make_shared<ShelfRemoveArguments>();
  command = AddCommand(shelf, "remove", "Take maps off the lists; their history and sheets stay", chosen);
  command->add_option("NAME", remove->names, "Maps")->required()->type_name("");
  command->add_option("--message", remove->message, "Why")->type_name("TEXT");
  command->add_option("--author", remove->author, "Who says so (else your name)")->type_name("NAME");
  OnChosen(command, chosen, remove, RunShelfRemove);

  auto restore = std::make_shared<ShelfRestoreArguments>();
  command = AddCommand(shelf, "restore", "Put removed maps back on the lists", chosen);
  command->add_option("NAME", restore->names, "Maps")->required()->type_name("");
  command->add_option("--author", restore->author, "Who says so (else your name)")->type_name("NAME");
  OnChosen(command, chosen, restore, RunShelfRestore);
}

void AddShelfFind(CLI::App& shelf, Chosen& chosen) {
  auto find = std::make_shared<ShelfFindArguments>();
  CLI::App* command = AddCommand(shelf, "find", "Find maps by words and facts, by what they can do, or like another", chosen);
  command->add_option("WORD", find->words, "Words or beginnings of words in name, title, maker, tags, notes and messages")->type_name("");
  command->add_option("--maker", find->maker, "Words of the wheel's maker or model")->type_name("NAME");
  command->add_option("--tag", find->tags, "A tag (may be given several times)")->type_name("TAG")->expected(1)->take_all();
  command->add_option("--kind", find->kind, "Of the map")->check(CLI::IsMember({"compressor", "turbine"}))->type_name("KIND");
  command->add_option("--inducer", find->inducer, "Inducer diameter: 52, 50..60, ..60 or 50..")->type_name("MM");
  command->add_option("--exducer", find->exducer, "Exducer diameter, likewise")->type_name("MM");
  command->add_flag("--removed", find->removed, "Among those that were taken off the lists");
  command->add_option("--flow", find->flow, "Compressors that cover this point: its flow, in kg/s or with its own unit")->type_name("F");
  command->add_option("--pressure-ratio", find->pressure_ratio, "The point's pressure ratio")->type_name("P");
  command->add_option("--points", find->points, "Compressors that cover every point of this line: CSV with columns flow and pressure_ratio")
      ->type_name("FILE")
      ->excludes("--flow");
  command->add_option("--surge-margin", find->surge_margin, "With at least this margin at every point: 0.15 or \"15 %\"")->type_name("M");
  command->add_option("--efficiency", find->efficiency, "With at least this efficiency at every point: 0.72 or \"72 %\"")->type_name("E");
  command->add_option("--reference", find->reference, "What the flows are corrected to (else 288.15 K, 101325 Pa): \"298 K, 100 kPa\"")
      ->type_name("CONDITIONS");
  command->add_option("--like", find->like, "Compressors like this one, the likest first")
      ->type_name("NAME")
      ->excludes("--flow")
      ->excludes("--points");
  command->add_flag("--index-only", find->from_index, "Quicker: what the index says, without asking the maps themselves");
  command->add_option("--limit", find->limit, "At most so many")->check(CLI::Range(1, 1000000))->type_name("N");
  OnChosen(command, chosen, find, RunShelfFind);
}

void AddShelfHistory(CLI::App& shelf, Chosen& chosen) {
  auto diff = std::make_shared<ShelfDiffArguments>();
  CLI::App* command = AddCommand(shelf, "diff", "What changed from one state of a map to another", chosen);
  command->add_option("FROM", diff->from, "NAME, NAME@REVISION, NAME@BRANCH or a map file; alone: against the revision before it")
      ->required()
      ->type_name("");
  command->add_option("TO", diff->to, "The later state, likewise")->type_name("");
  command->add_option("--svg", diff->charts.svg, "Also draw it: the later state, with the earlier one dashed")->type_name("FILE");
  command->add_option("--png", diff->charts.png, "The same as a picture")->type_name("FILE");
  command->add_option("--pdf", diff->charts.pdf, "The same as a PDF page")->type_name("FILE");
  OnChosen(command, chosen, diff, RunShelfDiff);

  auto revert = std::make_shared<ShelfRevertArguments>();
  command = AddCommand(shelf, "revert", "Go back to an earlier state, as a new revision", chosen);
  command->add_option("NAME@REVISION", revert->spec, "The state to go back to")->required()->type_name("");
  command->add_option("--message", revert->message, "What the new revision is about")->type_name("TEXT");
  command->add_option("--author", revert->author, "Who made it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, revert, RunShelfRevert);

  auto merge = std::make_shared<ShelfMergeArguments>();
  command = AddCommand(shelf, "merge", "Bring a branch of a map back into its main line", chosen);
  command->add_option("NAME", merge->name, "The map's name")->required()->type_name("");
  command->add_option("BRANCH", merge->branch, "The branch")->required()->type_name("");
  command->add_option("--into", merge->into, "Into this branch (else the main line)")->type_name("BRANCH");
  command->add_option("--choose", merge->choose, "Decide a conflict: its number and ours or theirs (may be given several times)")
      ->type_name("N=SIDE")
      ->expected(1)
      ->take_all();
  command->add_option("--rest", merge->rest, "Decide all other conflicts")->check(CLI::IsMember({"ours", "theirs"}))->type_name("SIDE");
  command->add_flag("--dry-run", merge->dry_run, "Only show what would happen");
  command->add_flag("--keep-branch", merge->keep_branch, "Do not close the branch");
  command->add_option("--message", merge->message, "What the merge is about")->type_name("TEXT");
  command->add_option("--author", merge->author, "Who made it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, merge, RunShelfMerge);

  auto close = std::make_shared<ShelfCloseArguments>();
  command = AddCommand(shelf, "close", "End a branch without merging it; its revisions stay", chosen);
  command->add_option("NAME", close->name, "The map's name")->required()->type_name("");
  command->add_option("BRANCH", close->branch, "The branch")->required()->type_name("");
  OnChosen(command, chosen, close, RunShelfClose);

  auto redigitize = std::make_shared<ShelfRedigitizeArguments>();
  command = AddCommand(shelf, "redigitize", "Digitize maps anew from their own sheets and recipes, and show what would change", chosen);
  command->add_option("NAME", redigitize->names, "Maps (else all whose sheet is on the shelf)")->type_name("");
  command->add_flag("--accept", redigitize->accept, "Put what changed on the shelf, as new revisions");
  command->add_option("--pictures", redigitize->pictures, "A picture of each difference into this folder")->type_name("DIR");
  command->add_option("--author", redigitize->author, "Who accepts it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, redigitize, RunShelfRedigitize);
}

void AddShelfCare(CLI::App& shelf, Chosen& chosen) {
  auto backup = std::make_shared<ShelfBackupArguments>();
  CLI::App* command = AddCommand(shelf, "backup", "A copy of the whole shelf, also while others use it", chosen);
  command->add_option("FILE", backup->to, "The copy, which must not be there yet; or postgresql://USER@HOST/DATABASE, where no shelf may be yet")
      ->required()
      ->type_name("");
  OnChosen(command, chosen, backup, RunShelfBackup);

  auto salvage = std::make_shared<ShelfSalvageArguments>();
  command = AddCommand(shelf, "salvage", "Save what can be read of a damaged shelf into a new one", chosen);
  command->add_option("FILE", salvage->to, "The new shelf, which must not be there yet")->required()->type_name("");
  OnChosen(command, chosen, salvage, RunShelfSalvage);
}

void AddShelf(CLI::App& app, Chosen& chosen) {
  CLI::App* shelf = AddCommand(app, "shelf", "The library: maps with their sheets and their history", chosen);
  shelf->require_subcommand(1);
  shelf->footer("islebook shelf COMMAND --help says more.");

  auto add = std::make_shared<ShelfAddArguments>();
  CLI::App* command = AddCommand(*shelf, "add", "Put maps on the shelf, each as a new revision of its name", chosen);
  command->add_option("FILE", add->files, "Map documents (*.map.json)")->required()->type_name("");
  command->add_option("--name", add->name, "The map's name (else the file's, without .map.json)")->type_name("NAME");
  command->add_option("--sheet", add->sheet, "The picture that the map was made from, to be kept too")->type_name("PICTURE");
  command->add_option("--message", add->message, "What this revision is about")->type_name("TEXT");
  command->add_option("--author", add->author, "Who made it (else your name)")->type_name("NAME");
  command->add_option("--branch", add->branch, "Onto this branch of the map, made if need be (else its main line)")->type_name("BRANCH");
  OnChosen(command, chosen, add, RunShelfAdd);

  OnChosen(AddCommand(*shelf, "list", "Every map on the shelf", chosen), chosen, std::make_shared<ShelfListArguments>(), RunShelfList);

  auto show = std::make_shared<ShelfShowArguments>();
  command = AddCommand(*shelf, "show", "One map, or an earlier revision of it", chosen);
  command->add_option("NAME", show->spec, "NAME, NAME@BRANCH, or NAME@REVISION with the first digits of a revision")->required()->type_name("");
  command->add_option("--document", show->document, "Also write the map document to this file")->type_name("FILE");
  command->add_option("--sheet", show->sheet, "Also write the sheet, byte for byte, to this file")->type_name("FILE");
  OnChosen(command, chosen, show, RunShelfShow);

  auto log = std::make_shared<ShelfLogArguments>();
  command = AddCommand(*shelf, "log", "A map's revisions, latest first", chosen);
  command->add_option("NAME", log->name, "The map's name, or NAME@BRANCH")->required()->type_name("");
  OnChosen(command, chosen, log, RunShelfLog);

  auto example = std::make_shared<ShelfExampleArguments>();
  command = AddCommand(*shelf, "example", "Put the example maps on the shelf, digitized from the sheets that come with the program", chosen);
  command->add_option("--author", example->author, "Who puts them there (else your name)")->type_name("NAME");
  OnChosen(command, chosen, example, RunShelfExample);

  OnChosen(AddCommand(*shelf, "verify", "Read the whole shelf and check everything against its hash", chosen), chosen,
           std::make_shared<ShelfVerifyArguments>(), RunShelfVerify);

  AddShelfFind(*shelf, chosen);
  AddShelfHistory(*shelf, chosen);
  AddShelfFacts(*shelf, chosen);
  AddShelfCare(*shelf, chosen);
}

void AddParcel(CLI::App& app, Chosen& chosen) {
  CLI::App* parcel = AddCommand(app, "parcel", "One file with maps, their history and their sheets, for a colleague", chosen);
  parcel->require_subcommand(1);
  parcel->footer("islebook parcel COMMAND --help says more.");
  const auto add_keys = [](CLI::App* command, std::optional<std::filesystem::path>& keys) {
    command->add_option("--keys", keys, "Folder of keys (else $ISLEBOOK_KEYS, else islebook/keys in the user's configuration folder)")
        ->type_name("DIR");
  };

  auto pack = std::make_shared<ParcelPackArguments>();
  CLI::App* command = AddCommand(*parcel, "pack", "Pack maps of the shelf, each with all of its history", chosen);
  command->add_option("NAME", pack->maps, "NAME, or NAME@BRANCH or NAME@REVISION for another line of its history")->type_name("");
  command->add_flag("--all", pack->all, "Every map on the shelf");
  command->add_option("--out", pack->out, "The parcel's file (else named after the maps, ending in -parcel.zip)")->type_name("FILE");
  command->add_flag("--no-sheets", pack->no_sheets, "Leave the sheets out, where pictures may not be passed on");
  command->add_flag("--no-charts", pack->no_charts, "Leave the charts of the summary page out");
  command->add_flag("--unsigned", pack->unsigned_, "Do not sign, though this shop has a key");
  add_keys(command, pack->keys);
  OnChosen(command, chosen, pack, RunParcelPack);

  auto look = std::make_shared<ParcelLookArguments>();
  command = AddCommand(*parcel, "look", "Check a parcel and say what is in it and who signed it; writes nothing", chosen);
  command->add_option("FILE", look->file, "A parcel")->required()->type_name("");
  add_keys(command, look->keys);
  OnChosen(command, chosen, look, RunParcelLook);

  auto unpack = std::make_shared<ParcelUnpackArguments>();
  command = AddCommand(*parcel, "unpack", "Check a parcel and put its maps on the shelf; nothing there is overwritten", chosen);
  command->add_option("FILE", unpack->file, "A parcel")->required()->type_name("");
  command->add_flag("--trusted", unpack->trusted_only, "Only if a trusted key has signed it");
  add_keys(command, unpack->keys);
  OnChosen(command, chosen, unpack, RunParcelUnpack);

  auto key = std::make_shared<ParcelKeyArguments>();
  command = AddCommand(*parcel, "key", "This shop's key: makes it the first time, shows its public part", chosen);
  command->add_option("--name", key->name, "The shop's name, as it signs; needed the first time")->type_name("NAME");
  command->add_option("--out", key->out, "Write the public key to a file, for those who are to trust it")->type_name("FILE");
  add_keys(command, key->keys);
  OnChosen(command, chosen, key, RunParcelKey);

  auto trust = std::make_shared<ParcelTrustArguments>();
  command = AddCommand(*parcel, "trust", "Trust another shop's key; without KEY, list those that are trusted", chosen);
  command->add_option("KEY", trust->key, "The file that the other shop sent, or the key's 64 digits; with --remove a name too")->type_name("");
  command->add_option("--name", trust->name, "Whose key it is (else as the file says)")->type_name("NAME");
  command->add_flag("--remove", trust->remove, "Trust it no longer");
  add_keys(command, trust->keys);
  OnChosen(command, chosen, trust, RunParcelTrust);
}

void AddChart(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<ChartArguments>();
  CLI::App* command = AddCommand(app, "chart", "Draw a map as a clean chart, with points on it", chosen);
  command->add_option("MAP", arguments->map, "A map document or a name on the shelf, NAME or NAME@REVISION")->required()->type_name("");
  command->add_option("--with", arguments->with, "Another map laid over it on common axes (may be given up to five times)")
      ->type_name("MAP")
      ->expected(1)
      ->take_all();
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
  CLI::App* command =
      AddCommand(app, "export", "Write a map as tables, as a spreadsheet or as a functional mock-up, for people and other programs", chosen);
  command->add_option("MAP", arguments->map, "A map file, or a name on the shelf, NAME or NAME@REVISION")->required()->type_name("");
  command->add_option("--curves", arguments->curves, "CSV of the curves, one line a point, that islebook import reads again")->type_name("FILE");
  command->add_option("--spreadsheet", arguments->spreadsheet, "Spreadsheet (.xlsx) of the curves, to be corrected and imported again")
      ->type_name("FILE");
  command->add_option("--document", arguments->document, "The map document (.map.json)")->type_name("FILE");
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

void AddImport(CLI::App& app, Chosen& chosen) {
  auto arguments = std::make_shared<ImportArguments>();
  CLI::App* command =
      AddCommand(app, "import", "Take over curves from a table: as a correction of the map that they came from, or as a new map", chosen);
  command->add_option("FILE", arguments->file, "CSV or spreadsheet (.xlsx) as export writes them, or a map document (.map.json)")
      ->required()
      ->type_name("");
  command->add_option("--corrects", arguments->corrects, "The map that it corrects (else as the table says)")->type_name("MAP");
  command->add_flag("--new", arguments->as_new, "A map of its own, whatever the table says");
  command->add_option("--name", arguments->name, "Name on the shelf (else the corrected map's, else the file's)")->type_name("NAME");
  command->add_option("--out", arguments->out, "Write a map document instead of a revision on the shelf")->type_name("FILE");
  command->add_flag("--dry-run", arguments->dry_run, "Say the differences and keep nothing");
  command->add_option("--message", arguments->message, "What the revision is about (else the differences)")->type_name("TEXT");
  command->add_option("--author", arguments->author, "Who made it (else your name)")->type_name("NAME");
  OnChosen(command, chosen, arguments, RunImport);
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
  AddImport(app, chosen);
  AddServe(app, chosen);
  AddShelf(app, chosen);
  AddParcel(app, chosen);
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

// What was wrong with the words, in a sentence without its end; an unknown command with the list of those that there are.
std::string WhatWasWrong(const CLI::App* reached, const CLI::ParseError& wrong) {
  const auto known = reached->get_subcommands([](const CLI::App* command) { return !command->get_name().empty(); });
  const bool shelf = reached->get_parent() != nullptr;
  if (!known.empty()) {
    std::string list;
    for (const CLI::App* command : known) list += (list.empty() ? "" : ", ") + command->get_name();
    for (const std::string& word : reached->remaining())
      if (!word.empty() && word.front() != '-')
        return fmt::format("\"{}\" is no {}command; there are {}", OnOneLine(word), shelf ? reached->get_name() + " " : "", list);
    if (reached->get_require_subcommand_min() > 0 && reached->get_subcommands().empty() && reached->remaining().empty())
      return fmt::format("say which {}command; there are {}", shelf ? reached->get_name() + " " : "", list);
  }
  std::string reason = wrong.what();
  for (char& c : reason)
    if (c == '\n') c = ' ';
  while (!reason.empty() && (reason.back() == '.' || reason.back() == ' ')) reason.pop_back();
  return reason;
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
  app.add_option("--shelf", chosen.common.shelf,
                 "The library: a file, or postgresql://USER@HOST/DATABASE (else $ISLEBOOK_SHELF, else a file in the user's data folder)")
      ->type_name("SHELF");
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
    const CLI::App* reached = Innermost(app);
    chosen.common.command.clear();
    if (reached != &app) chosen.common.command = FullName(reached).substr(app.get_name().size() + 1);
    // The parser stopped before it set any flag.
    chosen.common.json = std::any_of(argv + 1, argv + argc, [](const char* word) { return std::string_view(word) == "--json"; });
    return RefuseArguments(chosen.common,
                           {ErrorCode::kInvalidArgument, WhatWasWrong(reached, wrong) + "; see " + FullName(reached) + " --help.", ""});
  }
  if (!chosen.run) return StartDesktop();
  return chosen.run();
}

}  // namespace islebook
