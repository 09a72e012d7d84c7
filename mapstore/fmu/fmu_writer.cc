#include "mapstore/fmu/fmu_writer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <vector>

#include <fmt/format.h>
#include <zip.h>

#include "mapstore/fmu/fmu_variables.h"
#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr const char* kIdentifier = "islebook_map";        // modelIdentifier, and the library's name in the file
constexpr zip_uint16_t kNoDate = 1 << 5 | 1, kNoHour = 0;  // 1980-01-01 00:00, the earliest that a ZIP knows, whatever the time zone

// A point in the middle of the map, as values of every input.
Result<std::array<double, kQuestionValues>> MiddleOf(const AskableMap& map) {
  std::array<double, kQuestionValues> inputs;
  inputs.fill(1.0);
  const auto put = [&inputs](QuestionValue value, double number) { inputs[static_cast<std::size_t>(value)] = number; };
  if (const CompressorSurface* surface = map.compressor()) {
    const double speed = 0.5 * (surface->MinSpeed() + surface->MaxSpeed());
    const EdgePoint surge = surface->SurgePoint(speed), choke = surface->ChokePoint(speed);
    Question question;
    question.Set(QuestionValue::kSpeed, speed);
    question.Set(QuestionValue::kFlow, 0.5 * (surge.flow + choke.flow));
    const MapAnswer answer = map.Ask(question);
    if (!answer.flow || !answer.pressure_ratio)
      return Fail(ErrorCode::kNotEnoughCurves, "no point in the middle of the map can be found.", map.name());
    put(QuestionValue::kFlow, *answer.flow);
    put(QuestionValue::kPressureRatio, *answer.pressure_ratio);
    put(QuestionValue::kSpeed, speed);
    return inputs;
  }
  const TurbineSurface& surface = *map.turbine();
  const std::vector<double>& lines = surface.LineValues();
  const double parameter = lines.empty() ? 0.0 : lines[lines.size() / 2];
  const double ratio = 0.5 * (surface.MinExpansionRatio(parameter) + surface.MaxExpansionRatio(parameter));
  put(QuestionValue::kExpansionRatio, ratio);
  put(QuestionValue::kSpeed, parameter);
  put(QuestionValue::kVaneOpening, parameter);
  if (const auto flow = surface.Flow(parameter, ratio)) put(QuestionValue::kFlow, flow->value);
  return inputs;
}

const std::string& UnitOf(const AskableMap& map, std::string_view name) {
  static const std::string one = "1";
  if (name.starts_with("sigma_")) name.remove_prefix(6);
  if (name == "flow") return map.flow_unit();
  if (name == "speed") return map.speed_unit();
  if (name == "vane_opening") return map.vane_opening_unit();
  return one;
}

std::string UnitDefinition(const std::string& spelling) {
  std::string base;
  if (const auto unit = ParseUnit(spelling); unit && unit->offset == 0.0) {
    const char* exponents = nullptr;
    switch (unit->dimension) {
      case Dimension::kMassFlow: exponents = "kg=\"1\" s=\"-1\""; break;
      case Dimension::kVolumeFlow: exponents = "m=\"3\" s=\"-1\""; break;
      case Dimension::kRotationalSpeed: exponents = "rad=\"1\" s=\"-1\""; break;
      case Dimension::kVelocity: exponents = "m=\"1\" s=\"-1\""; break;
      default: break;
    }
    if (exponents != nullptr) base = fmt::format("<BaseUnit {} factor=\"{}\"/>", exponents, JsonNumber(unit->factor));
  }
  return base.empty() ? fmt::format("    <Unit name=\"{}\"/>\n", EscapedMarkup(spelling))
                      : fmt::format("    <Unit name=\"{}\">{}</Unit>\n", EscapedMarkup(spelling), base);
}

bool Has(const AskableMap& map, std::string_view output) {
  for (const char* name : {"expansion_ratio"})
    if (output == name) return map.is_turbine();
  if (output == "vane_opening") return !map.vane_opening_unit().empty();
  if (output == "speed") return !map.speed_unit().empty() || !map.is_turbine();
  if (output == "flow" || output == "efficiency" || output == "sigma_flow" || output == "sigma_efficiency") return true;
  return !map.is_turbine();
}

struct Description {
  std::string xml;
  std::vector<int> outputs;  // places of outputs among the variables, from 1
  int count = 0;

  void Add(const std::string& attributes, const std::string& type, bool output = false) {
    ++count;
    if (output) outputs.push_back(count);
    xml += fmt::format("    <ScalarVariable {}>{}</ScalarVariable>\n", attributes, type);
  }
};

std::string DescribeModel(const AskableMap& map, const std::string& guid, const std::array<double, kQuestionValues>& inputs) {
  Description variables;
  const std::vector<FmuQuestion> questions = FmuQuestions(map);
  std::string choices;
  std::vector<QuestionValue> used;
  for (std::size_t i = 0; i < questions.size(); ++i) {
    const FmuQuestion& question = questions[i];
    choices += fmt::format("{}{}: {}", i > 0 ? "; " : "", i + 1, QuestionValueName(question.first));
    if (question.second != question.first) choices += fmt::format(" and {}", QuestionValueName(question.second));
    for (const QuestionValue value : {question.first, question.second})
      if (std::find(used.begin(), used.end(), value) == used.end()) used.push_back(value);
  }
  variables.Add(
      fmt::format(
          "name=\"given\" valueReference=\"{}\" causality=\"parameter\" variability=\"fixed\" description=\"Which inputs are the question. {}\"",
          static_cast<unsigned>(kFmuGiven), EscapedMarkup(choices)),
      fmt::format("<Integer start=\"1\" min=\"1\" max=\"{}\"/>", questions.size()));
  if (!map.is_turbine())
    variables.Add(
        fmt::format("name=\"surge_margin_definition\" valueReference=\"{}\" causality=\"parameter\" variability=\"fixed\" description=\"{}\"",
                    static_cast<unsigned>(kFmuMargin), EscapedMarkup(map.surge_margin().definition)),
        fmt::format("<String start=\"{}\"/>", map.surge_margin().name));
  variables.Add(fmt::format("name=\"revision\" valueReference=\"{}\" causality=\"local\" variability=\"constant\" initial=\"exact\" "
                            "description=\"Of the map on its shelf; empty: from a file\"",
                            static_cast<unsigned>(kFmuRevision)),
                fmt::format("<String start=\"{}\"/>", EscapedMarkup(map.revision())));
  for (const QuestionValue value : used) {
    const char* name = QuestionValueName(value);
    variables.Add(
        fmt::format("name=\"{}_in\" valueReference=\"{}\" causality=\"input\" variability=\"continuous\"", name,
                    kFmuInputs + static_cast<unsigned>(value)),
        fmt::format("<Real unit=\"{}\" start=\"{}\"/>", EscapedMarkup(UnitOf(map, name)), JsonNumber(inputs[static_cast<std::size_t>(value)])));
  }
  const auto outputs = FmuOutputs();
  for (std::size_t i = 0; i < outputs.size(); ++i)
    if (Has(map, outputs[i].name))
      variables.Add(fmt::format("name=\"{}\" valueReference=\"{}\" causality=\"output\" variability=\"continuous\" initial=\"calculated\" "
                                "description=\"Not a number where it cannot be known; reason says why\"",
                                outputs[i].name, kFmuOutputs + i),
                    fmt::format("<Real unit=\"{}\"/>", EscapedMarkup(UnitOf(map, outputs[i].name))), true);
  const auto edges = NamedEdges();
  for (std::size_t i = 0; i < edges.size() && !map.is_turbine(); ++i)
    variables.Add(fmt::format("name=\"edge_{}\" valueReference=\"{}\" causality=\"output\" variability=\"continuous\" initial=\"calculated\" "
                              "description=\"{}; not a number off the map\"",
                              edges[i].name, kFmuEdges + i,
                              edges[i].changes[0] == '\0' ? std::string("Distance to the nearest edge as a share of the map's extent")
                                                          : fmt::format("Change of {} that leads to the edge", edges[i].changes)),
                  fmt::format("<Real unit=\"{}\"/>", EscapedMarkup(UnitOf(map, edges[i].changes))), true);
  variables.Add(fmt::format("name=\"inside\" valueReference=\"{}\" causality=\"output\" variability=\"discrete\" initial=\"calculated\" "
                            "description=\"The point is on the map\"",
                            static_cast<unsigned>(kFmuInside)),
                "<Boolean/>", true);
  variables.Add(
      fmt::format(
          "name=\"region\" valueReference=\"{}\" causality=\"output\" variability=\"discrete\" initial=\"calculated\" "
          "description=\"-1 not asked, 0 on the map, 1 left of surge, 2 past choke, 3 over speed, 4 under speed, 5 outside the lines, 6 not known\"",
          static_cast<unsigned>(kFmuRegion)),
      "<Integer/>", true);
  if (!map.is_turbine())
    variables.Add(
        fmt::format("name=\"edge_nearest_beyond\" valueReference=\"{}\" causality=\"output\" variability=\"discrete\" initial=\"calculated\" "
                    "description=\"What lies beyond the nearest edge, as region; -1 off the map\"",
                    static_cast<unsigned>(kFmuNearestBeyond)),
        "<Integer/>", true);
  variables.Add(fmt::format("name=\"alternatives\" valueReference=\"{}\" causality=\"output\" variability=\"discrete\" initial=\"calculated\" "
                            "description=\"How many further answers there are\"",
                            static_cast<unsigned>(kFmuAlternatives)),
                "<Integer/>", true);
  variables.Add(fmt::format("name=\"reason\" valueReference=\"{}\" causality=\"output\" variability=\"discrete\" initial=\"calculated\" "
                            "description=\"Why a value is marked or cannot be known\"",
                            static_cast<unsigned>(kFmuReason)),
                "<String/>", true);

  std::string units = "    <Unit name=\"1\"/>\n";
  for (const std::string* unit : {&map.flow_unit(), &map.speed_unit(), &map.vane_opening_unit()})
    if (!unit->empty() && *unit != "1" && units.find("\"" + EscapedMarkup(*unit) + "\"") == std::string::npos) units += UnitDefinition(*unit);
  std::string unknowns;
  for (const int place : variables.outputs) unknowns += fmt::format("      <Unknown index=\"{}\"/>\n", place);

  const std::string title = map.map().title.empty() ? map.name() : map.map().title;
  return fmt::format(R"(<?xml version="1.0" encoding="UTF-8"?>
<fmiModelDescription fmiVersion="2.0" modelName="{0}" guid="{1}" description="{2} map. An estimate read from a sheet: the makers' limits come first." generationTool="Islebook" variableNamingConvention="flat" numberOfEventIndicators="0">
  <ModelExchange modelIdentifier="{3}" completedIntegratorStepNotNeeded="true" providesDirectionalDerivative="true"/>
  <CoSimulation modelIdentifier="{3}" canHandleVariableCommunicationStepSize="true" providesDirectionalDerivative="true"/>
  <UnitDefinitions>
{4}  </UnitDefinitions>
  <LogCategories>
    <Category name="logStatusWarning"/>
    <Category name="logStatusError"/>
  </LogCategories>
  <ModelVariables>
{5}  </ModelVariables>
  <ModelStructure>
    <Outputs>
{6}    </Outputs>
    <InitialUnknowns>
{6}    </InitialUnknowns>
  </ModelStructure>
</fmiModelDescription>
)",
                     EscapedMarkup(title.empty() ? "map" : title), guid, map.is_turbine() ? "Turbine" : "Compressor", kIdentifier, units,
                     variables.xml, unknowns);
}

struct ZipFile {
  std::string name, bytes;
};

Result<std::string> Zip(const std::vector<ZipFile>& files) {
  const auto failed = [](const std::string& why) { return Fail(ErrorCode::kInternal, "the archive cannot be made: " + why + ".", ""); };
  zip_error_t error;
  zip_error_init(&error);
  const std::unique_ptr<zip_source_t, decltype(&zip_source_free)> target(zip_source_buffer_create(nullptr, 0, 0, &error), zip_source_free);
  if (!target) return failed(zip_error_strerror(&error));
  zip_source_keep(target.get());
  zip_t* archive = zip_open_from_source(target.get(), ZIP_TRUNCATE, &error);
  if (archive == nullptr) return failed(zip_error_strerror(&error));
  for (const ZipFile& file : files) {
    zip_source_t* source = zip_source_buffer(archive, file.bytes.data(), file.bytes.size(), 0);
    const zip_int64_t index = source == nullptr ? -1 : zip_file_add(archive, file.name.c_str(), source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
      const std::string why = zip_strerror(archive);
      zip_source_free(source);
      zip_discard(archive);
      return failed(why);
    }
    zip_file_set_dostime(archive, static_cast<zip_uint64_t>(index), kNoHour, kNoDate, 0);
  }
  if (zip_close(archive) != 0) {
    const std::string why = zip_strerror(archive);
    zip_discard(archive);
    return failed(why);
  }
  zip_source_open(target.get());
  zip_stat_t status;
  zip_source_stat(target.get(), &status);
  std::string bytes(status.size, '\0');
  const zip_int64_t read = zip_source_read(target.get(), bytes.data(), bytes.size());
  zip_source_close(target.get());
  if (read != static_cast<zip_int64_t>(bytes.size())) return failed("it came out short");
  return bytes;
}

}  // namespace

Result<std::string> WriteFmu(const AskableMap& map, const std::filesystem::path& library) {
  auto code = ReadFileContents(library);
  if (!code) return Fail(ErrorCode::kCannotRead, "the mock-up's library is not there; install Islebook whole.", library.string());
  auto inputs = MiddleOf(map);
  if (!inputs) return std::unexpected(inputs.error());
  const std::string document = WriteMapDocument(map.map());
  const std::string margin = map.is_turbine() ? "" : map.surge_margin().name;
  const std::string digits = Sha256Hex(document + "\n" + map.name() + "\n" + map.revision() + "\n" + margin + "\n" + *code);
  const std::string guid =
      fmt::format("{{{}-{}-{}-{}-{}}}", digits.substr(0, 8), digits.substr(8, 4), digits.substr(12, 4), digits.substr(16, 4), digits.substr(20, 12));
  std::string list;
  for (const double input : *inputs) list += (list.empty() ? "" : ", ") + JsonNumber(input);
  const std::string facts = fmt::format("{{\"guid\": {}, \"name\": {}, \"revision\": {}, \"surge_margin\": {}, \"inputs\": [{}]}}\n",
                                        JsonString(guid), JsonString(map.name()), JsonString(map.revision()), JsonString(margin), list);
  return Zip({{"modelDescription.xml", DescribeModel(map, guid, *inputs)},
              {fmt::format("binaries/linux64/{}.so", kIdentifier), std::move(*code)},
              {"resources/map.json", document},
              {"resources/facts.json", facts}});
}

}  // namespace islebook
