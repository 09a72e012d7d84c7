// A sheet kept open, as the window keeps it: reads recipes from standard input, one a line, and writes the first map's document for each, one a line. Only what
// a recipe changes is done again. Usage: sheet_session SHEET

#include <algorithm>
#include <iostream>
#include <memory>
#include <string>

#include "digitizer/session.h"
#include "mapstore/map/map_document.h"

namespace {

int Refuse(const islebook::Error& error) {
  std::cerr << error.place << ": " << error.message << '\n';
  return 1;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::cerr << "Usage: sheet_session SHEET\n";
    return 2;
  }
  auto sheet = islebook::ReadSheet(arguments[1]);
  if (!sheet) return Refuse(sheet.error());
  islebook::Session session(std::make_shared<const islebook::Sheet>(std::move(*sheet)));
  for (std::string line; std::getline(std::cin, line);) {
    auto recipe = islebook::ParseRecipe(line);
    if (!recipe) return Refuse(recipe.error());
    session.SetRecipe(std::move(*recipe));
    const auto done = session.Run();
    if (!done) return Refuse(done.error());
    std::string text = islebook::WriteMapDocument(done->maps.front());
    std::ranges::replace(text, '\n', ' ');
    std::cout << text << std::endl;
  }
  return 0;
}
