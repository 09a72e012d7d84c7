#pragma once
// A request as it came and a response as it goes, without sockets; reading the one and refusing in the other.

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

struct ServiceRequest {
  std::string_view method;                             // "GET"
  std::string_view target;                             // "/v1/maps/Alder%2052/ask?flow=0.2", as the request line has it
  std::string_view host, authorization, content_type;  // header fields; empty where absent
  std::string_view body;
  std::function<bool()> gone;  // whether whoever asked has left: what takes long then ends. May be empty
};

struct ServiceResponse {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
};

// Problems as RFC 9457 has them; `place` may be empty.
ServiceResponse ProblemResponse(int status, const Error& error);
ServiceResponse Problem(int status, std::string detail, std::string place = {}, ErrorCode code = ErrorCode::kInvalidArgument);
// With the status that is usual for such an error.
ServiceResponse ProblemOf(const Error& error);
int StatusOf(ErrorCode code);

// Nullopt: a percent sign without its two digits, or a zero byte.
std::optional<std::string> DecodePercent(std::string_view text, bool plus_is_space);

using Parameters = std::vector<std::pair<std::string, std::string>>;
// What stands behind the question mark of an address; nullopt as above.
std::optional<Parameters> ReadParameters(std::string_view query);

// Whether a header's media type is the one wanted, whatever its parameters.
bool IsType(std::string_view content_type, std::string_view wanted);
// Whether a Host field is a name of this machine's own.
bool NamesThisMachine(std::string_view host);

}  // namespace islebook
