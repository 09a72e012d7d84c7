#pragma once
// What every door takes when nothing is said: where the shelf is, and who is at work.

#include <filesystem>
#include <string>

namespace islebook {

// $ISLEBOOK_SHELF, which may be a server's address (open_shelf.h), else islebook/shelf.db in the XDG data directory.
std::filesystem::path DefaultShelfFile();

// The full name of the user's account, else its login.
std::string UserName();

}  // namespace islebook
