// bench_in_cpp CASE SHELF      printed: as bench_in_c does.
#include <cstdio>
#include <limits>

#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/opened_bench.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf_maps.h"

int main(int argc, char** argv) {
  using namespace islebook;
  if (argc != 3) return 2;
  auto asked = ReadCaseFile(argv[1]);
  if (!asked) return std::fprintf(stderr, "%s\n", asked.error().message.c_str()), 1;
  const auto shelf = OpenShelf(argv[2], {.access = ShelfAccess::kRead});
  if (!shelf) return 1;
  const auto bench = OpenedBench::Open(std::move(*asked), [&shelf](const std::string& name) -> Result<BenchMap> {
    auto opened = ReadShelfMap(**shelf, name);
    if (!opened) return std::unexpected(opened.error());
    return BenchMap{std::make_shared<const PerformanceMap>(std::move(opened->map)), opened->name, opened->revision, opened->speed_limit_rpm};
  });
  if (!bench) return std::fprintf(stderr, "%s\n", bench.error().message.c_str()), 1;
  const auto result = bench->Run();
  if (!result) return 1;
  std::printf("%s\n----\n%s----\n", WriteBenchReport(*result).c_str(), WriteBenchCsv(*result).c_str());
  for (std::size_t column = 0; column < BenchColumns().size(); ++column) {
    const BenchColumn& named = BenchColumns()[column];
    std::printf("%s %s %s", named.role, named.quantity, named.unit);
    for (std::size_t row = 0; row < BenchRows(*result); ++row)
      std::printf(" %.17g", BenchValue(*result, row, column).value_or(std::numeric_limits<double>::quiet_NaN()));
    std::putchar('\n');
  }
  return 0;
}
