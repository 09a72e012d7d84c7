// Paints sheets of invented maps with their truth: paint_maps --out DIR [--count N] [--seed S] [--style a,b] [--class clean,scan,photo,web,copy,vector,svg] [--scale F]

#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include <QGuiApplication>

#include "tests/support/page_wear.h"
#include "tests/support/sheet_painter.h"

namespace {

std::vector<std::string> Split(const std::string& text) {
  std::vector<std::string> parts;
  std::size_t from = 0;
  while (from <= text.size()) {
    const std::size_t comma = std::min(text.find(',', from), text.size());
    if (comma > from) parts.push_back(text.substr(from, comma - from));
    from = comma + 1;
  }
  return parts;
}

int Usage(const std::string& wrong) {
  std::fprintf(stderr,
               "%s\nUsage: paint_maps --out DIR [--count N] [--seed S] [--style NAME,...] [--class clean,scan,photo,web,copy,vector,svg]\nStyles:",
               wrong.c_str());
  for (const std::string& name : islebook::paint::StyleNames()) std::fprintf(stderr, " %s", name.c_str());
  std::fprintf(stderr, "\n");
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace islebook::paint;
  qputenv("QT_QPA_PLATFORM", "offscreen");
  std::string out, styles, classes = "clean";
  int count = 0;
  std::uint64_t seed = 1;
  for (int i = 1; i < argc; ++i) {
    const std::string key = argv[i];
    if (i + 1 >= argc) return Usage("Every option has a value: " + key);
    const std::string value = argv[++i];
    try {
      if (key == "--out")
        out = value;
      else if (key == "--count")
        count = std::stoi(value);
      else if (key == "--seed")
        seed = std::stoull(value);
      else if (key == "--style")
        styles = value;
      else if (key == "--class")
        classes = value;
      else
        return Usage("Unknown option " + key);
    } catch (const std::exception&) {
      return Usage("Not a number: " + key + " " + value);
    }
  }
  if (out.empty()) return Usage("Say where to: --out DIR");
  const std::vector<std::string> names = styles.empty() ? StyleNames() : Split(styles);
  for (const std::string& name : names)
    if (!IsStyle(name)) return Usage("No style is called " + name);
  std::vector<WearClass> wears;
  for (const std::string& word : Split(classes)) {
    const std::optional<WearClass> wear = ParseWearClass(word);
    if (!wear) return Usage("No class of wear is called " + word);
    wears.push_back(*wear);
  }
  std::error_code error;
  std::filesystem::create_directories(out, error);
  QGuiApplication application(argc, argv);
  if (count <= 0) count = static_cast<int>(names.size());
  for (int i = 0; i < count; ++i) {
    const std::string& style = names[static_cast<std::size_t>(i) % names.size()];
    const WearClass wear = wears[static_cast<std::size_t>(i) % wears.size()];
    char name[128];
    std::snprintf(name, sizeof name, "%03d-%s-%s", i + 1, style.c_str(), WearClassName(wear));
    const auto done = PaintAndWrite(style, seed * 1000 + static_cast<std::uint64_t>(i), wear, out, name);
    if (!done) {
      std::fprintf(stderr, "%s %s\n", done.error().message.c_str(), done.error().place.c_str());
      return 1;
    }
  }
  std::printf("%d sheets in %s\n", count, out.c_str());
  return 0;
}
