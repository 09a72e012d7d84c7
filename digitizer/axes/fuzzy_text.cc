#include "digitizer/axes/fuzzy_text.h"

#include <algorithm>
#include <array>
#include <cctype>

namespace islebook {
namespace {

struct Fold {
  const char* from;
  const char* to;
};
constexpr Fold kFolds[] = {{"ä", "a"},   {"ö", "o"},     {"ü", "u"},     {"Ä", "a"},     {"Ö", "o"},     {"Ü", "u"},    {"ß", "ss"},  {"é", "e"},
                           {"è", "e"},   {"ê", "e"},     {"ë", "e"},     {"É", "e"},     {"È", "e"},     {"á", "a"},    {"à", "a"},   {"â", "a"},
                           {"ã", "a"},   {"å", "a"},     {"í", "i"},     {"ì", "i"},     {"î", "i"},     {"ó", "o"},    {"ò", "o"},   {"ô", "o"},
                           {"õ", "o"},   {"ú", "u"},     {"ù", "u"},     {"û", "u"},     {"ñ", "n"},     {"ç", "c"},    {"¹", "1"},   {"²", "2"},
                           {"³", "3"},   {"⁴", "4"},     {"⁰", "0"},     {"⁻", "-"},     {"½", "1/2"},   {"√", "sqrt"}, {"·", "*"},   {"×", "x"},
                           {"∙", "*"},   {"⋅", "*"},     {"•", "*"},     {"−", "-"},     {"–", "-"},     {"—", "-"},    {"η", "eta"}, {"π", "pi"},
                           {"Π", "pi"},  {"θ", "theta"}, {"Θ", "theta"}, {"δ", "delta"}, {"Δ", "delta"}, {"ε", "eps"},  {"ρ", "rho"}, {"φ", "phi"},
                           {"Φ", "phi"}, {"ψ", "psi"},   {"°", " deg "}, {"’", "'"},     {"‘", "'"},     {"“", "\""},   {"”", "\""},  {"ṁ", "m"}};

bool Letter(char c) { return c >= 'a' && c <= 'z'; }
bool Digit(char c) { return c >= '0' && c <= '9'; }

double Substitute(char meant, char read) {
  if (meant == read) return 0.0;
  static constexpr std::array<const char*, 34> kAlike = {"l1", "li", "1i",  "l|", "i|", "1|", "l/", "i/", "1/", "|/", "o0", "s5",
                                                         "3?", "3'", "3\"", "3*", "3)", "3°", "2?", "gq", "g9", "q9", "ce", "eo",
                                                         "co", "uv", "vy",  "rn", "nh", "bh", "tf", "ft", "z2", "l!"};
  for (const char* pair : kAlike) {
    if ((pair[0] == meant && pair[1] == read) || (pair[1] == meant && pair[0] == read)) return 0.35;
  }
  return 1.0;
}

double Gap(char c) { return c == '*' || c == '.' || c == ' ' || c == '\'' ? 0.35 : 1.0; }

// Edit distance; free ends of `read` where `within`.
double Edit(std::string_view meant, std::string_view read, bool within) {
  std::vector<double> row(read.size() + 1), next(read.size() + 1), before(read.size() + 1);
  for (std::size_t j = 1; j <= read.size(); ++j) row[j] = within ? 0.0 : row[j - 1] + Gap(read[j - 1]);
  for (std::size_t i = 0; i < meant.size(); ++i) {
    next[0] = row[0] + Gap(meant[i]);
    for (std::size_t j = 0; j < read.size(); ++j) {
      double cost = std::min({row[j] + Substitute(meant[i], read[j]), row[j + 1] + Gap(meant[i]), next[j] + Gap(read[j])});
      if (meant[i] == 'm' && j >= 1 && read[j - 1] == 'r' && read[j] == 'n') cost = std::min(cost, row[j - 1] + 0.35);
      if (meant[i] == 'w' && j >= 1 && read[j - 1] == 'v' && read[j] == 'v') cost = std::min(cost, row[j - 1] + 0.35);
      if (i >= 1 && meant[i - 1] == 'r' && meant[i] == 'n' && read[j] == 'm') cost = std::min(cost, before[j] + 0.35);
      next[j + 1] = cost;
    }
    before = row;
    std::swap(row, next);
  }
  return within ? *std::min_element(row.begin(), row.end()) : row.back();
}

}  // namespace

std::string FoldText(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const unsigned char c = static_cast<unsigned char>(text[i]);
    if (c < 0x80) {
      out += static_cast<char>(std::tolower(c));
      ++i;
      continue;
    }
    bool found = false;
    // "m°/s": a raised 3.
    if (text.substr(i, 2) == "°" && !out.empty() && (out.back() == 'm' || out.back() == 't')) {
      out += '3';
      i += 2;
      continue;
    }
    for (const Fold& fold : kFolds) {
      const std::string_view from(fold.from);
      if (text.substr(i, from.size()) != from) continue;
      out += fold.to;
      i += from.size();
      found = true;
      break;
    }
    if (!found) {
      out += '?';
      i += c >= 0xF0 ? 4 : c >= 0xE0 ? 3 : 2;
    }
  }
  return out;
}

std::string SqueezeText(std::string_view folded) {
  std::string out;
  for (char c : folded) {
    if (Letter(c) || Digit(c)) out += c;
  }
  return out;
}

std::vector<std::string> WordsOf(std::string_view folded) {
  std::vector<std::string> out;
  std::string word;
  for (char c : folded) {
    if (Letter(c)) {
      word += c;
    } else if (!word.empty()) {
      out.push_back(std::move(word));
      word.clear();
    }
  }
  if (!word.empty()) out.push_back(std::move(word));
  return out;
}

double ReadingCost(std::string_view meant, std::string_view read) { return Edit(meant, read, false); }

double CostWithin(std::string_view meant, std::string_view text) { return Edit(meant, text, true); }

}  // namespace islebook
