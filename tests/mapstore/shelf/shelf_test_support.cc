#include "tests/mapstore/shelf/shelf_test_support.h"

#include <fstream>
#include <iterator>

#include <fmt/format.h>
#include <grp.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mapstore/map/canonical_json.h"

namespace islebook::shelf_test {

TemporaryFolder::TemporaryFolder() {
  std::string pattern = (std::filesystem::temp_directory_path() / "islebook-shelf-XXXXXX").string();
  path_ = mkdtemp(pattern.data());
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code error;
  std::filesystem::permissions(path_, std::filesystem::perms::owner_all, error);
  std::filesystem::remove_all(path_, error);
}

std::string Document(const std::string& title, int speed, const std::string& sheet) {
  return fmt::format(R"({{"document": "performance-map", "schema": 1, "kind": "compressor", "title": "{}",
    "axes": {{"x": {{"quantity": "corrected_mass_flow", "unit": "kg/s", "scale": "linear", "min": 0, "max": 0.6}},
             "y": {{"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}}}},
    "reference_conditions": {{"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"}},
    "curves": [{{"role": "speed_line", "value": {}, "unit": "rpm", "closed": false, "points": [[0.1, 2.0], [0.2, 1.9], [0.25, 1.5]],
      "points_px": [[10, 20], [30, 40], [50, 60.5]], "sigma": [[0.001, 0.002], [0.001, 0.002], [0.001, 0.002]], "confidence": 0.9, "needs_review": false, "reasons": []}}],
    "source": {{"file": "sheet.png", "sha256": "{}", "size_px": [800, 600], "page": 1}}, "needs_review": []}})",
                     title, speed, Sha256Hex(sheet));
}

int RunInChild(const std::function<int()>& work) {
  const pid_t child = fork();
  if (child == 0) _exit(work());
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

bool BecomeNobody() {
  if (geteuid() != 0) return true;
  constexpr unsigned kNobody = 65534;
  return setgroups(0, nullptr) == 0 && setgid(kNobody) == 0 && setuid(kNobody) == 0;
}

std::string ReadFile(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), {}};
}

void WriteFile(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream stream(file, std::ios::binary | std::ios::trunc);
  stream << bytes;
  stream.close();
  ASSERT_TRUE(stream.good()) << file;
}

}  // namespace islebook::shelf_test
