#include "mapstore/units/print_text.h"

#include <utility>

namespace islebook {
namespace {

// Superscripts are marked first ("\x01" and the character), so that a run of them becomes one exponent.
constexpr std::pair<const char*, const char*> kFolds[] = {
    {"\u2070",
     "\x01"
     "0"},
    {"\u00B9",
     "\x01"
     "1"},
    {"\u00B2",
     "\x01"
     "2"},
    {"\u00B3",
     "\x01"
     "3"},
    {"\u2074",
     "\x01"
     "4"},
    {"\u2075",
     "\x01"
     "5"},
    {"\u2076",
     "\x01"
     "6"},
    {"\u2077",
     "\x01"
     "7"},
    {"\u2078",
     "\x01"
     "8"},
    {"\u2079",
     "\x01"
     "9"},
    {"\u207B",
     "\x01"
     "-"},
    {"\u207A",
     "\x01"
     "+"},
    {"\u02D9", "."},
    {"\u00BD",
     "\x01"
     "\x02"},  // one half
    {"\u221A", "sqrt "},
    {"\u00B7", "*"},
    {"\u22C5", "*"},
    {"\u2219", "*"},
    {"\u2022", "*"},
    {"\u00D7", "*"},
    {"\u2715", "*"},
    {"\u2217", "*"},
    {"\u30FB", "*"},
    {"\u2215", "/"},
    {"\u2044", "/"},
    {"\u00F7", "/"},
    {"\uFF0F", "/"},
    {"\u2212", "-"},
    {"\u2013", "-"},
    {"\u2014", "-"},
    {"\u2010", "-"},
    {"\u2011", "-"},
    {"\u2012", "-"},
    {"\u2015", "-"},
    {"\u00B0", "~"},
    {"\u00BA", "~"},
    {"\u02DA", "~"},
    {"\u2103", "~C"},
    {"\u2109", "~F"},
    {"\u00B5", "u"},
    {"\u03BC", "u"},
    {"\u212A", "K"},
    {"\u2033", "\""},
    {"\u201C", "\""},
    {"\u201D", "\""},
    {"\u201E", "\""},
    {"\u2032", "'"},
    {"\u2018", "'"},
    {"\u2019", "'"},
    {"\u00B4", "'"},
    {"\u00A0", " "},
    {"\u2009", " "},
    {"\u202F", " "},
    {"\u2002", " "},
    {"\u2003", " "},
    {"\u2007", " "},
    {"\u200A", " "},
    {"\u200B", ""},
    {"\uFEFF", ""},
    {"\uFB01", "fi"},
    {"\uFF05", "%"},
    {"\u03B7", "eta"},
};

}  // namespace

bool IsAsciiLetter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool IsAsciiDigit(char c) { return c >= '0' && c <= '9'; }

std::string LowerAscii(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::string FoldPrint(std::string_view text) {
  std::string marked;
  for (std::size_t i = 0; i < text.size();) {
    const auto byte = static_cast<unsigned char>(text[i]);
    bool folded = false;
    if (byte >= 0x80) {
      for (const auto& [from, to] : kFolds) {
        const std::string_view sign(from);
        if (text.substr(i, sign.size()) != sign) continue;
        marked += to;
        i += sign.size();
        folded = true;
        break;
      }
    }
    if (folded) continue;
    if (byte == '\t' || byte == '\n' || byte == '\r')
      marked += ' ';
    else if (byte >= 0x20 || byte >= 0x80)
      marked += text[i];
    ++i;
  }

  std::string out;
  bool in_superscript = false;
  for (std::size_t i = 0; i < marked.size(); ++i) {
    if (marked[i] == '\x01' && i + 1 < marked.size()) {
      const bool after_something = !out.empty() && out.back() != ' ' && out.back() != '(' && out.back() != '*' && out.back() != '/';
      if (!in_superscript && after_something) out += '^';
      ++i;
      if (marked[i] == '\x02')
        out += "0.5";
      else
        out += marked[i];
      in_superscript = true;
      continue;
    }
    in_superscript = false;
    if (marked[i] == ' ' && (out.empty() || out.back() == ' ')) continue;
    out += marked[i];
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

}  // namespace islebook
