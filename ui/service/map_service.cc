#include "ui/service/map_service.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <map>
#include <mutex>
#include <new>
#include <optional>
#include <set>
#include <thread>

#include <fmt/format.h>
#include <sys/stat.h>

#include "mapstore/answers/answer_text.h"
#include "mapstore/answers/askable_map.h"
#include "mapstore/answers/question_json.h"
#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/opened_bench.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/service/openapi_document.h"

namespace islebook {
namespace {

constexpr std::size_t kMapsKept = 64;
constexpr std::size_t kShortestToken = 16;
constexpr std::string_view kBenchPath = "/v1/bench";

// What changes when a file does.
struct Stamp {
  std::int64_t seconds = -1, nanoseconds = 0, size = 0, inode = 0;
  bool operator==(const Stamp&) const = default;
};
Stamp StampOf(const std::filesystem::path& file) {
  struct stat status{};
  if (stat(file.c_str(), &status) != 0) return {};
  return {status.st_mtim.tv_sec, status.st_mtim.tv_nsec, status.st_size, static_cast<std::int64_t>(status.st_ino)};
}

std::string NameOf(const std::filesystem::path& file) {
  std::string name = file.filename().string();
  for (const char* ending : {".map.json", ".json"})
    if (name.ends_with(ending) && name.size() > std::string_view(ending).size()) return name.substr(0, name.size() - std::string_view(ending).size());
  return name;
}

const char* Title(int status) {
  switch (status) {
    case 400: return "Bad Request";
    case 401: return "Unauthorized";
    case 404: return "Not Found";
    case 405: return "Method Not Allowed";
    case 408: return "Request Timeout";
    case 413: return "Content Too Large";
    case 415: return "Unsupported Media Type";
    case 421: return "Misdirected Request";
    case 422: return "Unprocessable Content";
    case 431: return "Request Header Fields Too Large";
    case 503: return "Service Unavailable";
    default: return "Internal Server Error";
  }
}

ServiceResponse Problem(int status, std::string detail, std::string place = {}, ErrorCode code = ErrorCode::kInvalidArgument) {
  return ProblemResponse(status, {code, std::move(detail), std::move(place)});
}

int StatusOf(ErrorCode code) {
  switch (code) {
    case ErrorCode::kInvalidArgument:
    case ErrorCode::kUnknownUnit:
    case ErrorCode::kIncompatibleUnit:
    case ErrorCode::kOutOfRange: return 400;
    case ErrorCode::kNotFound:
    case ErrorCode::kCannotRead: return 404;
    case ErrorCode::kWrongKind:
    case ErrorCode::kNotEnoughCurves:
    case ErrorCode::kMalformedDocument:
    case ErrorCode::kUnsupportedSchema: return 422;
    case ErrorCode::kBadCase: return 422;
    case ErrorCode::kShelfBusy:
    case ErrorCode::kShelfUnavailable: return 503;
    default: return 500;
  }
}

ServiceResponse ProblemOf(const Error& error) { return ProblemResponse(StatusOf(error.code), error); }

int HexDigit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

// Nullopt: a percent sign without its two digits, or a zero byte.
std::optional<std::string> Decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    char c = text[i];
    if (c == '%') {
      const int high = i + 2 < text.size() ? HexDigit(text[i + 1]) : -1, low = i + 2 < text.size() ? HexDigit(text[i + 2]) : -1;
      if (high < 0 || low < 0) return std::nullopt;
      c = static_cast<char>(high * 16 + low);
      i += 2;
    } else if (c == '+' && plus_is_space) {
      c = ' ';
    }
    if (c == '\0') return std::nullopt;
    out += c;
  }
  return out;
}

// Compares in a time that does not tell how much of it is right.
bool SameSecret(std::string_view a, std::string_view b) {
  unsigned char difference = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < a.size(); ++i) difference |= static_cast<unsigned char>(a[i] ^ b[i < b.size() ? i : 0]);
  return difference == 0;
}

bool NamesThisMachine(std::string_view host) {
  if (host.starts_with('[')) {
    const std::size_t end = host.find(']');
    return end != std::string_view::npos && host.substr(0, end + 1) == "[::1]" && (end + 1 == host.size() || host[end + 1] == ':');
  }
  host = host.substr(0, host.find(':'));
  return host == "localhost" || host == "127.0.0.1";
}

bool IsType(std::string_view content_type, std::string_view wanted) {
  content_type = content_type.substr(0, content_type.find(';'));
  while (content_type.ends_with(' ')) content_type.remove_suffix(1);
  std::string lower(content_type);
  std::transform(lower.begin(), lower.end(), lower.begin(), [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return lower == wanted;
}

using Parameters = std::vector<std::pair<std::string, std::string>>;

std::optional<Parameters> ReadParameters(std::string_view query) {
  Parameters parameters;
  while (!query.empty()) {
    const std::size_t end = std::min(query.find('&'), query.size());
    const std::string_view pair = query.substr(0, end);
    query.remove_prefix(std::min(end + 1, query.size()));
    if (pair.empty()) continue;
    const std::size_t equals = std::min(pair.find('='), pair.size());
    auto name = Decoded(pair.substr(0, equals), true), value = Decoded(pair.substr(std::min(equals + 1, pair.size())), true);
    if (!name || !value) return std::nullopt;
    parameters.emplace_back(std::move(*name), std::move(*value));
  }
  return parameters;
}

}  // namespace

namespace {

// What the address of a bench request says.
struct BenchRequest {
  SurgeMargin margin = SurgeMargin::kConstantSpeed;
  bool csv = false;
  std::string goal, point;
  std::set<std::string> taken;

  Result<void> Take(const std::string& name, const std::string& value) {
    if (!taken.insert(name).second) return Fail(ErrorCode::kInvalidArgument, "the parameter stands there twice.", name.substr(0, 60));
    if (name == "surge_margin") {
      const auto named = ParseSurgeMargin(value);
      if (!named) return Fail(ErrorCode::kInvalidArgument, "there is no such surge margin; openapi.json lists them.", name);
      margin = *named;
    } else if (name == "csv") {
      if (value != "true" && value != "false") return Fail(ErrorCode::kInvalidArgument, "it is either true or false.", name);
      csv = value == "true";
    } else if (name == "what_first") {
      if (!ParseGoal(value)) return Fail(ErrorCode::kInvalidArgument, "there is no such goal; openapi.json lists them.", name);
      goal = value;
    } else if (name == "point") {
      point = value;
    } else {
      return Fail(ErrorCode::kInvalidArgument, "there is no such parameter; there are surge_margin, csv, what_first and point.", name.substr(0, 60));
    }
    return {};
  }
};

}  // namespace

ServiceResponse ProblemResponse(int status, const Error& error) {
  ServiceResponse response;
  response.status = status;
  response.content_type = "application/problem+json";
  response.body = fmt::format("{{\"type\": \"about:blank\", \"title\": {}, \"status\": {}, \"detail\": {}, \"code\": {}, \"place\": {}}}",
                              JsonString(Title(status)), status, JsonString(error.message), static_cast<int>(error.code), JsonString(error.place));
  return response;
}

Result<void> MapServiceOptions::Check() const {
  std::set<std::string> names;
  for (const std::filesystem::path& file : files)
    if (!names.insert(NameOf(file)).second)
      return Fail(ErrorCode::kInvalidArgument, fmt::format("two files would be served as \"{}\"; rename one.", NameOf(file)), file.string());
  if (token.empty() && !loopback_only)
    return Fail(ErrorCode::kInvalidArgument, "other machines could reach in: name a file with a token (--token-file), or listen on 127.0.0.1.",
                "--listen");
  if (!token.empty() && token.size() < kShortestToken)
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the token must have at least {} characters.", kShortestToken), "--token-file");
  return {};
}

struct MapService::Impl {
  using Map = std::shared_ptr<const AskableMap>;
  struct Kept {
    Stamp stamp;
    Map map;
    std::uint64_t used = 0;
  };

  explicit Impl(MapServiceOptions given) : options(std::move(given)) {
    for (const std::filesystem::path& file : options.files) files[NameOf(file)] = file;
  }

  const MapServiceOptions options;
  std::map<std::string, std::filesystem::path> files;
  std::mutex mutex;  // of all below
  std::unique_ptr<Shelf> shelf;
  std::array<Stamp, 2> shelf_stamp;                    // of a file
  std::chrono::steady_clock::time_point shelf_seen{};  // of a server: when it was looked at, and what its mark was
  std::string shelf_mark;
  std::map<std::string, Map> resolved;  // by name on the shelf as it was when it was looked at
  std::map<std::string, Kept> by_revision;
  std::map<std::string, Kept> by_file;
  std::uint64_t clock = 0;

  static Result<Map> Build(PerformanceMap document, std::string name, std::string revision) {
    auto made = AskableMap::Make(std::move(document), std::move(name), std::move(revision));
    if (!made) return std::unexpected(made.error());
    return std::make_shared<const AskableMap>(std::move(*made));
  }

  template <typename Keep>
  void Forget(Keep& kept) {
    if (kept.size() < kMapsKept) return;
    kept.erase(std::min_element(kept.begin(), kept.end(), [](const auto& a, const auto& b) { return a.second.used < b.second.used; }));
  }

  Result<Shelf*> OpenShelf() {
    if (!shelf) {
      auto opened = islebook::OpenShelf(options.shelf, {.access = ShelfAccess::kRead, .busy_timeout = std::chrono::milliseconds(2000)});
      if (!opened) return std::unexpected(opened.error());
      shelf = std::move(*opened);
    }
    return shelf.get();
  }

  // Drops what was known of the shelf if it has changed since; whether there is a shelf.
  Result<bool> LookAtShelf() {
    if (IsServerShelf(options.shelf)) {
      const auto now = std::chrono::steady_clock::now();
      if (shelf && now - shelf_seen < std::chrono::milliseconds(200)) return true;
      Result<std::string> mark = Fail(ErrorCode::kShelfUnavailable, "");
      // A connection that was lost is made anew.
      for (int attempt = 0; attempt < 2 && !mark; ++attempt) {
        auto open = OpenShelf();
        mark = open ? (*open)->Mark() : Result<std::string>(std::unexpected(open.error()));
        if (!mark) shelf.reset();
      }
      if (!mark) {
        resolved.clear();
        if (mark.error().code == ErrorCode::kNotFound) return false;
        return std::unexpected(mark.error());
      }
      shelf_seen = now;
      if (*mark != shelf_mark) resolved.clear();
      shelf_mark = std::move(*mark);
      return true;
    }
    const std::array<Stamp, 2> now{StampOf(options.shelf), StampOf(options.shelf + "-wal")};
    if (now != shelf_stamp) {
      if (now[0].inode != shelf_stamp[0].inode) shelf.reset();
      shelf_stamp = now;
      resolved.clear();
    }
    return shelf_stamp[0] != Stamp{};
  }

  Result<Map> Find(const std::string& name) {
    const std::scoped_lock lock(mutex);
    if (const auto file = files.find(name); file != files.end()) {
      const Stamp stamp = StampOf(file->second);
      const auto kept = by_file.find(name);
      if (kept != by_file.end() && kept->second.stamp == stamp) return kept->second.map;
      auto document = ReadMapFile(file->second);
      if (!document) return std::unexpected(document.error());
      auto map = Build(std::move(*document), name, "");
      if (map) by_file[name] = {stamp, *map, 0};
      return map;
    }
    const Result<bool> there = LookAtShelf();
    if (!there) return std::unexpected(there.error());
    if (const auto known = resolved.find(name); known != resolved.end()) return known->second;
    const auto missing = [&name] {
      return Fail(ErrorCode::kNotFound, "there is no map of that name; /v1/maps lists what there is.", name.substr(0, 200));
    };
    if (!*there) return missing();
    auto open = OpenShelf();
    if (!open) return std::unexpected(open.error());
    auto shown = (*open)->Show(name);
    if (!shown && shown.error().code == ErrorCode::kNotFound) return missing();
    if (!shown) return std::unexpected(shown.error());
    const std::string key = shown->revision.id + "/" + shown->name;
    if (const auto kept = by_revision.find(key); kept != by_revision.end()) {
      kept->second.used = ++clock;
      if (resolved.size() > 4 * kMapsKept) resolved.clear();
      resolved[name] = kept->second.map;
      return kept->second.map;
    }
    auto document = ParseMapDocument(shown->document);
    if (!document) return std::unexpected(document.error());
    auto map = Build(std::move(*document), shown->name, shown->revision.id);
    if (!map) return map;
    Forget(by_revision);
    by_revision[key] = {{}, *map, ++clock};
    resolved[name] = *map;
    return map;
  }

  Result<std::string> List() {
    std::string out = "[";
    const auto add = [&out](const std::string& name, const std::string& kind, const std::string& title, const std::string& revision) {
      out += out.size() > 1 ? ",\n " : "\n ";
      out += fmt::format("{{\"name\": {}, \"kind\": {}, \"title\": {}, \"revision\": {}}}", JsonString(name),
                         kind.empty() ? "null" : JsonString(kind), JsonString(title), revision.empty() ? "null" : JsonString(revision));
    };
    for (const auto& [name, file] : files)
      if (auto map = Find(name)) add(name, (*map)->is_turbine() ? "turbine" : "compressor", (*map)->map().title, "");
    const std::scoped_lock lock(mutex);
    const Result<bool> there = LookAtShelf();
    if (!there) return std::unexpected(there.error());
    if (*there) {
      auto open = OpenShelf();
      if (!open) return std::unexpected(open.error());
      auto entries = (*open)->List();
      if (!entries) return std::unexpected(entries.error());
      for (const ShelfEntry& entry : *entries)
        if (!files.contains(entry.name)) add(entry.name, entry.kind, entry.title, entry.head.id);
    }
    return out + (out.size() > 1 ? "\n]" : "]");
  }

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
            json.Append(texts[piece], chosen->Ask(list.questions[i]));
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

  // Only what is served may be named: no file of this machine is opened for a stranger.
  Result<BenchMap> FindForBench(const std::string& name) {
    auto map = Find(name);
    if (!map) return std::unexpected(map.error());
    return BenchMap{std::shared_ptr<const PerformanceMap>(*map, &(*map)->map()), name, (*map)->revision()};
  }

  ServiceResponse Bench(const Parameters& parameters, std::string_view case_text) {
    BenchRequest asked;
    for (const auto& [name, value] : parameters)
      if (auto taken = asked.Take(name, value); !taken) return ProblemOf(taken.error());
    if (asked.goal.empty() && !asked.point.empty())
      return Problem(400, "a point is chosen for what to change first; name the goal with what_first.", "point");
    if (!asked.goal.empty() && asked.csv) return Problem(400, "what to change first comes as JSON only.", "csv");
    if (case_text.size() > options.largest_case)
      return Problem(413, fmt::format("the case is larger than {} bytes; send fewer points at a time.", options.largest_case));
    // Whatever is wrong with the case, or with a map that it names, is the case's.
    const auto refuse = [](const Error& error) {
      const int status = StatusOf(error.code);
      return ProblemResponse(status == 400 || status == 404 ? 422 : status, error);
    };
    auto parsed = ParseCase(case_text, "");
    if (!parsed) return refuse(parsed.error());
    if (parsed->points.size() > options.most_bench_points)
      return refuse(
          {ErrorCode::kOutOfRange,
           fmt::format("the case has {} points, and at most {} are worked out in one request.", parsed->points.size(), options.most_bench_points),
           "the case"});
    const auto bench = OpenedBench::Open(std::move(*parsed), [this](const std::string& name) { return FindForBench(name); }, asked.margin);
    if (!bench) return refuse(bench.error());
    ServiceResponse response;
    if (!asked.goal.empty()) {
      auto changes = WhatToChange(*bench, asked);
      if (!changes) return refuse(changes.error());
      response.body = std::move(*changes);
      return response;
    }
    const auto result = bench->Run();
    if (!result) return refuse(result.error());
    response.body = asked.csv ? WriteBenchCsv(*result) : WriteBenchReport(*result);
    if (asked.csv) response.content_type = "text/csv; charset=utf-8; header=present";
    return response;
  }

  Result<std::string> WhatToChange(const OpenedBench& bench, const BenchRequest& asked) {
    std::vector<std::string> names;
    for (const auto& [name, file] : files) names.push_back(name);
    {
      const std::scoped_lock lock(mutex);
      const Result<bool> there = LookAtShelf();
      if (!there) return std::unexpected(there.error());
      if (*there) {
        auto open = OpenShelf();
        if (!open) return std::unexpected(open.error());
        const auto entries = (*open)->List();
        if (!entries) return std::unexpected(entries.error());
        for (const ShelfEntry& entry : *entries)
          if (!files.contains(entry.name)) names.push_back(entry.name);
      }
    }
    if (names.size() > options.most_bench_wheels)
      return Fail(ErrorCode::kOutOfRange,
                  fmt::format("{} maps are served, and at most {} are tried over HTTP; ask \"islebook bench --what-first\" on the service's machine.",
                              names.size(), options.most_bench_wheels),
                  "what_first");
    std::vector<Map> kept;
    std::vector<ShelfWheel> wheels;
    for (const std::string& name : names) {
      auto map = Find(name);
      if (!map) continue;  // what cannot be read is no candidate
      kept.push_back(*map);
      wheels.push_back({name, &kept.back()->map()});
    }
    const auto found = bench.WhatToChange(asked.goal, asked.point, wheels);
    if (!found) return std::unexpected(found.error());
    return WriteBenchChanges(*found);
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
      auto list = impl_->List();
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
    return impl_->Bench(*parameters, request.body);
  }
  constexpr std::string_view kMaps = "/v1/maps/";
  if (!path.starts_with(kMaps)) return Problem(404, "there is nothing at this address; /openapi.json says what there is.", {}, ErrorCode::kNotFound);
  std::string_view rest = path.substr(kMaps.size());
  const std::size_t slash = std::min(rest.find('/'), rest.size());
  const std::string_view action = rest.substr(slash);
  const auto name = Decoded(rest.substr(0, slash), false);
  if (!name || name->empty()) return Problem(400, "the map's name in the address cannot be read.");
  if (!action.empty() && action != "/ask")
    return Problem(404, "there is nothing at this address; /openapi.json says what there is.", {}, ErrorCode::kNotFound);
  if (action.empty() && !get) return not_allowed("GET, HEAD");
  if (!action.empty() && !get && !post) return not_allowed("GET, HEAD, POST");
  if (post && !IsType(request.content_type, "application/json")) return Problem(415, "send the questions as application/json.", "Content-Type");
  auto map = impl_->Find(*name);
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
