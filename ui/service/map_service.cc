#include "ui/service/map_service.h"

#include <algorithm>
#include <atomic>
#include <new>
#include <optional>
#include <set>
#include <thread>

#include <fmt/format.h>

#include "mapstore/answers/answer_text.h"
#include "mapstore/answers/askable_map.h"
#include "mapstore/answers/question_json.h"
#include "ui/service/bench_service.h"
#include "ui/service/openapi_document.h"
#include "ui/service/served_maps.h"

namespace islebook {
namespace {

constexpr std::size_t kShortestToken = 16;
constexpr std::string_view kBenchPath = "/v1/bench";

// Compares in a time that does not tell how much of it is right.
bool SameSecret(std::string_view a, std::string_view b) {
  unsigned char difference = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < a.size(); ++i) difference |= static_cast<unsigned char>(a[i] ^ b[i < b.size() ? i : 0]);
  return difference == 0;
}

}  // namespace

Result<void> MapServiceOptions::Check() const {
  std::set<std::string> names;
  for (const std::filesystem::path& file : files)
    if (!names.insert(ServedName(file)).second)
      return Fail(ErrorCode::kInvalidArgument, fmt::format("two files would be served as \"{}\"; rename one.", ServedName(file)), file.string());
  if (token.empty() && !loopback_only)
    return Fail(ErrorCode::kInvalidArgument, "other machines could reach in: name a file with a token (--token-file), or listen on 127.0.0.1.",
                "--listen");
  if (!token.empty() && token.size() < kShortestToken)
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the token must have at least {} characters.", kShortestToken), "--token-file");
  return {};
}

struct MapService::Impl {
  explicit Impl(MapServiceOptions given) : options(std::move(given)), maps(options.shelf, options.files) {}

  const MapServiceOptions options;
  ServedMaps maps;

  // Asked and written in pieces, over as many threads as the options allow.
  ServiceResponse Answer(const AskableMap& map, const QuestionList& list) const {
    const auto chosen = map.With(list.options);
    if (!chosen) return ProblemOf(chosen.error());
    constexpr std::size_t kPiece = 512;
    const AnswerJson json(*chosen);
    const std::size_t count = list.questions.size();
    std::vector<std::string> texts((count + kPiece - 1) / kPiece);
    std::atomic<std::size_t> next{0};
    std::atomic<bool> out_of_memory{false};
    const auto work = [&] {
      try {
        for (std::size_t piece = next++; piece < texts.size(); piece = next++) {
          texts[piece].reserve(kPiece * 520);
          for (std::size_t i = piece * kPiece; i < std::min(count, (piece + 1) * kPiece); ++i) {
            texts[piece] += i == 0 ? "\n" : ",\n";
            json.Append(texts[piece], chosen->Ask(list.questions[i]), i == 0);
          }
        }
      } catch (const std::bad_alloc&) {  // told to the caller's thread
        out_of_memory = true;
      }
    };
    {
      const std::size_t most = options.threads > 0 ? static_cast<std::size_t>(options.threads) : std::max(1u, std::thread::hardware_concurrency());
      std::vector<std::jthread> helpers;
      for (std::size_t i = 1; i < std::min(most, texts.size()); ++i) helpers.emplace_back(work);
      work();
    }
    if (out_of_memory) throw std::bad_alloc();
    ServiceResponse response;
    std::size_t size = 4;
    for (const std::string& text : texts) size += text.size();
    response.body.reserve(size);
    response.body = "[";
    for (const std::string& text : texts) response.body += text;
    response.body += count == 0 ? "]" : "\n]";
    return response;
  }

  ServiceResponse AskOne(const AskableMap& map, const Parameters& parameters) const {
    std::optional<ReferenceConditions> given_at;
    QuestionList list;
    for (const auto& [name, value] : parameters)
      if (name == "reference") {
        auto parsed = ParseReferenceArgument(value);
        if (!parsed) return Problem(400, parsed.error().message, name);
        given_at = *parsed;
      }
    std::optional<QuestionUnits> other_units;
    if (given_at) {
      auto made = QuestionUnits::For(map.map(), given_at);
      if (!made) return Problem(400, made.error().message, "reference");
      other_units = std::move(*made);
    }
    const QuestionUnits& units = other_units ? *other_units : map.units();
    Question question;
    std::vector<QuestionValue> given;
    for (const auto& [name, text] : parameters) {
      if (name == "reference") continue;
      if (name == "surge_margin") {
        list.options.surge_margin = ParseSurgeMargin(text);
        if (!list.options.surge_margin) return Problem(400, "there is no such surge margin; openapi.json lists them.", name);
        continue;
      }
      if (name == "slopes" || name == "edges") {
        if (text != "true" && text != "false") return Problem(400, "it is either true or false.", name);
        (name == "slopes" ? list.options.slopes : list.options.edges) = text == "true";
        continue;
      }
      const auto value = ParseQuestionValue(name);
      if (!value)
        return Problem(
            400,
            "there is no such parameter; there are flow, pressure_ratio, speed, expansion_ratio, vane_opening, reference, surge_margin, slopes "
            "and edges.",
            name.substr(0, 60));
      if (std::find(given.begin(), given.end(), *value) != given.end()) return Problem(400, "the parameter stands there twice.", name);
      given.push_back(*value);
      auto parsed = units.Parse(*value, text);
      if (!parsed) return Problem(400, parsed.error().message, name, parsed.error().code);
      question.Set(*value, *parsed);
    }
    if (auto checked = map.CheckValues(given); !checked) return ProblemOf(checked.error());
    list.questions.push_back(std::move(question));
    return Answer(map, list);
  }
};

bool MapService::TakesLong(const ServiceRequest& request) { return request.target.starts_with(kBenchPath); }

MapService::MapService(MapServiceOptions options) : impl_(std::make_unique<Impl>(std::move(options))) {}
MapService::~MapService() = default;

ServiceResponse MapService::Handle(const ServiceRequest& request) {
  const auto not_allowed = [](const char* allowed) {
    ServiceResponse response = Problem(405, fmt::format("this address takes {} only.", allowed));
    response.headers.emplace_back("Allow", allowed);
    return response;
  };
  if (!impl_->options.token.empty()) {
    constexpr std::string_view kBearer = "Bearer ";
    if (!request.authorization.starts_with(kBearer) || !SameSecret(request.authorization.substr(kBearer.size()), impl_->options.token)) {
      ServiceResponse response = Problem(401, "this service asks for its token: \"Authorization: Bearer TOKEN\".");
      response.headers.emplace_back("WWW-Authenticate", "Bearer");
      return response;
    }
  } else if (impl_->options.loopback_only && !NamesThisMachine(request.host)) {
    return Problem(421, "this service answers to localhost, 127.0.0.1 and [::1] only.", "Host");
  }
  const bool get = request.method == "GET" || request.method == "HEAD", post = request.method == "POST";
  const std::size_t question = std::min(request.target.find('?'), request.target.size());
  const std::string_view path = request.target.substr(0, question);
  const std::string_view query = request.target.substr(std::min(question + 1, request.target.size()));

  if (path == "/openapi.json" || path == "/v1/health" || path == "/v1/maps") {
    if (!get) return not_allowed("GET, HEAD");
    ServiceResponse response;
    if (path == "/openapi.json") {
      response.body = kOpenApiDocument;
    } else if (path == "/v1/health") {
      response.body = "{\"status\": \"ok\", \"version\": \"" ISLEBOOK_VERSION "\"}";
    } else {
      auto list = impl_->maps.List();
      if (!list) return ProblemOf(list.error());
      response.body = std::move(*list);
    }
    return response;
  }
  if (path == kBenchPath) {
    if (!post) return not_allowed("POST");
    if (!IsType(request.content_type, "application/toml")) return Problem(415, "send the case as application/toml.", "Content-Type");
    const auto parameters = ReadParameters(query);
    if (!parameters) return Problem(400, "the address holds a percent sign that is no escape.");
    return AnswerBench(impl_->maps, impl_->options.bench, *parameters, request);
  }
  constexpr std::string_view kMaps = "/v1/maps/";
  if (!path.starts_with(kMaps)) return Problem(404, "there is nothing at this address; /openapi.json says what there is.", {}, ErrorCode::kNotFound);
  std::string_view rest = path.substr(kMaps.size());
  const std::size_t slash = std::min(rest.find('/'), rest.size());
  const std::string_view action = rest.substr(slash);
  const auto name = DecodePercent(rest.substr(0, slash), false);
  if (!name || name->empty()) return Problem(400, "the map's name in the address cannot be read.");
  if (!action.empty() && action != "/ask")
    return Problem(404, "there is nothing at this address; /openapi.json says what there is.", {}, ErrorCode::kNotFound);
  if (action.empty() && !get) return not_allowed("GET, HEAD");
  if (!action.empty() && !get && !post) return not_allowed("GET, HEAD, POST");
  if (post && !IsType(request.content_type, "application/json")) return Problem(415, "send the questions as application/json.", "Content-Type");
  auto map = impl_->maps.Find(*name);
  if (!map) return ProblemOf(map.error());
  if (action.empty()) {
    ServiceResponse response;
    response.body = MapFactsJson(**map);
    return response;
  }
  if (get) {
    const auto parameters = ReadParameters(query);
    if (!parameters) return Problem(400, "the address holds a percent sign that is no escape.");
    return impl_->AskOne(**map, *parameters);
  }
  auto list = ParseQuestionList(request.body, **map, impl_->options.most_points);
  if (!list) return ProblemOf(list.error());
  return impl_->Answer(**map, *list);
}

}  // namespace islebook
