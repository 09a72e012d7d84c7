#include "digitizer/axes/writing_turn.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "digitizer/axes/axis_title.h"

namespace islebook {
namespace {

// -1: neither; 0: level; 1: on its side.
int WayOf(const Word& word) {
  const double lean = std::abs(std::remainder(word.angle_deg, 180.0));
  return lean < 30.0 ? 0 : lean > 60.0 ? 1 : -1;
}

// How well a reading reads: letters that are sure, in words of one case; a title that is understood counts most. Upside down, letters read as a jumble
// of capitals, digits and marks, at times surely enough.
double Sense(const Reading& reading) {
  int letters = 0, digits = 0, breaks = 0;
  char before = ' ';
  for (const char c : reading.text) {
    const auto u = static_cast<unsigned char>(c);
    if (std::isalpha(u) != 0) {
      ++letters;
      if (std::isupper(u) != 0 && std::islower(static_cast<unsigned char>(before)) != 0) ++breaks;
    } else if (std::isdigit(u) != 0) {
      ++digits;
      if (std::isalpha(static_cast<unsigned char>(before)) != 0) ++breaks;
    } else if (c != ' ' && c != '.' && c != ',' && c != '(' && c != ')' && c != '[' && c != ']' && c != '/' && c != '%' && c != '-') {
      ++breaks;
    }
    before = c;
  }
  const TitleMeaning meaning = UnderstandTitle(reading.text);
  const double title = meaning.matter == AxisMatter::kUnknown || meaning.confidence < 0.6 ? 0.0 : 12.0 * meaning.confidence;
  // Seen: the right way up clean print reads at 0.98 and above, the wrong way up at 0.86 to 0.92.
  const double sure = std::pow(std::clamp((reading.confidence - 0.6) / 0.4, 0.05, 1.0), 3.0);
  return std::max(0.0, sure * (letters + 0.5 * digits - 4.0 * breaks)) + title;
}

}  // namespace

WritingTurn FindWritingTurn(const Page& page, const PrintFound& print, PrintReader& reader, const WritingTurnOptions& options) {
  WritingTurn turn;
  double words[2] = {0.0, 0.0};
  for (const Word& word : print.words) {
    // A single glyph runs no way.
    if (word.glyphs.size() < 2 || word.width_px < 1.2 * word.height_px) continue;
    if (const int way = WayOf(word); way >= 0) words[way] += 1.0;
  }
  const bool on_side = words[1] > 1.5 * words[0] && words[1] >= 6.0;
  std::vector<Word> lines;
  for (const std::vector<std::size_t>& line : GroupIntoLines(print.words, 1.2)) {
    std::vector<Word> members;
    for (const std::size_t w : line) members.push_back(print.words[w]);
    Word joined = JoinWords(members);
    if (joined.glyphs.size() >= 7 && WayOf(joined) == (on_side ? 1 : 0)) lines.push_back(std::move(joined));
  }
  std::stable_sort(lines.begin(), lines.end(), [](const Word& a, const Word& b) { return a.glyphs.size() > b.glyphs.size(); });
  if (lines.size() > options.most_lines) lines.resize(options.most_lines);
  // Each line at the angle nearest to level or to reading downward, and the other way up.
  double sense[2] = {0.0, 0.0};
  for (const Word& line : lines) {
    const double toward = on_side ? 90.0 : 0.0;
    const double angle = toward + std::remainder(line.angle_deg - toward, 180.0);
    for (const int up : {0, 1}) sense[up] += Sense(reader.Read(page, line, Alphabet::kText, angle + 180.0 * up));
  }
  const bool other = sense[1] > options.clearly * sense[0] && sense[1] > 4.0;
  const bool this_one = sense[0] > options.clearly * sense[1] && sense[0] > 4.0;
  // Read downward, the sheet lies turned clockwise and is turned back by three more quarters.
  if (on_side && (other || this_one))
    turn.quarter_turns = this_one ? 3 : 1;
  else if (!on_side && other)
    turn.quarter_turns = 2;
  turn.report.notes.push_back(fmt::format("{:.0f} words level, {:.0f} on their side; {} lines of letters read {:.0f} one way up, {:.0f} the other",
                                          words[0], words[1], lines.size(), sense[0], sense[1]));
  return turn;
}

}  // namespace islebook
