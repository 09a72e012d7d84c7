#include "ui/service/service_request.h"

#include <algorithm>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

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

int HexDigit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

}  // namespace

ServiceResponse ProblemResponse(int status, const Error& error) {
  ServiceResponse response;
  response.status = status;
  response.content_type = "application/problem+json";
  response.body = fmt::format("{{\"type\": \"about:blank\", \"title\": {}, \"status\": {}, \"detail\": {}, \"code\": {}, \"place\": {}}}",
                              JsonString(Title(status)), status, JsonString(error.message), static_cast<int>(error.code), JsonString(error.place));
  return response;
}

ServiceResponse Problem(int status, std::string detail, std::string place, ErrorCode code) {
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
    case ErrorCode::kCancelled:
    case ErrorCode::kShelfBusy:
    case ErrorCode::kShelfUnavailable: return 503;
    default: return 500;
  }
}

ServiceResponse ProblemOf(const Error& error) { return ProblemResponse(StatusOf(error.code), error); }

std::optional<std::string> DecodePercent(std::string_view text, bool plus_is_space) {
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

std::optional<Parameters> ReadParameters(std::string_view query) {
  Parameters parameters;
  while (!query.empty()) {
    const std::size_t end = std::min(query.find('&'), query.size());
    const std::string_view pair = query.substr(0, end);
    query.remove_prefix(std::min(end + 1, query.size()));
    if (pair.empty()) continue;
    const std::size_t equals = std::min(pair.find('='), pair.size());
    auto name = DecodePercent(pair.substr(0, equals), true), value = DecodePercent(pair.substr(std::min(equals + 1, pair.size())), true);
    if (!name || !value) return std::nullopt;
    parameters.emplace_back(std::move(*name), std::move(*value));
  }
  return parameters;
}

bool IsType(std::string_view content_type, std::string_view wanted) {
  content_type = content_type.substr(0, content_type.find(';'));
  while (content_type.ends_with(' ')) content_type.remove_suffix(1);
  std::string lower(content_type);
  std::transform(lower.begin(), lower.end(), lower.begin(), [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c); });
  return lower == wanted;
}

bool NamesThisMachine(std::string_view host) {
  if (host.starts_with('[')) {
    const std::size_t end = host.find(']');
    return end != std::string_view::npos && host.substr(0, end + 1) == "[::1]" && (end + 1 == host.size() || host[end + 1] == ':');
  }
  host = host.substr(0, host.find(':'));
  return host == "localhost" || host == "127.0.0.1";
}

}  // namespace islebook
