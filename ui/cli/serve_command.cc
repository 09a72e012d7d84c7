#include "ui/cli/serve_command.h"

#include <cstdlib>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/cli/workshop.h"
#include "ui/service/http_server.h"

namespace islebook {

int RunServe(const ServeArguments& arguments, const CommonArguments& common) {
  if (IsServerShelf(ShelfPlace(common)) && !HaveWorkshop()) return ContinueInWorkshop(common);
  HttpServerOptions server_options;
  server_options.address = arguments.address;
  server_options.port = static_cast<std::uint16_t>(arguments.port);
  if (auto checked = server_options.Check(); !checked) return RefuseArguments(common, {checked.error().code, checked.error().message, "--listen"});

  MapServiceOptions options;
  options.shelf = ShelfPlace(common);
  options.loopback_only = IsLoopback(arguments.address);
  if (arguments.token_file) {
    auto token = ReadFileContents(*arguments.token_file, 4096);
    if (!token) return FailCommand(common, token.error());
    options.token = *token;
    while (!options.token.empty() && (options.token.back() == '\n' || options.token.back() == '\r' || options.token.back() == ' '))
      options.token.pop_back();
    if (options.token.empty())
      return FailCommand(common, {ErrorCode::kInvalidArgument, "it holds no token; write one line of 16 characters or more into it.",
                                  arguments.token_file->string()});
  } else if (const char* token = std::getenv("ISLEBOOK_TOKEN"); token != nullptr) {
    options.token = token;
  }
  for (const std::string& map : arguments.maps) {
    std::error_code ignored;
    if (!std::filesystem::is_regular_file(map, ignored))
      return FailCommand(common, {ErrorCode::kNotFound, "there is no such map file; maps on the shelf are served without being named.", map});
    options.files.emplace_back(map);
  }
  if (auto checked = options.Check(); !checked) return RefuseArguments(common, checked.error());

  MapService service(std::move(options));
  auto server = HttpServer::Listen(service, server_options);
  if (!server) return FailCommand(common, server.error());
  const bool six = arguments.address.find(':') != std::string::npos;
  const std::string url = fmt::format("http://{}{}{}:{}", six ? "[" : "", arguments.address, six ? "]" : "", (*server)->port());
  if (common.json) {
    const std::string text = fmt::format("{{\"url\": {}, \"port\": {}}}", JsonString(url), (*server)->port());
    if (const int printed = PrintResult(common, text); printed != kExitDone) return printed;
  }
  Say(common, fmt::format("Serving at {} (described at {}/openapi.json). Stop with Ctrl-C.", url, url));
  (*server)->Run();
  Say(common, "Stopped.");
  return kExitDone;  // a signal is how it is meant to end
}

}  // namespace islebook
