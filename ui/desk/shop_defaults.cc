#include "ui/desk/shop_defaults.h"

#include <algorithm>
#include <cstdlib>

#include <fmt/format.h>
#include <pwd.h>
#include <unistd.h>

namespace islebook {

std::filesystem::path DefaultShelfFile() {
  if (const char* named = std::getenv("ISLEBOOK_SHELF"); named != nullptr && *named != '\0') return named;
  std::filesystem::path data;
  if (const char* xdg = std::getenv("XDG_DATA_HOME"); xdg != nullptr && *xdg == '/') {
    data = xdg;
  } else if (const char* home = std::getenv("HOME"); home != nullptr && *home != '\0') {
    data = std::filesystem::path(home) / ".local" / "share";
  } else {
    data = ".";
  }
  return data / "islebook" / "shelf.db";
}

std::string UserName() {
  if (const passwd* user = getpwuid(geteuid()); user != nullptr) {
    // The first field of the comment is the full name.
    std::string full = user->pw_gecos == nullptr ? "" : user->pw_gecos;
    full.erase(std::min(full.find(','), full.size()));
    if (!full.empty()) return full;
    if (user->pw_name != nullptr && *user->pw_name != '\0') return user->pw_name;
  }
  if (const char* login = std::getenv("USER"); login != nullptr && *login != '\0') return login;
  return fmt::format("user {}", geteuid());
}

}  // namespace islebook
