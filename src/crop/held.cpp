// SPDX-License-Identifier: Apache-2.0
#include "held.hpp"

#include <algorithm>
#include <cstddef>
#include <utility>

namespace evendrip {

std::shared_ptr<const RasterReader> held(std::unique_ptr<RasterReader> reader, const Work& work) {
  constexpr std::size_t most_cells = 16'000'000;
  const Grid& grid = reader->grid();
  if (grid.cells() > most_cells) return reader;
  Raster whole(grid);
  const auto columns = static_cast<std::size_t>(grid.columns);
  for_each_chunk(
      work, static_cast<std::size_t>(grid.rows), 16, [&](std::size_t begin, std::size_t end, int) {
        const Window rows{static_cast<int>(begin), 0, static_cast<int>(end - begin), grid.columns};
        const Raster part = reader->read(rows);
        const auto at = static_cast<std::ptrdiff_t>(begin * columns);
        std::copy(part.values.begin(), part.values.end(), whole.values.begin() + at);
        std::copy(part.reasons.begin(), part.reasons.end(), whole.reasons.begin() + at);
      });
  return reader_of(std::move(whole));
}

}  // namespace evendrip
