// A drawn page as hostile hands may have it written: whatever stands in it, what is read is finite, within the limits, and refers to what exists.
#include <cmath>

#include "digitizer/drawing/drawn_page.h"
#include "tests/fuzz/fuzz_target.h"

namespace {

using namespace islebook;

bool Finite(const std::vector<Polyline>& lines) {
  for (const Polyline& line : lines)
    for (const ImagePoint& p : line.points)
      if (!std::isfinite(p.x) || !std::isfinite(p.y)) return false;
  return true;
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  return {
      R"page(<svg viewBox="0 0 100 50"><g clip-path="url(#c)"><path style="fill:none;stroke-width:0.5;stroke:rgb(100%,0%,0%);stroke-dasharray:3,1;" d="M 1 2 L 3 4 C 1 2 3 4 5 6 Z M 1 2" transform="matrix(1,0,0,-1,0,50)"/></g></svg>)page",
      R"page(<svg viewBox="0 0 9 9"><defs><clipPath id="c"><path d="M 0 0 L 9 0 L 9 9 Z"/></clipPath><symbol id="glyph0-1"><path d="M 0 0 L 1 0 L 1 1 Z"/></symbol></defs><g style="fill:#102030"><use xlink:href="#glyph0-1" x="1" y="2"/></g></svg>)page",
      R"page(<svg viewBox="0 0 9 9"><g id="a"><use xlink:href="#b"/></g><g id="b"><rect x="1" y="1" width="3" height="4" fill="rgb(1,2,3)" stroke="#fff000"/><image width="3" height="3"/></g></svg>)page"};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const DrawnLimits limits{.max_depth = 12, .max_elements = 2000, .max_points = 20'000};
  const auto page = ReadDrawnPage(text, {{300, 200}}, limits);
  if (!page) {
    FUZZ_CHECK(!page.error().message.empty());
    return 0;
  }
  for (const DrawnShape& shape : page->shapes) {
    FUZZ_CHECK(shape.stroked != shape.filled && Finite(shape.lines) && std::isfinite(shape.width_px));
    for (const int clip : shape.clips) FUZZ_CHECK(clip >= 0 && static_cast<std::size_t>(clip) < page->clips.size());
  }
  for (const DrawnGlyph& glyph : page->glyphs) FUZZ_CHECK(static_cast<std::size_t>(glyph.symbol) < page->symbols.size());
  for (const GlyphSymbol& symbol : page->symbols) FUZZ_CHECK(Finite(symbol.lines));
  ReadPageWords(text, {{300, 200}});
  return 0;
}
