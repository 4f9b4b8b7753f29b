// SPDX-License-Identifier: Apache-2.0
// The condition of places: look-ups for many places, the verdict on the water of a segment, what
// moved its estimate, and patches of segments that lie together.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// Whether a zone was told without holes: what it says of water is the shape of the crop alone, and
/// no probabilities of clogging are given.
bool told_without_holes(const ZoneState& zone);

/// Relative crop that water's shape explains at a segment (1: all of it); NaN where none is told.
double water_shaped_crop(const ZoneState& zone, int row, int station);

enum class WaterVerdict { enough, low, not_known };
std::string to_text(WaterVerdict verdict);  ///< "enough", "low", "not known"

/// Not known where the verdict hangs on the crop's slope, where the crop cannot tell water from
/// a machine's pass, where its layers contradict each other, or the 90 % limits of delivery reach
/// from clogged to not low; else low where an emitter there is low more likely than not.
WaterVerdict verdict_on(const SegmentCondition& segment, const Thresholds& thresholds);

/// What moved the performance of a segment from 1 and, by faults in the network, its delivery.
struct WaterParts {
  double level = 0;    ///< of the whole zone
  double station = 0;  ///< along the laterals alike
  double lateral = 0;  ///< of its lateral alone
  double group = 0;    ///< of its lateral with its neighbours
  double local = 0;    ///< of a few laterals from somewhere on
  double company = 0;  ///< of emitters that are plugged in company, not above 0
  double network = 0;  ///< of all faults found
  /// The same performance by what was seen, instead of by shape: holes, the crop, and what other
  /// parameters that fit nearly as well would say.
  double by_holes = 0;
  double by_crop = 0;
  double by_meter = 0;
  double by_spread = 0;
};
WaterParts parts_at(const ZoneState& zone, int row, int station);

/// Finds segments by lateral and station. Refers to the condition, which must outlive it.
class ConditionPlaces {
 public:
  ConditionPlaces(const Field& field, const FieldCondition& condition);
  struct Found {
    const ZoneState* zone = nullptr;
    int row = -1;
    int station = -1;
    const SegmentCondition* segment = nullptr;  ///< null where the zone tells no such segment
  };
  /// Nothing for a lateral of no zone that is told. Safe from many threads.
  std::optional<Found> at(int lateral, double station_m) const;

 private:
  const FieldCondition* condition_;
  std::vector<int> zone_of_lateral_;         ///< index into FieldCondition::zones, -1: none
  std::vector<int> row_of_lateral_;          ///< of the zone's grid
  std::vector<std::vector<int>> positions_;  ///< of each zone: of its grid's segments in `segments`
};

/// Segments that touch along or across the laterals.
struct SegmentPatch {
  std::vector<int> segments;  ///< of the zone's grid
  int first_row = 0;
  int last_row = 0;
  double from_m = 0;  ///< stations on the ground
  double to_m = 0;
};
/// Largest first. `within(row, station)` is asked of segments that are there.
std::vector<SegmentPatch> patches_where(const SegmentGrid& grid,
                                        const std::function<bool(int, int)>& within);

/// Patches that end sharply in the crop that is used.
struct ToldSharpPatch {
  SegmentPatch patch;
  bool of_soil = false;
};
std::vector<ToldSharpPatch> sharp_patches(const ZoneState& zone);

/// "lateral L12, 30 to 60 m", "laterals L12 to L15, 98 to 197 ft" from the supply end.
std::string told_place(const Field& field, const SegmentGrid& grid, const SegmentPatch& patch);

/// Emitters on each segment of a zone's grid, by spacing and first offset.
std::vector<int> emitters_of_segments(const Field& field, const SegmentGrid& grid);

}  // namespace evendrip
