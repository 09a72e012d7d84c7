#include "mapstore/units/unit_expression.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstring>
#include <utility>

#include "mapstore/units/print_text.h"

namespace islebook {
namespace {

struct Token {
  enum Kind { kWord, kNumber, kExponent, kOperator } kind = kOperator;
  std::string text;
  double number = 0.0;  // of kNumber; twice the exponent of kExponent
  char sign = 0;        // of kOperator: * / ( ) s (root)
};

bool IsWordByte(char c) { return IsAsciiLetter(c) || c == '~' || c == '%' || static_cast<unsigned char>(c) >= 0x80; }

// Letters that print and poor scans confuse, brought to one. Words with equal skeletons look alike.
std::string Skeleton(std::string_view word) {
  std::string out;
  for (std::size_t i = 0; i < word.size(); ++i) {
    if (word.substr(i, 2) == "rn" || word.substr(i, 2) == "RN") {
      out += 'm';
      ++i;
      continue;
    }
    switch (word[i]) {
      case 'I':
      case 'i':
      case '1':
      case '|':
      case '!':
      case 'l':
      case 'L':
      case 'j': out += 'l'; break;
      case 'q':
      case 'Q':
      case '9':
      case 'g':
      case 'G': out += 'g'; break;
      case 'o':
      case 'O':
      case '0': out += 'o'; break;
      case '5':
      case 's':
      case 'S': out += 's'; break;
      case '8':
      case 'B':
      case 'b': out += 'b'; break;
      default: out += LowerAscii(word.substr(i, 1));
    }
  }
  return out;
}

bool Listed(const char* words, std::string_view word) {
  for (const char* at = words; *at != '\0';) {
    const std::size_t length = std::strcspn(at, " ");
    if (LowerAscii(std::string_view(at, length)) == word) return true;
    at += length;
    while (*at == ' ') ++at;
  }
  return false;
}

const UnitAtom* FindAtom(std::string_view word, bool r_is_rankine) {
  for (const UnitAtom& atom : UnitAtoms())
    if (word == atom.spelling) return &atom;
  const std::string lower = LowerAscii(word);
  const UnitAtom* found = nullptr;
  if (lower == "n") return nullptr;  // newton is N; an n alone is more likely a misread number or index
  for (const UnitAtom& atom : UnitAtoms()) {
    if (LowerAscii(atom.spelling) != lower && !Listed(atom.words, lower)) continue;
    if (found == nullptr || (lower == "r" && (atom.exponents.twice[3] != 0) == r_is_rankine)) found = &atom;
  }
  return found;
}

// The one atom that `word` may be a misreading of.
const UnitAtom* FindMisread(std::string_view word, bool r_is_rankine) {
  if (word.size() < 2) return nullptr;  // a single letter may be anything
  const std::string skeleton = Skeleton(word);
  const UnitAtom* found = nullptr;
  for (const UnitAtom& atom : UnitAtoms()) {
    bool alike = Skeleton(atom.spelling) == skeleton;
    for (const char* at = atom.words; !alike && *at != '\0';) {
      const std::size_t length = std::strcspn(at, " ");
      alike = length >= 2 && Skeleton(std::string_view(at, length)) == skeleton;
      at += length;
      while (*at == ' ') ++at;
    }
    if (!alike) continue;
    if (found != nullptr && found != &atom) return nullptr;
    found = &atom;
  }
  return found != nullptr ? found : FindAtom(word, r_is_rankine);
}

std::optional<double> ReadNumber(std::string_view text, std::size_t& at) {
  double value = 0.0;
  const auto read = std::from_chars(text.data() + at, text.data() + text.size(), value, std::chars_format::fixed);
  if (read.ec != std::errc()) return std::nullopt;
  at = static_cast<std::size_t>(read.ptr - text.data());
  return value;
}

void SkipBlanks(std::string_view text, std::size_t& at) {
  while (at < text.size() && text[at] == ' ') ++at;
}

// An exponent at `at`: "^2", "^-1", "^(1/2)", "^.5", or without the caret straight after a word: "2", "-1", "0.5", "1/2". Twice its value.
std::optional<int> ReadExponent(std::string_view text, std::size_t& at) {
  std::size_t i = at;
  SkipBlanks(text, i);
  bool caret = false, bracket = false;
  if (i < text.size() && text[i] == '^') {
    caret = true;
    ++i;
    SkipBlanks(text, i);
    if (i < text.size() && text[i] == '(') {
      bracket = true;
      ++i;
      SkipBlanks(text, i);
    }
  } else if (i + 1 < text.size() && text[i] == '*' && text[i + 1] == '*') {
    caret = true;
    i += 2;
  }
  double sign = 1.0;
  if (i < text.size() && (text[i] == '-' || text[i] == '+')) {
    sign = text[i] == '-' ? -1.0 : 1.0;
    ++i;
    SkipBlanks(text, i);
  }
  if (i >= text.size() || !(IsAsciiDigit(text[i]) || text[i] == '.')) return std::nullopt;
  auto value = ReadNumber(text, i);
  if (!value) return std::nullopt;
  // "1/2" is a half, unless the 2 begins something else.
  if (*value == 1.0 && i + 1 < text.size() && text[i] == '/' && text[i + 1] == '2' &&
      (i + 2 == text.size() || !(IsAsciiDigit(text[i + 2]) || IsWordByte(text[i + 2])))) {
    value = 0.5;
    i += 2;
  }
  if (bracket) {
    SkipBlanks(text, i);
    if (i >= text.size() || text[i] != ')') return std::nullopt;
    ++i;
  }
  const double twice = 2.0 * sign * *value;
  if (twice == 0.0 || twice != std::round(twice) || std::fabs(twice) > 8.0) return std::nullopt;
  if (!caret && (std::fabs(twice) > 6.0 || twice == 2.0)) return std::nullopt;  // nobody prints "m1": it is an "l" or "i" misread
  at = i;
  return static_cast<int>(twice);
}

std::optional<std::vector<Token>> Tokenize(std::string_view text, bool allow_misread) {
  std::vector<Token> tokens;
  for (std::size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (c == ' ') {
      ++i;
    } else if (IsWordByte(c) || (allow_misread && (c == '|' || c == '!' || (IsAsciiDigit(c) && i + 1 < text.size() && IsAsciiLetter(text[i + 1]))))) {
      std::size_t end = i + 1;
      while (end < text.size() &&
             (IsWordByte(text[end]) || (allow_misread && (text[end] == '|' || text[end] == '!' ||
                                                          (IsAsciiDigit(text[end]) && end + 1 < text.size() && IsAsciiLetter(text[end + 1]))))))
        ++end;
      std::string word(text.substr(i, end - i));
      i = end;
      if (word == "sqrt" || word == "SQRT" || word == "Sqrt") {
        tokens.push_back({Token::kOperator, word, 0.0, 's'});
        continue;
      }
      if (word == "per" || word == "pro" || word == "par" || word == "je") {
        tokens.push_back({Token::kOperator, word, 0.0, '/'});
        continue;
      }
      if (word == "x" || word == "X") {
        tokens.push_back({Token::kOperator, word, 0.0, '*'});
        continue;
      }
      tokens.push_back({Token::kWord, word, 0.0, 0});
      if (i < text.size() && text[i] == '.') ++i;  // "min.", or a point for a multiplication
      if (const auto exponent = ReadExponent(text, i)) tokens.push_back({Token::kExponent, "", static_cast<double>(*exponent), 0});
    } else if (IsAsciiDigit(c) || (c == '.' && i + 1 < text.size() && IsAsciiDigit(text[i + 1]))) {
      auto value = ReadNumber(text, i);
      if (!value) return std::nullopt;
      if (i < text.size() && text[i] == '^') {  // a power of ten
        std::size_t at = i + 1;
        double sign = 1.0;
        if (at < text.size() && (text[at] == '-' || text[at] == '+')) sign = text[at++] == '-' ? -1.0 : 1.0;
        const auto power = at < text.size() && IsAsciiDigit(text[at]) ? ReadNumber(text, at) : std::nullopt;
        if (!power || *value != 10.0 || *power > 12.0) return std::nullopt;
        value = std::pow(10.0, sign * *power);
        i = at;
      }
      tokens.push_back({Token::kNumber, "", *value, 0});
    } else if (c == '*' || c == '/' || c == '(' || c == ')' || c == '[' || c == ']') {
      tokens.push_back({Token::kOperator, "", 0.0, c == '[' ? '(' : c == ']' ? ')' : c});
      ++i;
      if (c == ')' || c == ']') {
        if (const auto exponent = ReadExponent(text, i)) tokens.push_back({Token::kExponent, "", static_cast<double>(*exponent), 0});
      }
    } else if ((c == '-' || c == '.') && !tokens.empty() && i + 1 < text.size() && text[i + 1] != ' ') {
      tokens.push_back({Token::kOperator, "", 0.0, '*'});  // "N-m", "kg.K"
      ++i;
    } else {
      return std::nullopt;
    }
  }
  return tokens;
}

class Parser {
 public:
  Parser(std::vector<Token> tokens, const ExpressionReading& reading) : tokens_(std::move(tokens)), reading_(reading) {}

  std::optional<UnitProduct> Parse() {
    if (At('*')) ++next_;  // "x1000 rpm"
    auto product = ParseProduct(0);
    if (!product || next_ != tokens_.size()) return std::nullopt;
    product->repaired = repaired_;
    return product;
  }

 private:
  static constexpr int kMaxDepth = 8;

  bool At(char sign) const { return next_ < tokens_.size() && tokens_[next_].kind == Token::kOperator && tokens_[next_].sign == sign; }

  static void Multiply(UnitProduct& into, const UnitProduct& by, int sign) {
    const bool first = into.factors.empty();
    for (UnitFactor factor : by.factors) {
      factor.twice_exponent *= sign;
      into.factors.push_back(factor);
    }
    if (by.scale != 1.0) {
      into.scale = sign > 0 ? into.scale * by.scale : into.scale / by.scale;
      into.scale_in_front = into.scale_in_front && first && by.scale_in_front && sign > 0;
    }
  }

  std::optional<UnitProduct> ParseProduct(int depth) {
    if (depth > kMaxDepth) return std::nullopt;
    UnitProduct product;
    int sign = 1;
    bool any = false;
    while (next_ < tokens_.size() && !At(')')) {
      if (At('*') || At('/')) {
        const bool slash = At('/');
        ++next_;
        if (slash)
          sign = -1;
        else if (!reading_.quotient_takes_all)
          sign = 1;
        if (!any && !slash) return std::nullopt;
        if (next_ >= tokens_.size() || At(')') || At('*') || At('/')) return std::nullopt;
        if (!any) product.scale_in_front = true;  // "/min"
      }
      const auto factor = ParseFactor(depth);
      if (!factor) return std::nullopt;
      Multiply(product, *factor, sign);
      any = true;
      if (!reading_.quotient_takes_all) sign = 1;
    }
    return any ? std::optional(product) : std::nullopt;
  }

  std::optional<UnitProduct> ParseFactor(int depth) {
    UnitProduct product;
    if (At('s')) {
      ++next_;
      if (next_ >= tokens_.size()) return std::nullopt;
      const auto inner = ParseFactor(depth + 1);
      if (!inner || inner->scale != 1.0 || depth > kMaxDepth) return std::nullopt;
      product = *inner;
      for (UnitFactor& factor : product.factors) {
        if (factor.twice_exponent % 2 != 0) return std::nullopt;
        factor.twice_exponent /= 2;
      }
      return product;
    }
    const bool bracket = At('(');
    if (bracket) {
      ++next_;
      const auto inner = ParseProduct(depth + 1);
      if (!inner || !At(')')) return std::nullopt;
      ++next_;
      product = *inner;
    } else if (next_ < tokens_.size() && tokens_[next_].kind == Token::kNumber) {
      product.scale = tokens_[next_++].number;
      if (product.scale <= 0.0) return std::nullopt;
      return product;
    } else if (next_ < tokens_.size() && tokens_[next_].kind == Token::kWord) {
      const auto word = Word(tokens_[next_++].text);
      if (!word) return std::nullopt;
      product = *word;
    } else {
      return std::nullopt;
    }
    if (next_ < tokens_.size() && tokens_[next_].kind == Token::kExponent) {
      const int twice = static_cast<int>(tokens_[next_++].number);
      if (product.scale != 1.0) return std::nullopt;
      for (std::size_t i = bracket ? 0 : product.factors.size() - 1; i < product.factors.size(); ++i) {
        UnitFactor& factor = product.factors[i];
        if (factor.twice_exponent * twice % 2 != 0) return std::nullopt;
        factor.twice_exponent = factor.twice_exponent * twice / 2;
      }
    }
    return product;
  }

  std::optional<UnitProduct> Word(const std::string& word) {
    if (const UnitAtom* atom = FindAtom(word, reading_.r_is_rankine)) return UnitProduct{{{atom, 2}}};
    if (const auto glued = Glued(word)) return glued;
    if (!reading_.allow_misread) return std::nullopt;
    if (const UnitAtom* atom = FindMisread(word, reading_.r_is_rankine)) {
      repaired_ = true;
      return UnitProduct{{{atom, 2}}};
    }
    // A root sign read as a letter: "vK".
    if (word.size() >= 2 && (word[0] == 'v' || word[0] == 'V')) {
      const UnitAtom* atom = FindAtom(std::string_view(word).substr(1), true);
      if (atom != nullptr && atom->exponents.twice[3] != 0) {
        repaired_ = true;
        return UnitProduct{{{atom, 1}}};
      }
    }
    // A slash read as a letter: "kgls".
    for (std::size_t i = 1; i + 1 < word.size(); ++i) {
      if (std::string_view("lI|!1").find(word[i]) == std::string_view::npos) continue;
      const UnitAtom* above = FindAtom(std::string_view(word).substr(0, i), reading_.r_is_rankine);
      const UnitAtom* below = FindAtom(std::string_view(word).substr(i + 1), reading_.r_is_rankine);
      if (above == nullptr) above = FindMisread(std::string_view(word).substr(0, i), reading_.r_is_rankine);
      if (above == nullptr || below == nullptr || above->rank != 0 || below->rank != 2) continue;  // mass over time only
      repaired_ = true;
      return UnitProduct{{{above, 2}, {below, -2}}};
    }
    return std::nullopt;
  }

  // Two atoms without a space: "kgK", "skPa". Only what a flow parameter is made of.
  std::optional<UnitProduct> Glued(const std::string& word) const {
    for (std::size_t i = 1; i + 1 <= word.size() && word.size() > 1; ++i) {
      const UnitAtom *left = nullptr, *right = nullptr;
      for (const UnitAtom& atom : UnitAtoms()) {
        if (word.compare(0, i, atom.spelling) == 0) left = &atom;
        if (word.compare(i, std::string::npos, atom.spelling) == 0) right = &atom;
      }
      if (left == nullptr || right == nullptr) continue;
      if ((left->rank == 0 && right->rank == 3) || (left->rank == 2 && right->rank == 4)) return UnitProduct{{{left, 2}, {right, 2}}};
    }
    return std::nullopt;
  }

  std::vector<Token> tokens_;
  ExpressionReading reading_;
  std::size_t next_ = 0;
  bool repaired_ = false;
};

}  // namespace

std::optional<UnitProduct> ParseUnitExpression(std::string_view text, const ExpressionReading& reading) {
  auto tokens = Tokenize(text, reading.allow_misread);
  if (!tokens || tokens->empty()) return std::nullopt;
  return Parser(std::move(*tokens), reading).Parse();
}

}  // namespace islebook
