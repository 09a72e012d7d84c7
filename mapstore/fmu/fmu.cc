// The library inside a functional mock-up (FMI 2.0, model exchange without states and co-simulation): reads resources/map.json and answers what the inputs ask.
// Errors come back as fmi2Error with a sentence to the logger; nothing throws across. Instances are independent; one instance is for one thread at a time.

#include <array>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <limits>
#include <memory>
#include <string>

#include <nlohmann/json.hpp>

#include "mapstore/fmu/fmi2.h"
#include "mapstore/fmu/fmu_variables.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/strict_json.h"
#include "mapstore/map/whole_file.h"

#define FMI2_EXPORT extern "C" __attribute__((visibility("default")))

namespace {

using namespace islebook;

struct Instance {
  std::string name;
  fmi2CallbackFunctions callbacks{};
  bool logging = false;
  std::optional<AskableMap> map;
  std::vector<FmuQuestion> questions;
  std::string revision, margin, first_margin, reason;
  std::array<double, kQuestionValues> inputs{}, first_inputs{};
  int given = 1;
  bool fresh = false;  // the answer belongs to the inputs
  MapAnswer answer;

  void Log(fmi2Status status, const std::string& words) const {
    if (callbacks.logger == nullptr || (!logging && status < fmi2Error)) return;
    callbacks.logger(callbacks.componentEnvironment, name.c_str(), status, status >= fmi2Error ? "logStatusError" : "logStatusWarning", "%s",
                     words.c_str());
  }
  Question Asked() const {
    Question question;
    const FmuQuestion& asked = questions[static_cast<std::size_t>(given - 1)];
    question.Set(asked.first, inputs[static_cast<std::size_t>(asked.first)]);
    question.Set(asked.second, inputs[static_cast<std::size_t>(asked.second)]);
    return question;
  }
  const MapAnswer& Answer() {
    if (fresh) return answer;
    answer = map->Ask(Asked());
    fresh = true;
    if (!answer.asked) Log(fmi2Warning, answer.reason);
    return answer;
  }
};

Instance* In(fmi2Component component) { return static_cast<Instance*>(component); }

template <typename Body>
fmi2Status Guarded(fmi2Component component, Body body) {
  if (component == nullptr) return fmi2Error;
  try {
    return body(*In(component));
  } catch (const std::exception& failure) {
    In(component)->Log(fmi2Error, std::string("the work stopped unexpectedly: ") + failure.what());
    return fmi2Error;
  }
}

fmi2Status Unknown(const Instance& instance, const char* type, fmi2ValueReference reference) {
  instance.Log(fmi2Error, std::string("there is no ") + type + " variable with the value reference " + std::to_string(reference) + ".");
  return fmi2Error;
}

// "file:///a%20b", "file:/a", "file://localhost/a"; empty: not a file address.
std::string PathOf(std::string_view uri) {
  if (!uri.starts_with("file:")) return "";
  uri.remove_prefix(5);
  if (uri.starts_with("//")) {
    uri.remove_prefix(2);
    if (uri.starts_with("localhost/")) uri.remove_prefix(9);
  }
  std::string path;
  for (std::size_t i = 0; i < uri.size(); ++i) {
    if (uri[i] == '%' && i + 2 < uri.size()) {
      const std::string hex(uri.substr(i + 1, 2));
      path += static_cast<char>(std::strtol(hex.c_str(), nullptr, 16));
      i += 2;
    } else {
      path += uri[i];
    }
  }
  return path.starts_with('/') ? path : "";
}

Result<void> Load(Instance& instance, const std::filesystem::path& resources, std::string_view guid) {
  auto text = ReadFileContents(resources / "facts.json", 1 << 20);
  if (!text) return std::unexpected(text.error());
  auto facts = ParseStrictJson(*text);
  if (!facts) return std::unexpected(facts.error());
  if (facts->value("guid", "") != guid)
    return Fail(ErrorCode::kInvalidArgument, "the GUID is not this mock-up's; the description and the library do not belong together.", "fmuGUID");
  auto document = ReadMapFile(resources / "map.json");
  if (!document) return std::unexpected(document.error());
  AskableMapOptions options;
  if (document->kind == MapKind::kCompressor) {
    instance.margin = facts->value("surge_margin", "constant-speed");
    options.surge_margin = ParseSurgeMargin(instance.margin);
  }
  instance.first_margin = instance.margin;
  instance.revision = facts->value("revision", "");
  auto map = AskableMap::Make(std::move(*document), facts->value("name", ""), instance.revision, options);
  if (!map) return std::unexpected(map.error());
  instance.map.emplace(std::move(*map));
  instance.questions = FmuQuestions(*instance.map);
  const auto& inputs = facts->at("inputs");
  for (std::size_t i = 0; i < kQuestionValues && i < inputs.size(); ++i) instance.inputs[i] = inputs[i].is_number() ? inputs[i].get<double>() : 1.0;
  instance.first_inputs = instance.inputs;
  return {};
}

}  // namespace

FMI2_EXPORT const char* fmi2GetTypesPlatform() { return "default"; }
FMI2_EXPORT const char* fmi2GetVersion() { return "2.0"; }

FMI2_EXPORT fmi2Status fmi2SetDebugLogging(fmi2Component component, fmi2Boolean on, std::size_t, const fmi2String*) {
  return Guarded(component, [&](Instance& instance) {
    instance.logging = on != fmi2False;
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Component fmi2Instantiate(fmi2String name, fmi2Type, fmi2String guid, fmi2String resources, const fmi2CallbackFunctions* functions,
                                          fmi2Boolean, fmi2Boolean logging) {
  try {
    auto instance = std::make_unique<Instance>();
    if (functions != nullptr) instance->callbacks = *functions;
    instance->name = name == nullptr ? "" : name;
    instance->logging = logging != fmi2False;
    const std::string path = PathOf(resources == nullptr ? "" : resources);
    if (path.empty() || guid == nullptr) {
      instance->Log(fmi2Error, "the resource location must be a file: address and the GUID must be given.");
      return nullptr;
    }
    if (const auto loaded = Load(*instance, path, guid); !loaded) {
      instance->Log(fmi2Error, loaded.error().place + ": " + loaded.error().message);
      return nullptr;
    }
    return instance.release();
  } catch (const std::exception&) {
    return nullptr;
  }
}

FMI2_EXPORT void fmi2FreeInstance(fmi2Component component) { delete In(component); }

FMI2_EXPORT fmi2Status fmi2SetupExperiment(fmi2Component component, fmi2Boolean, fmi2Real, fmi2Real, fmi2Boolean, fmi2Real) {
  return component == nullptr ? fmi2Error : fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2EnterInitializationMode(fmi2Component component) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2ExitInitializationMode(fmi2Component component) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2Terminate(fmi2Component component) { return component == nullptr ? fmi2Error : fmi2OK; }

FMI2_EXPORT fmi2Status fmi2Reset(fmi2Component component) {
  return Guarded(component, [](Instance& instance) {
    instance.inputs = instance.first_inputs;
    instance.given = 1;
    instance.fresh = false;
    if (instance.margin != instance.first_margin) {
      instance.margin = instance.first_margin;
      instance.map = instance.map->With({.surge_margin = ParseSurgeMargin(instance.margin)}).value();
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2GetReal(fmi2Component component, const fmi2ValueReference references[], std::size_t count, fmi2Real values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      const unsigned reference = references[i];
      if (reference < kFmuInputs + kQuestionValues) {
        values[i] = instance.inputs[reference - kFmuInputs];
      } else if (FmuHasOutput(*instance.map, reference)) {
        values[i] = FmuValue(*instance.map, instance.Asked(), instance.Answer(), reference);
      } else {
        return Unknown(instance, "real", reference);
      }
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2GetInteger(fmi2Component component, const fmi2ValueReference references[], std::size_t count, fmi2Integer values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] == kFmuGiven) {
        values[i] = instance.given;
      } else if (references[i] == kFmuRegion) {
        values[i] = FmuRegionOf(*instance.map, instance.Answer());
      } else if (references[i] == kFmuAlternatives) {
        values[i] = static_cast<int>(instance.Answer().alternatives.size());
      } else if (references[i] == kFmuNearestBeyond && !instance.map->is_turbine()) {
        const auto edges = instance.map->Edges(instance.Asked());
        values[i] = edges ? static_cast<int>(edges->nearest.beyond) : -1;
      } else {
        return Unknown(instance, "integer", references[i]);
      }
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2GetBoolean(fmi2Component component, const fmi2ValueReference references[], std::size_t count, fmi2Boolean values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] != kFmuInside) return Unknown(instance, "boolean", references[i]);
      values[i] = instance.Answer().inside ? fmi2True : fmi2False;
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2GetString(fmi2Component component, const fmi2ValueReference references[], std::size_t count, fmi2String values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] == kFmuMargin) {
        values[i] = instance.margin.c_str();
      } else if (references[i] == kFmuReason) {
        instance.reason = instance.Answer().reason;
        values[i] = instance.reason.c_str();
      } else if (references[i] == kFmuRevision) {
        values[i] = instance.revision.c_str();
      } else {
        return Unknown(instance, "string", references[i]);
      }
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2SetReal(fmi2Component component, const fmi2ValueReference references[], std::size_t count, const fmi2Real values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] >= kFmuInputs + kQuestionValues) return Unknown(instance, "real input", references[i]);
      instance.inputs[references[i] - kFmuInputs] = values[i];
      instance.fresh = false;
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2SetInteger(fmi2Component component, const fmi2ValueReference references[], std::size_t count, const fmi2Integer values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] != kFmuGiven) return Unknown(instance, "integer parameter", references[i]);
      if (values[i] < 1 || values[i] > static_cast<int>(instance.questions.size())) {
        instance.Log(fmi2Error, "given is a number from 1 to " + std::to_string(instance.questions.size()) + ".");
        return fmi2Error;
      }
      instance.given = values[i];
      instance.fresh = false;
    }
    return fmi2OK;
  });
}

FMI2_EXPORT fmi2Status fmi2SetBoolean(fmi2Component component, const fmi2ValueReference references[], std::size_t count, const fmi2Boolean[]) {
  return Guarded(component, [&](Instance& instance) { return count == 0 ? fmi2OK : Unknown(instance, "boolean input", references[0]); });
}

FMI2_EXPORT fmi2Status fmi2SetString(fmi2Component component, const fmi2ValueReference references[], std::size_t count, const fmi2String values[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t i = 0; i < count; ++i) {
      if (references[i] != kFmuMargin || instance.map->is_turbine()) return Unknown(instance, "string parameter", references[i]);
      const auto margin = ParseSurgeMargin(values[i] == nullptr ? "" : values[i]);
      if (!margin) {
        instance.Log(fmi2Error, "there is no such surge margin.");
        return fmi2Error;
      }
      instance.margin = values[i];
      instance.map = instance.map->With({.surge_margin = margin}).value();
      instance.fresh = false;
    }
    return fmi2OK;
  });
}

// Derivatives of outputs by inputs; what an importer needs for a Jacobian (2.1.9 of the standard).
FMI2_EXPORT fmi2Status fmi2GetDirectionalDerivative(fmi2Component component, const fmi2ValueReference unknowns[], std::size_t unknown_count,
                                                    const fmi2ValueReference knowns[], std::size_t known_count, const fmi2Real known_changes[],
                                                    fmi2Real unknown_changes[]) {
  return Guarded(component, [&](Instance& instance) {
    for (std::size_t k = 0; k < known_count; ++k)
      if (knowns[k] >= kFmuInputs + kQuestionValues) return Unknown(instance, "real input", knowns[k]);
    for (std::size_t i = 0; i < unknown_count; ++i)
      if (!FmuHasOutput(*instance.map, unknowns[i])) return Unknown(instance, "real output", unknowns[i]);
    const Question question = instance.Asked();
    const std::optional<AnswerSlopes> slopes = instance.map->Slopes(question);
    for (std::size_t i = 0; i < unknown_count; ++i) {
      unknown_changes[i] = 0.0;
      for (std::size_t k = 0; k < known_count; ++k)
        if (known_changes[k] != 0.0)
          unknown_changes[i] +=
              known_changes[k] * FmuDerivative(*instance.map, question, slopes, unknowns[i], static_cast<QuestionValue>(knowns[k] - kFmuInputs));
    }
    return fmi2OK;
  });
}

// What the description says this mock-up cannot do.
FMI2_EXPORT fmi2Status fmi2GetFMUstate(fmi2Component, fmi2FMUstate*) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2SetFMUstate(fmi2Component, fmi2FMUstate) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2FreeFMUstate(fmi2Component, fmi2FMUstate*) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2SerializedFMUstateSize(fmi2Component, fmi2FMUstate, std::size_t*) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2SerializeFMUstate(fmi2Component, fmi2FMUstate, fmi2Byte[], std::size_t) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2DeSerializeFMUstate(fmi2Component, const fmi2Byte[], std::size_t, fmi2FMUstate*) { return fmi2Error; }
// Model exchange: no states, no events.
FMI2_EXPORT fmi2Status fmi2EnterEventMode(fmi2Component component) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2NewDiscreteStates(fmi2Component component, fmi2EventInfo* info) {
  if (component == nullptr || info == nullptr) return fmi2Error;
  *info = {};
  return fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2EnterContinuousTimeMode(fmi2Component component) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2CompletedIntegratorStep(fmi2Component component, fmi2Boolean, fmi2Boolean* enter_event_mode, fmi2Boolean* terminate) {
  if (component == nullptr || enter_event_mode == nullptr || terminate == nullptr) return fmi2Error;
  *enter_event_mode = *terminate = fmi2False;
  return fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2SetTime(fmi2Component component, fmi2Real) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2SetContinuousStates(fmi2Component component, const fmi2Real[], std::size_t count) {
  return component == nullptr || count > 0 ? fmi2Error : fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2GetDerivatives(fmi2Component component, fmi2Real[], std::size_t count) {
  return component == nullptr || count > 0 ? fmi2Error : fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2GetEventIndicators(fmi2Component component, fmi2Real[], std::size_t count) {
  return component == nullptr || count > 0 ? fmi2Error : fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2GetContinuousStates(fmi2Component component, fmi2Real[], std::size_t count) {
  return component == nullptr || count > 0 ? fmi2Error : fmi2OK;
}
FMI2_EXPORT fmi2Status fmi2GetNominalsOfContinuousStates(fmi2Component component, fmi2Real[], std::size_t count) {
  return component == nullptr || count > 0 ? fmi2Error : fmi2OK;
}

// Co-simulation: the outputs follow the inputs at once.
FMI2_EXPORT fmi2Status fmi2SetRealInputDerivatives(fmi2Component, const fmi2ValueReference[], std::size_t, const fmi2Integer[], const fmi2Real[]) {
  return fmi2Error;
}
FMI2_EXPORT fmi2Status fmi2GetRealOutputDerivatives(fmi2Component, const fmi2ValueReference[], std::size_t, const fmi2Integer[], fmi2Real[]) {
  return fmi2Error;
}
FMI2_EXPORT fmi2Status fmi2DoStep(fmi2Component component, fmi2Real, fmi2Real, fmi2Boolean) { return component == nullptr ? fmi2Error : fmi2OK; }
FMI2_EXPORT fmi2Status fmi2CancelStep(fmi2Component) { return fmi2Error; }
FMI2_EXPORT fmi2Status fmi2GetStatus(fmi2Component, fmi2StatusKind, fmi2Status*) { return fmi2Discard; }
FMI2_EXPORT fmi2Status fmi2GetRealStatus(fmi2Component, fmi2StatusKind, fmi2Real*) { return fmi2Discard; }
FMI2_EXPORT fmi2Status fmi2GetIntegerStatus(fmi2Component, fmi2StatusKind, fmi2Integer*) { return fmi2Discard; }
FMI2_EXPORT fmi2Status fmi2GetBooleanStatus(fmi2Component, fmi2StatusKind, fmi2Boolean*) { return fmi2Discard; }
FMI2_EXPORT fmi2Status fmi2GetStringStatus(fmi2Component, fmi2StatusKind, fmi2String*) { return fmi2Discard; }
