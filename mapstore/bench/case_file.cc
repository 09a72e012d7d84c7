#include "mapstore/bench/case_file.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "mapstore/bench/case_limits.h"
#include "mapstore/bench/case_reader.h"
#include "mapstore/bench/case_turbines.h"
#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr double kTwoPi = 2.0 * std::numbers::pi;
constexpr double kZeroCelsius = 273.15;
constexpr std::size_t kMostPoints = 10000;

const MeasureSpec kDisplacement{Dimension::kVolume, "12.5 L", 1e-6, 100.0, "above 0 and at most 100 m3"};
const MeasureSpec kEngineSpeed{Dimension::kRotationalSpeed, "1800 rpm", kTwoPi * 10 / 60, kTwoPi * 30000 / 60, "from 10 to 30,000 rpm"};
const MeasureSpec kVolumetric{Dimension::kRatio, "92 %", 0.1, 2.0, "from 10 to 200 % (92 % is written \"92 %\" or 0.92)"};
const MeasureSpec kManifoldPressure{Dimension::kPressure, "2.4 bar absolute", 1e4, 3e6, "from 0.1 to 30 bar, absolute"};
const MeasureSpec kBoost{Dimension::kPressure, "1.4 bar", -5e4, 3e6, "from -0.5 to 30 bar above the barometer"};
const MeasureSpec kAirFlow{Dimension::kMassFlow, "0.4 kg/s", 1e-5, 500.0, "above 0 and at most 500 kg/s"};
const MeasureSpec kPower{Dimension::kPower, "300 kW", 10.0, 2e8, "above 0 and at most 200 MW"};
const MeasureSpec kFuelRate{Dimension::kMassFlow, "60 kg/h", 1e-7, 20.0, "above 0 and at most 20 kg/s"};
const MeasureSpec kFuelConsumption{Dimension::kFuelConsumption, "210 g/kWh", 1.0e-8, 8.4e-7, "from 36 to 3,000 g/kWh"};
const MeasureSpec kAirFuelRatio{Dimension::kRatio, "24", 5.0, 300.0, "from 5 to 300 kg of air per kg of fuel"};
const MeasureSpec kAltitude{Dimension::kLength, "1500 m", kLowestAltitude_m, kHighestAltitude_m,
                            "from -2,000 to 9,000 m: an engine runs nowhere else"};
const MeasureSpec kAmbientPressure{Dimension::kPressure, "1013 hPa", 2.5e4, 1.3e5,
                                   "from 250 to 1,300 hPa, absolute, as the barometer stands at the place"};
const MeasureSpec kAmbientTemperature{Dimension::kTemperature, "16 °C", kZeroCelsius - 65, kZeroCelsius + 65, "from -65 to 65 °C"};
const MeasureSpec kHumidity{Dimension::kRatio, "60 %", 0.0, 1.0, "from 0 to 100 %"};
const MeasureSpec kEffectiveness{Dimension::kRatio, "75 %", 0.0, 1.0, "from 0 (no cooler) to 100 %"};
const MeasureSpec kCoolant{Dimension::kTemperature, "25 °C", kZeroCelsius - 65, kZeroCelsius + 120, "from -65 to 120 °C"};
const MeasureSpec kPressureRatio{Dimension::kRatio, "2.1", 1.0, 10.0, "from 1 to 10"};
const MeasureSpec kOutletPressure{Dimension::kPressure, "2.3 bar absolute", 2.5e4, 3e6, "from 0.25 to 30 bar, absolute"};
const MeasureSpec kEfficiency{Dimension::kRatio, "72 %", 0.1, 1.0, "from 10 to 100 %"};
const MeasureSpec kReferenceTemperature{Dimension::kTemperature, "298 K", 200.0, 400.0, "from 200 to 400 K"};
const MeasureSpec kReferencePressure{Dimension::kPressure, "100 kPa", 5e4, 1.3e5, "from 50 to 130 kPa, absolute"};

const std::array<const char*, 5> kTargets{"manifold_pressure", "boost", "air_flow", "power", "fuel_rate"};

const std::vector<const char*> kTopKeys{"schema", "title", "units", "engine", "ambient", "air_path", "exhaust", "stage", "limits", "point"};
const std::vector<const char*> kEngineKeys{"name",
                                           "displacement",
                                           "displacement_per_cylinder",
                                           "cylinders",
                                           "strokes",
                                           "speed",
                                           "volumetric_efficiency",
                                           "manifold_pressure",
                                           "boost",
                                           "air_flow",
                                           "power",
                                           "fuel_rate",
                                           "brake_specific_fuel_consumption",
                                           "air_fuel_ratio"};
const std::vector<const char*> kAmbientKeys{"altitude", "pressure", "temperature", "relative_humidity"};
const std::vector<const char*> kAirPathKeys{"inlet_loss", "cooler_loss", "cooler_effectiveness", "coolant_temperature"};
const std::vector<const char*> kStageKeys{"name",
                                          "compressor",
                                          "inlet_loss",
                                          "inlet_cooler_effectiveness",
                                          "inlet_coolant_temperature",
                                          "pressure_ratio",
                                          "outlet_pressure",
                                          "speed_limit",
                                          "assumed_efficiency",
                                          "reference_temperature",
                                          "reference_pressure"};
const std::vector<const char*> kPointKeys{"name",
                                          "speed",
                                          "volumetric_efficiency",
                                          "manifold_pressure",
                                          "boost",
                                          "air_flow",
                                          "power",
                                          "fuel_rate",
                                          "brake_specific_fuel_consumption",
                                          "air_fuel_ratio",
                                          "altitude",
                                          "pressure",
                                          "temperature",
                                          "relative_humidity",
                                          "inlet_loss",
                                          "cooler_loss",
                                          "cooler_effectiveness",
                                          "coolant_temperature",
                                          "exhaust_temperature",
                                          "back_pressure"};

std::vector<const char*> Joined(std::vector<const char*> keys, const std::vector<const char*>& more) {
  keys.insert(keys.end(), more.begin(), more.end());
  return keys;
}
std::vector<const char*> StageKeys() { return Joined(kStageKeys, TurbineKeys()); }

// Every key with its section, for keys that stand in the wrong place.
std::vector<std::pair<const char*, const char*>> KeysElsewhere(const std::string& here) {
  std::vector<std::pair<const char*, const char*>> all;
  const auto add = [&](const char* section, const std::vector<const char*>& keys) {
    if (here == section) return;
    for (const char* key : keys) all.emplace_back(section, key);
  };
  add("[engine]", kEngineKeys);
  add("[ambient]", kAmbientKeys);
  add("[air_path]", kAirPathKeys);
  add("[[stage]]", StageKeys());
  add("[exhaust]", ExhaustKeys());
  add("[limits]", LimitKeys());
  return all;
}

std::string Celsius(double kelvin) { return fmt::format("{:.4g} °C", kelvin - kZeroCelsius); }

class CaseParser {
 public:
  CaseParser(CaseReader& reader, const TomlNode& root) : reader_(reader), root_(root) {}

  BenchCase Parse() {
    const CaseSection top(reader_, &root_, "");
    top.CheckKeys(kTopKeys, KeysElsewhere(""));
    if (const auto schema = top.Whole("schema", 1, 1000000); schema && *schema > 1)
      reader_.Refuse(top.Line("schema"), fmt::format("this case file is of schema {}, and this program reads schema 1; use a newer one.", *schema));
    case_.title = top.Text("title").value_or("");
    if (const auto units = top.Text("units")) {
      if (const auto habit = ParseUnitHabit(*units))
        case_.units = *habit;
      else
        reader_.Refuse(top.Line("units"), habit.error().message);
    }
    ParseStages();
    const CaseSection limits = Section("limits");
    limits.CheckKeys(LimitKeys(), KeysElsewhere("[limits]"));
    case_.limits = ParseLimits(limits, reader_);
    ParsePoints();
    return std::move(case_);
  }

 private:
  CaseSection Section(const char* key) { return CaseSection(reader_, root_.Find(key), key); }

  void Assume(std::string key, std::string value, std::string why) {
    islebook::Assume(case_.assumed, std::move(key), std::move(value), std::move(why));
  }

  // The tables of [[key]]; a single [key] counts as one.
  std::vector<CaseSection> List(const char* key) {
    std::vector<CaseSection> sections;
    const TomlNode* node = root_.Find(key);
    if (node == nullptr) return sections;
    if (node->kind == TomlNode::Kind::kTable) {
      sections.emplace_back(reader_, node, key);
    } else if (node->kind == TomlNode::Kind::kList) {
      for (std::size_t i = 0; i < node->items.size(); ++i)
        sections.emplace_back(reader_, &node->items[i], node->items.size() == 1 ? key : fmt::format("{} {}", key, i + 1));
    } else {
      reader_.Refuse(node->line, fmt::format("{} is a section: write its keys under [[{}]].", key, key));
    }
    return sections;
  }

  void ParseStages() {
    const std::vector<CaseSection> sections = List("stage");
    if (sections.empty()) reader_.Refuse(0, "no compressor map is named; add [[stage]] with compressor = \"FILE.map.json\" or a name on the shelf.");
    if (sections.size() > 3) reader_.Refuse(sections[3].line(), "one to three stages in series can be checked, not more.");
    for (std::size_t i = 0; i < sections.size(); ++i) {
      const CaseSection& section = sections[i];
      section.CheckKeys(StageKeys(), KeysElsewhere("[[stage]]"));
      CompressorStage stage;
      const auto map = section.Text("compressor");
      if (!map)
        reader_.Refuse(section.line(), fmt::format("{} names no map; add compressor = \"FILE.map.json\" or a name on the shelf.", section.path()));
      stage.map = map.value_or("");
      stage.line = section.Line("compressor");
      stage.name = section.Text("name").value_or(DefaultStageName(i, sections.size()));
      const bool first = i == 0, last = i + 1 == sections.size();
      for (const char* key : {"inlet_loss", "inlet_cooler_effectiveness", "inlet_coolant_temperature"})
        if (first && section.Has(key))
          reader_.Refuse(section.Line(key),
                         fmt::format("{}: what lies before the first stage is given in [air_path] (inlet_loss) and [ambient].", section.Name(key)));
      if (!first) ParseInterstage(section, stage);
      ParseSplit(section, last, stage);
      stage.turbine = ParseTurbine(section, reader_, case_.assumed);
      if (section.Has("speed_limit")) ParseSpeedLimit(section, stage);
      if (const auto efficiency = section.Value("assumed_efficiency", kEfficiency)) stage.assumed_efficiency = efficiency->si;
      if (section.Has("reference_temperature") != section.Has("reference_pressure"))
        reader_.Refuse(section.line(), fmt::format("{}: reference_temperature and reference_pressure go together; give both.", section.path()));
      if (const auto temperature = section.Value("reference_temperature", kReferenceTemperature)) stage.reference_K = temperature->si;
      if (const auto pressure = section.Absolute("reference_pressure", kReferencePressure, "")) stage.reference_Pa = pressure->si;
      if (i > 0 && stage.turbine.has_value() != case_.HasTurbines())
        reader_.Refuse(
            stage.turbine ? stage.turbine->line : section.line(),
            fmt::format("some stages have a turbine and {} has {}; give every stage one, or none.", section.path(), stage.turbine ? "one" : "none"));
      case_.stages.push_back(std::move(stage));
    }
  }

  static std::string DefaultStageName(std::size_t i, std::size_t count) {
    if (count == 1) return "compressor";
    if (count == 2) return i == 0 ? "low pressure" : "high pressure";
    return i == 0 ? "low pressure" : i == 1 ? "middle" : "high pressure";
  }

  void ParseInterstage(const CaseSection& section, CompressorStage& stage) {
    if (const auto loss = section.Loss("inlet_loss")) {
      stage.inlet_loss = *loss;
    } else {
      stage.inlet_loss.fixed_Pa = 2000.0;
      Assume(section.Name("inlet_loss"), "2 kPa", "pipes between the stages");
    }
    if (const auto effectiveness = section.Value("inlet_cooler_effectiveness", kEffectiveness)) {
      stage.inlet_cooler.effectiveness = effectiveness->si;
    } else {
      Assume(section.Name("inlet_cooler_effectiveness"), "0 %", "no cooler between the stages");
    }
    if (const auto coolant = section.Value("inlet_coolant_temperature", kCoolant)) {
      stage.inlet_cooler.coolant_K = coolant->si;
    } else if (stage.inlet_cooler.effectiveness > 0.0) {
      stage.inlet_cooler.coolant_K = kZeroCelsius + 35.0;
      Assume(section.Name("inlet_coolant_temperature"), "35 °C", "a warm coolant");
    }
  }

  void ParseSplit(const CaseSection& section, bool last, CompressorStage& stage) {
    const bool ratio = section.Has("pressure_ratio"), outlet = section.Has("outlet_pressure");
    if (ratio && outlet)
      reader_.Refuse(std::max(section.Line("pressure_ratio"), section.Line("outlet_pressure")),
                     fmt::format("{} has both pressure_ratio and outlet_pressure; they contradict each other, give one.", section.path()));
    if (last && (ratio || outlet))
      reader_.Refuse(
          section.Line(ratio ? "pressure_ratio" : "outlet_pressure"),
          fmt::format("{} contradicts the engine's target: the last stage takes what is left to reach the manifold pressure; leave it out.",
                      section.Name(ratio ? "pressure_ratio" : "outlet_pressure")));
    if (const auto value = section.Value("pressure_ratio", kPressureRatio)) stage.pressure_ratio = value->si;
    if (const auto value = section.Absolute("outlet_pressure", kOutletPressure, "")) stage.outlet_Pa = value->si;
  }

  void ParseSpeedLimit(const CaseSection& section, CompressorStage& stage) {
    const auto text = section.Text("speed_limit");
    if (!text) {
      reader_.Refuse(section.Line("speed_limit"), fmt::format("{} is text with its unit, like \"125000 rpm\".", section.Name("speed_limit")));
      return;
    }
    static constexpr const char* kExample = "125000 rpm";
    if (const auto tip = ParseMeasure(*text, Dimension::kVelocity, kExample); tip) {
      stage.speed_limit = tip->si;
      stage.speed_limit_is_tip_speed = true;
    } else if (const auto speed = ParseMeasure(*text, Dimension::kRotationalSpeed, kExample); speed) {
      stage.speed_limit = speed->si / kTwoPi;
    } else {
      reader_.Refuse(section.Line("speed_limit"), fmt::format("{}: {}.", section.Name("speed_limit"), speed.error().message));
      return;
    }
    if (!(*stage.speed_limit > 0.0))
      reader_.Refuse(section.Line("speed_limit"), fmt::format("{} = \"{}\" cannot be; it must be above 0.", section.Name("speed_limit"), *text));
  }

  void ParsePoints() {
    const CaseSection engine = Section("engine"), ambient = Section("ambient"), air_path = Section("air_path");
    if (root_.Find("engine") == nullptr)
      reader_.Refuse(0, "there is no [engine] section; it holds displacement, speed and a target such as boost or power.");
    engine.CheckKeys(kEngineKeys, KeysElsewhere("[engine]"));
    ambient.CheckKeys(kAmbientKeys, KeysElsewhere("[ambient]"));
    air_path.CheckKeys(kAirPathKeys, KeysElsewhere("[air_path]"));
    Section("exhaust").CheckKeys(ExhaustKeys(), KeysElsewhere("[exhaust]"));
    ParseEngine(engine);
    std::vector<CaseSection> points = List("point");
    if (points.empty()) points.emplace_back(reader_, nullptr, "engine");
    for (std::size_t i = 0; i < points.size() && !reader_.Failed(); ++i) {
      points[i].CheckKeys(kPointKeys, KeysElsewhere(""));
      ParsePoint(points[i], engine, ambient, air_path, static_cast<int>(i) + 1);
    }
  }

  void ParseEngine(const CaseSection& section) {
    engine_.strokes = 4;
    if (const auto strokes = section.Whole("strokes", 1, 12)) {
      engine_.strokes = *strokes;
      if (*strokes != 2 && *strokes != 4) reader_.Refuse(section.Line("strokes"), fmt::format("engine.strokes is 4 or 2, not {}.", *strokes));
    } else {
      Assume("engine.strokes", "4", "four-stroke");
    }
    const bool total = section.Has("displacement"), each = section.Has("displacement_per_cylinder");
    if (total && each) {
      reader_.Refuse(std::max(section.Line("displacement"), section.Line("displacement_per_cylinder")),
                     "engine.displacement and engine.displacement_per_cylinder contradict each other; give one.");
    } else if (each) {
      const auto cylinders = section.Whole("cylinders", 1, 64);
      if (!cylinders) reader_.Refuse(section.Line("displacement_per_cylinder"), "engine.displacement_per_cylinder needs engine.cylinders beside it.");
      if (const auto value = section.Value("displacement_per_cylinder", kDisplacement)) engine_.displacement_m3 = value->si * cylinders.value_or(1);
    } else if (const auto value = section.Value("displacement", kDisplacement)) {
      engine_.displacement_m3 = value->si;
      section.Whole("cylinders", 1, 64);
    } else {
      reader_.Refuse(section.line(), "engine.displacement is missing; write displacement = \"12.5 L\".");
    }
  }

  // The point's own value, else its section's.
  template <typename Get>
  static auto Prefer(const CaseSection& point, const CaseSection& section, const char* key, Get get) {
    return point.Has(key) ? get(point) : get(section);
  }

  std::optional<double> Number(const CaseSection& point, const CaseSection& section, const char* key, const MeasureSpec& spec) {
    const auto value = Prefer(point, section, key, [&](const CaseSection& s) { return s.Value(key, spec); });
    return value ? std::optional<double>(value->si) : std::nullopt;
  }

  void ParsePoint(const CaseSection& section, const CaseSection& engine, const CaseSection& ambient, const CaseSection& air_path, int number) {
    OperatingPoint point;
    point.engine = engine_;
    point.line = section.line() > 0 ? section.line() : engine.line();
    const auto speeds = Prefer(section, engine, "speed", [](const CaseSection& s) { return s.Values("speed", kEngineSpeed); });
    if (!speeds) reader_.Refuse(point.line, "no engine speed is given; write speed = \"1800 rpm\" in [engine] or in each [[point]].");
    if (const auto value = Number(section, engine, "volumetric_efficiency", kVolumetric)) {
      point.engine.volumetric_efficiency = *value;
    } else if (engine_.strokes == 2) {
      reader_.Refuse(engine.line(),
                     "a two-stroke engine's delivery ratio has no sensible default; write volumetric_efficiency = \"125 %\" or what yours has.");
    } else {
      Assume("engine.volumetric_efficiency", "92 %", "four-stroke diesel, referred to the manifold");
      point.engine.volumetric_efficiency = 0.92;
    }
    ParseTarget(section, engine, point);
    ParseAirPath(section, air_path, point);
    point.exhaust = ParseExhaust(section, Section("exhaust"), case_.HasTurbines(), case_.assumed);
    FillFuel(case_.HasTurbines(), point, case_.assumed);
    if (const auto name = section.Text("name")) point.name = *name;
    const std::string given = point.name;
    for (const Measure& speed : speeds.value_or(std::vector<Measure>{})) {
      point.speed_rev_s = speed.si / kTwoPi;
      if (!given.empty() && speeds->size() > 1) point.name = given + ", " + GroupThousands(std::lround(point.speed_rev_s * 60)) + " rpm";
      PlacePoint(section, ambient, air_path, point, number);
    }
  }

  void ParseTarget(const CaseSection& section, const CaseSection& engine, OperatingPoint& point) {
    // A point that names a target replaces the engine's.
    const auto given_in = [](const CaseSection& s) {
      std::vector<const char*> given;
      std::copy_if(kTargets.begin(), kTargets.end(), std::back_inserter(given), [&s](const char* key) { return s.Has(key); });
      return given;
    };
    const bool own = !given_in(section).empty();
    const CaseSection& source = own ? section : engine;
    const std::vector<const char*> given = given_in(source);
    OperatingTarget& target = point.target;
    if (given.empty()) {
      reader_.Refuse(point.line, "no target is given; write one of manifold_pressure, boost, air_flow, power or fuel_rate.");
      return;
    }
    const bool power_and_fuel = given.size() == 2 && source.Has("power") && source.Has("fuel_rate");
    if (given.size() > 1 && !power_and_fuel) {
      reader_.Refuse(std::max(source.Line(given[0]), source.Line(given[1])),
                     fmt::format("{} (line {}) and {} (line {}) contradict each other: each alone fixes the air flow; give one.",
                                 source.Name(given[0]), source.Line(given[0]), source.Name(given[1]), source.Line(given[1])));
      return;
    }
    if (const auto value = source.Absolute("manifold_pressure", kManifoldPressure, "boost")) target.manifold_Pa = value->si;
    if (const auto value = source.Gauge("boost", kBoost, "manifold_pressure")) target.boost_Pa = value->si;
    if (const auto value = source.Value("air_flow", kAirFlow)) target.air_flow_kg_s = value->si;
    if (const auto value = source.Value("power", kPower)) target.power_W = value->si;
    if (const auto value = source.Value("fuel_rate", kFuelRate)) target.fuel_flow_kg_s = value->si;
    target.fuel_consumption_kg_J = Number(section, engine, "brake_specific_fuel_consumption", kFuelConsumption);
    target.air_fuel_ratio = Number(section, engine, "air_fuel_ratio", kAirFuelRatio);
    const int line = source.Line(given[0]);
    if (power_and_fuel && target.fuel_consumption_kg_J)
      reader_.Refuse(
          line,
          "power, fuel_rate and brake_specific_fuel_consumption are three where two suffice, and they may contradict each other; leave one out.");
    if ((target.power_W || target.fuel_flow_kg_s) && !target.air_fuel_ratio)
      reader_.Refuse(line,
                     fmt::format("{} needs air_fuel_ratio beside it: how much air the fuel gets (a loaded diesel 18 to 30).", source.Name(given[0])));
    if (target.power_W && !target.fuel_flow_kg_s && !target.fuel_consumption_kg_J)
      reader_.Refuse(line, fmt::format("{} needs brake_specific_fuel_consumption (\"210 g/kWh\") or fuel_rate beside it.", source.Name("power")));
  }

  void ParseAirPath(const CaseSection& section, const CaseSection& air_path, OperatingPoint& point) {
    if (const auto loss = Prefer(section, air_path, "inlet_loss", [](const CaseSection& s) { return s.Loss("inlet_loss"); })) {
      point.inlet_loss = *loss;
    } else {
      point.inlet_loss.fixed_Pa = 3000.0;
      Assume("air_path.inlet_loss", "3 kPa", "filter and duct, at every flow");
    }
    if (const auto loss = Prefer(section, air_path, "cooler_loss", [](const CaseSection& s) { return s.Loss("cooler_loss"); })) {
      point.cooler_loss = *loss;
    } else {
      point.cooler_loss.fixed_Pa = 7000.0;
      Assume("air_path.cooler_loss", "7 kPa", "cooler and pipes, at every flow");
    }
    if (const auto value = Number(section, air_path, "cooler_effectiveness", kEffectiveness)) {
      point.cooler.effectiveness = *value;
    } else {
      point.cooler.effectiveness = 0.75;
      Assume("air_path.cooler_effectiveness", "75 %", "an air-to-air cooler; write \"0 %\" where there is none");
    }
  }

  // One operating point for every altitude.
  void PlacePoint(const CaseSection& section, const CaseSection& ambient, const CaseSection& air_path, OperatingPoint point, int number) {
    const bool own = section.Has("altitude") || section.Has("pressure");
    const CaseSection& place = own ? section : ambient;
    if (place.Has("altitude") && place.Has("pressure"))
      reader_.Refuse(std::max(place.Line("altitude"), place.Line("pressure")),
                     fmt::format("{} and {} contradict each other: the altitude stands for the pressure of the standard atmosphere; give one.",
                                 place.Name("altitude"), place.Name("pressure")));
    const auto pressure = place.Absolute("pressure", kAmbientPressure, "");
    const auto altitudes = place.Values("altitude", kAltitude);
    const auto temperature = Number(section, ambient, "temperature", kAmbientTemperature);
    if (const auto humidity = Number(section, ambient, "relative_humidity", kHumidity)) {
      point.relative_humidity = *humidity;
    } else {
      Assume("ambient.relative_humidity", "0 %", "dry air");
    }
    const auto coolant = Number(section, air_path, "coolant_temperature", kCoolant);
    std::vector<std::optional<double>> places;
    if (pressure) {
      places.emplace_back();
    } else if (altitudes) {
      for (const Measure& altitude : *altitudes) places.emplace_back(altitude.si);
    } else {
      Assume("ambient.altitude", "0 m", "sea level");
      places.emplace_back(0.0);
    }
    const std::string name = point.name;
    for (const std::optional<double>& altitude : places) {
      if (case_.points.size() >= kMostPoints) {
        reader_.Refuse(point.line, fmt::format("the case asks for more than {} points; that is as many as are worked out at a time.",
                                               GroupThousands(static_cast<long>(kMostPoints))));
        return;
      }
      point.altitude_m = altitude;
      if (altitude) {
        const auto air = AmbientAtAltitude(*altitude);
        if (!air) {
          reader_.Refuse(place.Line("altitude"), air.error().message);
          return;
        }
        point.ambient = *air;
        if (!temperature)
          Assume("ambient.temperature", Celsius(air->temperature_K), "standard atmosphere at " + AltitudeWords(*altitude, case_.units));
      } else if (pressure) {
        point.ambient = {pressure->si, 288.15};
        if (!temperature) Assume("ambient.temperature", "15 °C", "standard day");
      }
      if (temperature) point.ambient.temperature_K = *temperature;
      point.cooler.coolant_K = coolant.value_or(point.ambient.temperature_K + 10.0);
      if (!coolant && point.cooler.effectiveness > 0.0)
        Assume("air_path.coolant_temperature", "10 K above ambient", "air behind the grille is warmer than the day");
      point.name = PointName(name, point, places.size() > 1, number, case_.units);
      case_.points.push_back(point);
    }
  }

  static std::string PointName(const std::string& given, const OperatingPoint& point, bool fan, int number, const UnitHabit& units) {
    std::string name = given;
    if (name.empty()) {
      const double rpm = point.speed_rev_s * 60;
      name = rpm > 0.5 ? GroupThousands(std::lround(rpm)) + " rpm" : fmt::format("point {}", number);
    }
    if (fan && point.altitude_m) name += ", " + AltitudeWords(*point.altitude_m, units);
    return name;
  }

  CaseReader& reader_;
  const TomlNode& root_;
  BenchCase case_;
  Engine engine_;
};

}  // namespace

Result<BenchCase> ParseCase(std::string_view text, const std::string& file) {
  const auto root = ParseToml(text);
  if (!root) {
    Error error = root.error();
    error.place = file + (error.place.empty() ? "" : ", " + error.place);
    return std::unexpected(error);
  }
  CaseReader reader(file);
  BenchCase parsed = CaseParser(reader, *root).Parse();
  if (reader.Failed()) return std::unexpected(reader.error());
  parsed.file = file;
  return parsed;
}

Result<BenchCase> ReadCaseFile(const std::filesystem::path& file) {
  const auto text = ReadFileContents(file, 8u << 20);
  if (!text) {
    Error error = text.error();
    if (error.place.empty()) error.place = file.string();
    return std::unexpected(error);
  }
  return ParseCase(*text, file.filename().string());
}

}  // namespace islebook
