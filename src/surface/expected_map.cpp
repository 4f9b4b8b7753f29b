// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/expected_map.hpp"

#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {

DischargeReference reference_of(const Expectation& expectation) {
  DischargeReference reference;
  for (const ExpectedZone& zone : expectation.zones)
    reference.zones.push_back(zone.computed ? 1 : 0);
  for (const JudgedEmitter& emitter : expectation.emitters)
    reference.emitters_lph.push_back(emitter.expected_lph);
  return reference;
}

ExpectedPart expected_over(const Field& field, const Grid& grid, const Window& window,
                           const ExpectedAt& at, const Work& work) {
  constexpr std::size_t cells_of_a_chunk = 4096;
  const Raster blank(sub_grid(grid, window), Reason::outside_zones);
  ExpectedPart part{blank, blank};
  const std::vector<int> zones = zones_of_cells(field, grid, window);
  const auto columns = static_cast<std::size_t>(window.columns);
  for_each_chunk(
      work, zones.size(), cells_of_a_chunk, [&](std::size_t begin, std::size_t end, int) {
        for (std::size_t i = begin; i < end; ++i) {
          if (zones[i] < 0) continue;
          const Point place =
              blank.grid.centre(static_cast<int>(i / columns), static_cast<int>(i % columns));
          if (const auto value = at(place, zones[i])) {
            part.pressure_kpa.set(i, value->pressure_kpa);
            part.discharge_lph.set(i, value->discharge_lph);
          } else {
            part.pressure_kpa.clear(i, Reason::not_computed);
            part.discharge_lph.clear(i, Reason::not_computed);
          }
        }
      });
  return part;
}

}  // namespace evendrip
