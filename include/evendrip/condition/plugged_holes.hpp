// SPDX-License-Identifier: Apache-2.0
// The condition of a zone from its holes and crop: parameters, what each hole tells of its place
// and the estimate, in turn.
//
// A hole shows one emitter, the estimate is of the mean of its place. What a low one tells depends
// on the place (clogging.hpp): a plugged emitter in a sound zone is one of few by chance and does
// not bend the map of its neighbours but counts in the share; where a place has lost much, some are
// plugged, others hardly touched. Each hole enters as the normal measurement of its place that
// tells what it truly does beside the other data (expectation propagation: Minka 2001, Proc. UAI
// 362-369, from memory). What befell their places is asked first to explain low holes; the share
// that is plugged by chance, of a place or anywhere (plugged_places.hpp), is that of the others.
// Low holes may be believed or not, and each way of thinking bears itself out: both are tried, and
// the likelier is kept. What ends sharply in the crop about a hole is sought last
// (sharp_patches.hpp): as low water and as soil, and kept as what is likelier.
//
// Most laterals differ little from each other, a few much: each has a width of its own, a factor of
// the deviations of its own and its local part (a t distribution as a mixture of normal ones:
// Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84:881-896, from memory).
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/clogging.hpp"
#include "evendrip/condition/plugged_places.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct ZoneCondition {
  ConditionFit fit;
  ConditionEstimate estimate;
  std::vector<double> plugged;    ///< of each hole: probability that its emitter is plugged
  std::vector<double> by_chance;  ///< likewise, not by what befell its place
  PluggedPlaces places;           ///< where those that are plugged by chance keep company
  std::vector<HoleSite> sites;    ///< what each hole tells of its place
  std::vector<double> widths;     ///< of each lateral; empty: all 1
  std::vector<SharpPatch> patches;
  double plugged_share = 0;       ///< by chance, of all emitters of the grid
  Clogging clogging;              ///< of the zone's places, as its holes tell; with the share that
                                  ///< is plugged by chance anywhere
  std::vector<double> delivered;  ///< of each segment: mean over emitters, plugged ones too
};

/// Emitters that count as seen before any hole is dug, one in a hundred of them plugged; common
/// practice, no source.
inline constexpr double emitters_seen_before = 10;
/// Share of plugged emitters by such chances of the holes, wherever they stand, and of those seen
/// before: (sum + 0.1) / (holes + 10).
double plugged_share(std::span<const double> plugged);
/// Weights by which the holes' precisions count: one less the chance that each is plugged, and at
/// least 1e-4, which keeps the equations sound.
std::vector<double> hole_weights(std::span<const double> plugged);

/// What is known of the delivery of a segment by an estimate, emitters plugged anywhere left out.
KnownShare place_delivery(const ZoneCondition& condition, const ConditionEstimate& estimate,
                          std::size_t segment);

/// What emitters that are plugged in company take from the delivery of a segment: not above 0.
double lost_in_company(const ZoneCondition& condition, std::size_t segment);

/// Fills in what is delivered by its estimate.
void deliver(ZoneCondition& condition);

/// Whether places that end sharply are sought in the crop.
enum class PatchSearch { none, about_holes };

/// `plugged_below`: relative discharge, above 0. The estimate is mixed over what the parameters may
/// be (parameter_design.hpp), which are in the fit. The model is left with what the holes tell, the
/// widths of its laterals and its patches. Nothing where no parameters work. Throws
/// std::invalid_argument for a threshold not above 0. Same result for any number of threads.
std::optional<ZoneCondition> zone_condition(ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start = {},
                                            const Work& work = {},
                                            PatchSearch search = PatchSearch::about_holes);

/// Lets a model of the same zone, holes and crop see what another was left with.
void set_as_judged(ZoneModel& model, const ZoneCondition& condition);

/// The condition with a crop whose response bends: its model is bent about the estimate, and the
/// zone judged again, three times at most. The model is left bent about the last estimate but one.
std::optional<ZoneCondition> bent_condition(ZoneModel& model, double plugged_below,
                                            const CropKink& kink,
                                            const ConditionParameters& start = {},
                                            const Work& work = {});

}  // namespace evendrip
