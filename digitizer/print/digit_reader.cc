#include "digitizer/print/digit_reader.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include <opencv2/core.hpp>

#include "digitizer/print/digit_net.h"

namespace islebook {
namespace {

constexpr int kHeight = static_cast<int>(kDigitReaderHeight);
constexpr int kAbove = 4, kBelow = 6;  // rows beyond the digits that the net sees
constexpr int kNetWidth = 2 * static_cast<int>(kNetColumns);
constexpr int kWidest = 36, kNarrowest = 3;  // of a character, px
constexpr float kLeastInk = 1.0F;            // of a character, in columns' worth of full ink
constexpr float kSkipped = 4.0F;             // cost of a pixel of full ink that no character explains
constexpr float kSkippedKnown = 2.0F;        // the same where it is known what numbers there may be: ends of lines are expected about them
constexpr float kEndCap = 6.0F;              // most that strange ink beside the word costs: bits of lines stand there
constexpr float kLostPoint = 5.0F;           // cost of a point that must be there and is not seen
constexpr float kPointInk = 2.5F;            // the least of a point or comma, px of full ink
constexpr float kFarOff = 1e9F;
constexpr std::size_t kPoint = 10, kComma = 11, kFirstSign = 12;  // in the net's order; per cent and k end a number

enum State { kBefore, kInNumber, kEnded, kStates };

struct Step {
  float cost = kFarOff;
  int cut = -1, state = 0, character = -1;
  float likelihood = 0.0F;
};

// Ink of the number's rows by column, in px of full ink.
std::vector<float> ColumnInk(const cv::Mat1b& image, int top) {
  std::vector<float> ink(static_cast<std::size_t>(image.cols), 0.0F);
  for (int y = std::max(0, top - 2); y < std::min(image.rows, top + kHeight + 3); ++y)
    for (int x = 0; x < image.cols; ++x) ink[static_cast<std::size_t>(x)] += static_cast<float>(255 - image(y, x)) / 255.0F;
  return ink;
}

// Where a word may be cut: the ends of bare gaps, and the paler columns between.
std::vector<int> CutsOf(const std::vector<float>& ink) {
  constexpr float kBare = 0.25F;
  const int n = static_cast<int>(ink.size());
  std::vector<int> cuts{0};
  const auto at = [&](int x) { return ink[static_cast<std::size_t>(std::clamp(x, 0, n - 1))]; };
  const auto smooth = [&](int x) { return 0.25F * at(x - 1) + 0.5F * at(x) + 0.25F * at(x + 1); };
  for (int x = 1; x + 1 < n; ++x) {
    if ((at(x) < kBare) != (at(x - 1) < kBare))
      cuts.push_back(x);
    else if (at(x) >= kBare && smooth(x) <= smooth(x - 1) && smooth(x) < smooth(x + 1))
      cuts.push_back(x);
  }
  cuts.push_back(n);
  return cuts;
}

std::array<float, kNetInputs> PatchOf(const cv::Mat1b& image, int top, int left, int right) {
  std::array<float, kNetInputs> patch{};
  const int width = std::min(right - left, kNetWidth), offset = (kNetWidth - width) / 2;
  for (int y = 0; y < kHeight + kAbove + kBelow; ++y) {
    const int row = top - kAbove + y;
    if (row < 0 || row >= image.rows) continue;
    for (int x = 0; x < width; ++x)
      patch[static_cast<std::size_t>(y / 2) * kNetColumns + static_cast<std::size_t>((offset + x) / 2)] +=
          static_cast<float>(255 - image(row, left + x)) / (4.0F * 255.0F);
  }
  return patch;
}

bool IsPoint(int character) { return character == static_cast<int>(kPoint) || character == static_cast<int>(kComma); }

}  // namespace

DigitReader::DigitReader(const WordCrop& crop) : left_(crop.left), right_(crop.right) {
  const int top = static_cast<int>(std::lround(crop.top));
  if (crop.image.empty() || crop.image.cols > 60 * kHeight) return;
  const std::vector<float> ink = ColumnInk(crop.image, top);
  sum_.assign(ink.size() + 1, 0.0F);
  for (std::size_t x = 0; x < ink.size(); ++x) sum_[x + 1] = sum_[x] + ink[x];
  cuts_ = CutsOf(ink);
  pieces_.resize(cuts_.size());
  for (std::size_t j = 1; j < cuts_.size(); ++j)
    for (std::size_t i = j; i-- > 0;) {
      const int width = cuts_[j] - cuts_[i];
      if (width > kWidest) break;
      if (width < kNarrowest || Between(i, j) < kLeastInk) continue;
      Piece piece{static_cast<int>(i), JudgeCharacter(PatchOf(crop.image, top, cuts_[i], cuts_[j]))};
      // Which of the two it is says little; that it is one of them says all.
      auto& likelihood = piece.likelihood;
      const float either = std::log(std::exp(likelihood[kPoint]) + std::exp(likelihood[kComma]) + 1e-9F);
      likelihood[likelihood[kPoint] >= likelihood[kComma] ? kPoint : kComma] = Between(i, j) < kPointInk ? -kFarOff : either;
      pieces_[j].push_back(piece);
    }
}

float DigitReader::Between(std::size_t i, std::size_t j) const {
  return sum_[static_cast<std::size_t>(cuts_[j])] - sum_[static_cast<std::size_t>(cuts_[i])];
}

// What stands beside the word's own box costs little to leave out.
float DigitReader::Outside(std::size_t i, std::size_t j) const {
  const auto ink = [&](int from, int to) {
    from = std::clamp(from, cuts_[i], cuts_[j]), to = std::clamp(to, cuts_[i], cuts_[j]);
    return to > from ? sum_[static_cast<std::size_t>(to)] - sum_[static_cast<std::size_t>(from)] : 0.0F;
  };
  return std::min(kEndCap, kSkipped * (ink(0, left_) + ink(right_, cuts_.back()))) + kSkipped * ink(left_, right_);
}

double DigitReader::CostOf(std::string_view text) const {
  const std::size_t n = cuts_.size(), m = text.size();
  if (n == 0 || m == 0) return kFarOff;
  const std::string_view known(kNetCharacters);
  std::vector<std::size_t> characters;
  for (const char c : text) {
    characters.push_back(known.find(c));
    if (characters.back() == std::string_view::npos) return kFarOff;
  }
  std::vector<std::vector<float>> cost(n, std::vector<float>(m + 1, kFarOff));
  cost[0][0] = 0.0F;
  for (std::size_t j = 1; j < n; ++j) {
    cost[j][0] = Outside(0, j);
    for (std::size_t k = 1; k <= m; ++k) {
      cost[j][k] = cost[j - 1][k] + kSkipped * Between(j - 1, j);
      const std::size_t c = characters[k - 1];
      for (const Piece& piece : pieces_[j]) {
        const float likelihood = IsPoint(static_cast<int>(c)) ? std::max(piece.likelihood[kPoint], piece.likelihood[kComma]) : piece.likelihood[c];
        cost[j][k] = std::min(cost[j][k], cost[static_cast<std::size_t>(piece.from)][k - 1] - likelihood);
      }
    }
  }
  float least = kFarOff;
  for (std::size_t j = 1; j < n; ++j) least = std::min(least, cost[j][m] + Outside(j, n - 1));
  return least;
}

std::vector<float> DigitReader::CostsOf(std::span<const std::string> texts) const {
  std::vector<float> costs(texts.size(), kFarOff);
  const std::size_t n = cuts_.size();
  if (n == 0) return costs;
  std::vector<std::size_t> order(texts.size());
  std::iota(order.begin(), order.end(), 0);
  const auto backward = [](const std::string& a, const std::string& b) {
    return std::lexicographical_compare(a.rbegin(), a.rend(), b.rbegin(), b.rend());
  };
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return backward(texts[a], texts[b]); });
  struct Start {
    std::size_t to = 0;
    const Piece* piece = nullptr;
  };
  std::vector<std::vector<Start>> starts(n);
  for (std::size_t j = 1; j < n; ++j)
    for (const Piece& piece : pieces_[j]) starts[static_cast<std::size_t>(piece.from)].push_back({j, &piece});
  const std::string_view known(kNetCharacters);
  // rows[k][i]: the cheapest way from cut i to the end with the last k characters.
  std::vector<std::vector<float>> rows{std::vector<float>(n)};
  for (std::size_t i = 0; i < n; ++i) rows[0][i] = Outside(i, n - 1);
  const std::string* before = nullptr;
  for (const std::size_t at : order) {
    const std::string& text = texts[at];
    std::size_t shared = 0;
    while (before != nullptr && shared < before->size() && shared < text.size() &&
           (*before)[before->size() - 1 - shared] == text[text.size() - 1 - shared])
      ++shared;
    rows.resize(shared + 1);
    for (std::size_t k = shared + 1; k <= text.size(); ++k) {
      const std::size_t c = known.find(text[text.size() - k]);
      std::vector<float> row(n, kFarOff);
      const std::vector<float>& next = rows.back();
      const bool point = c != std::string_view::npos && IsPoint(static_cast<int>(c));
      for (std::size_t i = n - 1; i-- > 0 && c != std::string_view::npos;) {
        row[i] = row[i + 1] + kSkippedKnown * Between(i, i + 1);
        if (point) row[i] = std::min(row[i], next[i] + kLostPoint);
        for (const Start& start : starts[i]) {
          const auto& likelihood = start.piece->likelihood;
          row[i] = std::min(row[i], next[start.to] - (point ? std::max(likelihood[kPoint], likelihood[kComma]) : likelihood[c]));
        }
      }
      rows.push_back(std::move(row));
    }
    before = &text;
    if (text.empty()) continue;
    for (std::size_t i = 0; i + 1 < n; ++i) costs[at] = std::min(costs[at], Outside(0, i) + rows.back()[i]);
  }
  return costs;
}

DigitReading DigitReader::Read() const {
  DigitReading reading;
  const auto n = cuts_.size();
  if (n == 0) return reading;
  // The cheapest way from the left end to each cut, by whether the number has begun or ended.
  std::vector<std::array<Step, kStates>> best(n);
  best[0][kBefore].cost = 0.0F;
  const auto offer = [&](std::size_t j, int state, const Step& step) {
    if (step.cost < best[j][static_cast<std::size_t>(state)].cost) best[j][static_cast<std::size_t>(state)] = step;
  };
  for (std::size_t j = 1; j < n; ++j) {
    for (int s = 0; s < kStates; ++s)
      offer(j, s, {best[j - 1][static_cast<std::size_t>(s)].cost + kSkipped * Between(j - 1, j), static_cast<int>(j) - 1, s});
    offer(j, kBefore, {Outside(0, j), 0, kBefore});
    for (const Piece& piece : pieces_[j])
      for (int s = 0; s < kEnded; ++s) {
        const float before = best[static_cast<std::size_t>(piece.from)][static_cast<std::size_t>(s)].cost;
        if (before >= kFarOff) continue;
        for (std::size_t c = 0; c + 1 < kNetAnswers; ++c) {
          const bool sign = c >= kFirstSign;
          if (piece.likelihood[c] < -14.0F || (sign ? s != kInNumber : s == kBefore && c == kComma)) continue;
          offer(j, sign ? kEnded : kInNumber, {before - piece.likelihood[c], piece.from, s, static_cast<int>(c), piece.likelihood[c]});
        }
      }
  }
  float least = kFarOff;
  std::size_t at = 0, state = 0;
  for (std::size_t j = 0; j < n; ++j)
    for (const std::size_t s : {static_cast<std::size_t>(kInNumber), static_cast<std::size_t>(kEnded)}) {
      const float cost = best[j][s].cost + Outside(j, n - 1);
      if (cost < least) least = cost, at = j, state = s;
    }
  if (least >= kFarOff) return reading;
  std::vector<Step> characters;
  float explained = 0.0F;
  while (at > 0) {
    const Step& step = best[at][state];
    if (step.character >= 0) {
      characters.push_back(step);
      explained += Between(static_cast<std::size_t>(step.cut), at);
    }
    at = static_cast<std::size_t>(step.cut);
    state = static_cast<std::size_t>(step.state);
  }
  std::reverse(characters.begin(), characters.end());
  // A point at the end, or before more than three digits, is a blot.
  const auto point = [](const Step& s) { return IsPoint(s.character); };
  while (!characters.empty() && point(characters.back())) characters.pop_back();
  while (!characters.empty() && point(characters.front()) && characters.size() > 4) characters.erase(characters.begin());
  if (characters.empty()) return reading;
  float unsure = 0.0F;
  for (const Step& s : characters) {
    reading.text += kNetCharacters[s.character];
    unsure = std::min(unsure, s.likelihood);
  }
  const float body = Outside(0, n - 1) / kSkipped;
  reading.cost = least;
  reading.confidence = std::exp(unsure);
  reading.clear = std::min(1.0F, explained / std::max(1.0F, body));
  return reading;
}

}  // namespace islebook
