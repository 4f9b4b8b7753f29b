// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/segments.hpp"

#include "evendrip/geo/line.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

/// Emitters between two stations; the middle where there is none.
Block block_of(const Field& field, int number, double from_m, double to_m) {
  const Lateral& lateral = field.laterals[static_cast<std::size_t>(number)];
  const EmitterSpec& spec = field.zones[static_cast<std::size_t>(lateral.zone)].emitter;
  Block block;
  const auto add = [&](double station_m) {
    block.sites.push_back(
        {place_on_lateral(field, number, station_m), number, station_m, lateral.zone});
  };
  for (int e = 1; e <= lateral.emitters; ++e) {
    const double station_m = emitter_station_m(spec, e);
    if (station_m >= to_m) break;
    if (station_m >= from_m) add(station_m);
  }
  if (block.sites.empty()) add(0.5 * (from_m + to_m));
  block.weights.assign(block.sites.size(), 1.0 / static_cast<double>(block.sites.size()));
  return block;
}

void add_lateral(const Field& field, int number, double length_m, std::vector<Segment>& segments,
                 std::vector<Block>& blocks) {
  const Lateral& lateral = field.laterals[static_cast<std::size_t>(number)];
  const int count = std::max(1, static_cast<int>(std::lround(lateral.length_m / length_m)));
  const double step_m = lateral.length_m / count;
  for (int k = 0; k < count; ++k) {
    Segment segment;
    segment.lateral = number;
    segment.from_m = k * step_m;
    segment.to_m = (k + 1) * step_m;
    segment.line = part_of(lateral.line, segment.from_m * field.scale_factor,
                           segment.to_m * field.scale_factor);
    blocks.push_back(block_of(field, number, segment.from_m,
                              k + 1 == count ? lateral.length_m * 2 : segment.to_m));
    segments.push_back(std::move(segment));
  }
}

}  // namespace

std::vector<Segment> segments_of(const Field& field, const DischargeMap& map, double length_m,
                                 const Work& work) {
  if (!(length_m > 0)) throw std::invalid_argument("a segment needs a length");
  std::vector<Segment> segments;
  std::vector<Block> blocks;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const int zone = field.laterals[i].zone;
    if (zone < 0 || map.zones()[static_cast<std::size_t>(zone)].method == ZoneSurface::Method::none)
      continue;
    add_lateral(field, static_cast<int>(i), length_m, segments, blocks);
  }
  const std::vector<Prediction> means = map.means(blocks, work);
  for (std::size_t i = 0; i < segments.size(); ++i) segments[i].r = means[i];
  return segments;
}

}  // namespace evendrip
