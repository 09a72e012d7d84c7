// Usage: fuzz_NAME COUNT           mutates the target's seeds COUNT times, the same way every time.
//        fuzz_NAME --write DIR     writes the seeds to files, for libFuzzer to start from.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <random>

#include "tests/fuzz/fuzz_target.h"

namespace {

std::string Mutated(const std::vector<std::string>& seeds, std::mt19937& random) {
  const auto below = [&random](std::size_t limit) { return limit == 0 ? 0 : std::uniform_int_distribution<std::size_t>(0, limit - 1)(random); };
  std::string text = seeds[below(seeds.size())];
  for (std::size_t steps = 1 + below(4); steps > 0; --steps) {
    const std::size_t at = below(text.size() + 1), length = std::min(below(12), text.size() - at);
    switch (below(6)) {
      case 0: text.insert(at, 1, static_cast<char>(below(256))); break;
      case 1:
        if (at < text.size()) text[at] = static_cast<char>(below(256));
        break;
      case 2: text.erase(at, length); break;
      case 3: text.insert(at, text.substr(at, length)); break;
      case 4: {
        const std::string& other = seeds[below(seeds.size())];
        text = text.substr(0, at) + other.substr(below(other.size() + 1));
        break;
      }
      default: {
        static const char* const kWords[] = {"nan",  "inf", "-1", "1e999",        "0",    "\"", ",", "\r\n", "{", "[", "]", "}",
                                             "null", "%00", "%",  "\xEF\xBB\xBF", "\xFF", "/",  "?", "&",    "="};
        text.insert(at, kWords[below(std::size(kWords))]);
      }
    }
  }
  return text;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 3 && std::string(argv[1]) == "--write") {
    std::filesystem::create_directories(argv[2]);
    int number = 0;
    for (const std::string& seed : FuzzSeeds()) std::ofstream(std::filesystem::path(argv[2]) / std::to_string(number++), std::ios::binary) << seed;
    return 0;
  }
  const long count = argc > 1 ? std::atol(argv[1]) : 1000;
  const std::vector<std::string> seeds = FuzzSeeds();
  for (const std::string& seed : seeds) LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(seed.data()), seed.size());
  std::mt19937 random(20251125);
  for (long i = 0; i < count; ++i) {
    const std::string text = Mutated(seeds, random);
    LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(text.data()), text.size());
  }
  return 0;
}
