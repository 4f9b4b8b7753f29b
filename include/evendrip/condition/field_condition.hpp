// SPDX-License-Identifier: Apache-2.0
// In what state is each emitter? Zone by zone: holes, crop, gauges and network in one estimate,
// with what it may be trusted for.
//
// Delivery = discharge over that of a clean system at the measured inlet pressure: what the plant
// gets. Performance r = discharge over that of a clean emitter at its real pressure: clogging and
// wear alone. They differ by the faults found in the network.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/crop_dates.hpp"
#include "evendrip/condition/crop_gate.hpp"
#include "evendrip/condition/heard_meter.hpp"
#include "evendrip/condition/network_faults.hpp"
#include "evendrip/condition/placebo.hpp"
#include "evendrip/condition/system_uniformity.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/crop/machine_marks.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/surface/discharge_samples.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// Of one segment of a lateral, as its emitters share it; the emitters' own spread and plugging are
/// in the probabilities.
struct SegmentCondition {
  int row = 0;      ///< of the zone's grid
  int station = 0;  ///< likewise
  Judged performance;
  Judged delivery;
  double p_clogged = 0;  ///< that an emitter there performs below Thresholds::clogged_below
  double p_low = 0;      ///< that an emitter there delivers below Thresholds::low_below
  /// Whether the verdict on delivery (p_low above or below a half) stands with the crop's slope
  /// halved and doubled; false where it flips: "not known".
  bool slope_holds = true;
  /// False where the crop cannot tell water from a machine's pass, or where its layers contradict
  /// each other: "not known: dig or gauge here".
  bool told_apart = true;

  bool verdict_holds() const { return slope_holds && told_apart; }
};

/// What each part explains of the crop's variance in a zone, shares of the whole.
struct CropShares {
  double water_station = 0;  ///< along the laterals alike
  double water_lateral = 0;  ///< whole laterals, each for itself
  double water_group = 0;    ///< whole laterals with their neighbours
  double water_local = 0;    ///< a few laterals from somewhere on
  double network = 0;        ///< faults found in the network
  double soil = 0;
  double edge = 0;    ///< near the ends of laterals, whatever it is
  double ground = 0;  ///< elevation and soil map
  double error = 0;
};

/// What one layer of the crop may say in a zone, and why.
struct CropVoice {
  std::string layer;  ///< id
  std::size_t data = 0;
  bool fine_enough = true;  ///< sees single laterals: no wider than two spacings
  double smallest_width_m = 0;
  double smallest_length_m = 0;
  bool before_irrigation = false;  ///< irrigation cannot show in it (crop_dates.hpp)
  bool machine = false;            ///< stripes at an implement width stand in it
  /// What was looked for in it that is no water, and taken out where it is there; plain words.
  std::string taken_out;
  double moved_m = 0;  ///< across the laterals, to where rows of the grid ascend (layer_place.hpp)
  std::string place;   ///< the same in plain words; empty: it lies where it is drawn
  std::string reach;   ///< how far plants draw water, where it is not the usual (roots_reach.hpp)
  std::string age;     ///< how old it is against the holes, and what was done since; likewise
  std::optional<PlaceboRank> placebo;
  bool used = false;
  std::string why;  ///< one or two plain sentences
};

/// Where another layer that passed its tests as well says otherwise than the one that is used.
struct LayerContradiction {
  std::string layer;          ///< the other one
  std::vector<int> segments;  ///< of the grid, ascending
};

struct ZoneState {
  int zone = -1;
  bool judged = false;
  std::string why_not;                                   ///< plain words if not judged
  ReferenceKind reference = ReferenceKind::zone_median;  ///< what delivery and performance are over
  SegmentGrid grid;
  ZoneCondition condition;
  NetworkExplanation network;
  std::vector<CropVoice> voices;           ///< one for each layer
  std::string layer_used;                  ///< id; empty: none
  bool verified = false;                   ///< the crop was verified by holes
  std::string told;                        ///< what the meter says of it; empty: no meter
  std::vector<SegmentCondition> segments;  ///< present ones, by row, then station
  CropShares shares;
  std::vector<Point> crop_places;  ///< of each crop datum in the estimate: where its soil is
  ModelUniformity uniformity;
  /// Without holes: what water's shape takes from the relative crop at each segment, 0 where
  /// nothing; "crop and gauges only, not verified". Empty otherwise.
  std::vector<double> unverified_crop;
  /// Layer in which irrigation cannot show, if there is one, and what follows laterals or stations
  /// there at each segment, of relative crop: a low place in it is machine or soil, not water.
  std::string layer_before;
  std::vector<double> crop_before;
  std::vector<LayerContradiction> contradictions;
  std::string doubtful;    ///< why verdicts of the crop alone do not stand; plain words, or empty
  std::string done_since;  ///< what the maintenance log has after the survey, likewise
  /// Response that the crop shows where it bends; nothing where it is straight.
  std::optional<CropKink> bend;
  /// What moved r of each segment, beside the changes by the network: at the parameters that fit
  /// best, and what mixing over others adds (`spread`). Empty where not judged.
  EstimateSources moved_by;
  std::vector<double> moved_by_meter;  ///< empty: no meter was heard
  std::vector<double> moved_by_spread;
  Judged mean_delivery;             ///< of all emitters of the zone; 0 where nothing was drawn
  Judged mean_unmetered;            ///< the same before the meter was heard
  std::optional<MeterHeard> meter;  ///< what the meter moved, where one speaks of the zone
};

struct FieldCondition {
  std::vector<ZoneState> zones;  ///< one for each zone of the field
  Doubts doubts;
};

/// What the field's crop has to say, one entry for each layer.
struct CropWitness {
  CropEvidence evidence;
  std::vector<MachineStripe> stripes;
};

struct ConditionOptions {
  std::uint64_t seed = 0;
  int emitters_per_plant = 1;  ///< [agronomy] emitters_per_root_zone
  int draws = 200;             ///< for the uniformity of the system
  double segment_m = 5;        ///< of the grid; longer where a zone would have over 4,000 segments
  IrrigationTimes irrigation;
};

/// For each zone: the layer of the crop that foretells laterals left out best is used if it does so
/// better than the holes alone and if the true laterals stand out of placebos; faults of the
/// network are put in place while holes, crop and gauges pay for them, and the rest is fitted
/// again. A zone without holes is not judged. Throws Interrupted. Same result for any number of
/// threads.
FieldCondition judge_condition(const Field& field, const Survey& survey,
                               const Expectation& expectation, const DischargeSamples& samples,
                               const std::vector<CropWitness>& crops,
                               const ConditionOptions& options, const Work& work);

/// State at a place on a lateral; nothing where its zone is not judged.
const SegmentCondition* condition_at(const FieldCondition& condition, int zone, int lateral,
                                     double station_m);

}  // namespace evendrip
