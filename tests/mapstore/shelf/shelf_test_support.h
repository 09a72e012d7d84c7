#pragma once
// A folder that goes away, map documents to put on a shelf, and a child process that ends with the code of what it ran.

#include <filesystem>
#include <functional>
#include <string>

namespace islebook::shelf_test {

class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  const std::filesystem::path& Path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// A small compressor map's document of a wheel of Fellside Rotors. `speed` sets its one speed line apart; `sheet` are the bytes of the sheet it names.
std::string Document(const std::string& title, int speed, const std::string& sheet = "the sheet's bytes");

// Runs `work` in a child process and returns its exit code, 128 + the signal if one ended it.
int RunInChild(const std::function<int()>& work);

// In a child: gives up root's powers, so that file permissions count. False where that is not possible.
bool BecomeNobody();

std::string ReadFile(const std::filesystem::path& file);
void WriteFile(const std::filesystem::path& file, const std::string& bytes);

}  // namespace islebook::shelf_test
