#pragma once
// A table as text for a terminal.

#include <algorithm>
#include <string>
#include <vector>

namespace islebook {

// Columns as wide as their widest cell; the first is left-aligned, the rest right-aligned.
class Table {
 public:
  void Add(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  std::string Draw(const char* indent = "  ") const {
    std::vector<std::size_t> widths;
    for (const auto& row : rows_) {
      widths.resize(std::max(widths.size(), row.size()), 0);
      for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], Letters(row[i]));
    }
    std::string out;
    for (const auto& row : rows_) {
      std::string line = indent;
      for (std::size_t i = 0; i < row.size(); ++i) {
        const std::string pad(widths[i] - Letters(row[i]), ' ');
        line += i == 0 ? row[i] + pad : "  " + pad + row[i];
      }
      line.erase(line.find_last_not_of(' ') + 1);
      out += line + "\n";
    }
    return out;
  }

 private:
  static std::size_t Letters(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
  }
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace islebook
