// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "evendrip/crop/zonal.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "strips.hpp"

namespace evendrip {
namespace {

constexpr std::size_t cells_per_block = 1'000'000;
constexpr std::size_t half_keys = 65'536;

int rows_per_block(const Grid& grid) {
  const auto columns = static_cast<std::size_t>(std::max(1, grid.columns));
  return static_cast<int>(std::max(std::size_t{1}, cells_per_block / columns));
}

/// Calls visit(raster of a block, zone of each of its cells), north to south.
void for_each_block(const Field& field, const RasterReader& values,
                    const std::function<void(const Raster&, const std::vector<int>&)>& visit) {
  for (const Window& window : row_blocks(values.grid(), rows_per_block(values.grid()))) {
    visit(values.read(window), zones_of_cells(field, values.grid(), window));
  }
}

/// A number's bits in an order that follows its value.
std::uint32_t ordered_key(float value) {
  const auto bits = std::bit_cast<std::uint32_t>(value);
  return (bits & 0x80000000U) != 0 ? ~bits : bits | 0x80000000U;
}
float value_of_key(std::uint32_t key) {
  return std::bit_cast<float>((key & 0x80000000U) != 0 ? key & 0x7FFFFFFFU : ~key);
}

using Counts = std::vector<std::size_t>;

/// Where a rank falls among counts: the half key, and the rank within it.
struct Slot {
  std::size_t half = 0;
  std::size_t rank = 0;
};
Slot slot_of(const Counts& counts, std::size_t rank) {
  Slot slot{0, rank};
  while (slot.rank >= counts[slot.half]) slot.rank -= counts[slot.half++];
  return slot;
}

Counts leading_counts(const Field& field, const RasterReader& values, ZoneCells& cells) {
  Counts counts(half_keys, 0);
  for_each_block(field, values, [&](const Raster& part, const std::vector<int>& zones) {
    for (std::size_t i = 0; i < zones.size(); ++i) {
      if (zones[i] < 0) continue;
      if (!part.has_value(i)) {
        ++cells.missing;
        continue;
      }
      ++cells.cells;
      ++counts[ordered_key(part.values[i]) >> 16U];
    }
  });
  return counts;
}

/// Counts of trailing halves for each of two leading halves.
std::array<Counts, 2> trailing_counts(const Field& field, const RasterReader& values,
                                      const std::array<Slot, 2>& slots) {
  std::array<Counts, 2> counts = {Counts(half_keys, 0), Counts(half_keys, 0)};
  for_each_block(field, values, [&](const Raster& part, const std::vector<int>& zones) {
    for (std::size_t i = 0; i < zones.size(); ++i) {
      if (zones[i] < 0 || !part.has_value(i)) continue;
      const std::uint32_t key = ordered_key(part.values[i]);
      for (std::size_t s = 0; s < 2; ++s) {
        if (key >> 16U == slots[s].half) ++counts[s][key & 0xFFFFU];
      }
    }
  });
  return counts;
}

std::vector<CropStatistics> statistics_for(const CropLayer& layer,
                                           std::span<const MultiPolygon> shapes, const Work& work) {
  const std::vector<CoverageStatistics> values = statistics_under(*layer.values, shapes, work);
  const std::vector<CoverageStatistics> relative = statistics_under(*layer.relative, shapes, work);
  std::vector<CropStatistics> result(shapes.size());
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    result[i].values = values[i];
    result[i].relative_mean = relative[i].mean;
  }
  return result;
}

}  // namespace

Raster crop_index(Raster values, double median, CropSense sense) {
  for (std::size_t i = 0; i < values.values.size(); ++i) {
    if (!values.has_value(i)) continue;
    const double value = values.values[i];
    if (sense == CropSense::low_is_bad) {
      values.set(i, value / median);
    } else if (value > 0) {
      values.set(i, median / value);
    } else {
      values.clear(i, Reason::source_nodata);  // no ratio at or below freezing
    }
  }
  return values;
}

ZoneCells median_inside_zones(const Field& field, const RasterReader& values) {
  ZoneCells cells;
  const Counts leading = leading_counts(field, values, cells);
  if (cells.cells == 0) return cells;
  const std::array<Slot, 2> slots = {slot_of(leading, (cells.cells - 1) / 2),
                                     slot_of(leading, cells.cells / 2)};
  const std::array<Counts, 2> trailing = trailing_counts(field, values, slots);
  for (std::size_t s = 0; s < 2; ++s) {
    const std::size_t half = slot_of(trailing[s], slots[s].rank).half;
    const std::size_t key = slots[s].half << 16U | half;
    cells.median += 0.5 * static_cast<double>(value_of_key(static_cast<std::uint32_t>(key)));
  }
  return cells;
}

std::vector<CropStatistics> crop_by_zone(const Field& field, const CropLayer& layer) {
  std::vector<MultiPolygon> areas;
  areas.reserve(field.zones.size());
  for (const Zone& zone : field.zones) areas.push_back(zone.area);
  std::vector<CropStatistics> result = statistics_for(layer, areas, {});
  for (std::size_t z = 0; z < result.size(); ++z) {
    result[z].name = field.zones[z].id;
    result[z].zone = static_cast<int>(z);
  }
  return result;
}

std::vector<CropStatistics> crop_by_lateral(const Field& field, const CropLayer& layer,
                                            const Work& work) {
  const LateralStrips strips(field);
  std::vector<MultiPolygon> shapes(field.laterals.size());
  for_each_chunk(work, shapes.size(), 8, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) shapes[i] = strips.whole(static_cast<int>(i));
  });
  std::vector<CropStatistics> result = statistics_for(layer, shapes, work);
  for (std::size_t i = 0; i < result.size(); ++i) {
    result[i].name = field.laterals[i].id;
    result[i].zone = field.laterals[i].zone;
    result[i].lateral = static_cast<int>(i);
  }
  return result;
}

}  // namespace evendrip
