// SPDX-License-Identifier: Apache-2.0
// Where emitters are plugged: anywhere alike, at some stations, on some laterals, or in places of a
// few laterals and stations. Grit settles where water is slow and roots grow where they find it, so
// plugged emitters keep company, while the others of the place pass what they always did: no mean
// that varies smoothly tells of that. The share of a place is a mixture part of its own.
//
// Its logit is a Gaussian process of the place: a zone's level and, in each of the ways that are
// tried, a part with Matern's correlation of smoothness 3/2, over a third of the laterals' length
// along them and four spacings across. In every way one emitter in a hundred is plugged on the
// mean before anything is dug. Laplace's method for each (Rasmussen & Williams 2006, "Gaussian
// Processes for Machine Learning", sections 3.4 and 4.2); the ways are mixed by their evidence
// (Hoeting et al. 1999, Stat. Sci. 14:382-417; both from memory). Levels, ranges, deviations and
// the ways' chances before: common practice, no source.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/condition/segment_grid.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

/// What a hole says of its emitter: how likely its catch is if it is plugged, wherever it stands,
/// and if it is as emitters of its place are.
struct PluggedHole {
  int row = 0;  ///< of the segment grid
  int station = 0;
  double caught = 1;  ///< over the need
  double if_plugged = 0;
  double if_not = 1;
};

/// Whether any is likelier plugged than not, were both as likely before.
bool any_plugged(std::span<const PluggedHole> holes);

/// A share as it is known.
struct KnownShare {
  double mean = 0;
  double variance = 0;
};

struct PluggedPlaces {
  double anywhere = 0;             ///< share plugged wherever it stands: that of the soundest place
  std::vector<KnownShare> beyond;  ///< of each segment: share of the others that is plugged there
  double passed = 0;               ///< what a plugged emitter gives over the need, on the mean
};

/// By up to 150 segments with holes; where there are more, a few neighbours count as one.
/// Throws std::invalid_argument for a hole outside the grid, densities below 0, or both 0.
PluggedPlaces plugged_places(const SegmentGrid& grid, std::span<const PluggedHole> holes,
                             double plugged_below);

/// Logarithm of how likely the catches are if plugged emitters keep company. Throws as
/// plugged_places does.
double log_evidence_of_company(const SegmentGrid& grid, std::span<const PluggedHole> holes);

/// Share of all that is plugged at a segment, on the mean.
double share_at(const PluggedPlaces& places, std::size_t segment);
/// The mean of those of all segments of the grid.
double mean_share(const PluggedPlaces& places);
/// Lets the crop see those that are plugged beyond others.
void show_to_crop(const PluggedPlaces& places, ZoneModel& model);

/// Mean delivery of a place over the need as its emitters as made would give it, known as normal,
/// once some of them are plugged beyond those that are anywhere.
KnownShare delivered_at(const PluggedPlaces& places, std::size_t segment, double r,
                        double variance);

/// Takes from draws of the same mean delivery, each all segments, what emitters plugged beyond
/// those that are anywhere lack: in each draw one quantile of all shares, even between 0 and 1.
void draw_plugged(const PluggedPlaces& places, std::uint64_t seed,
                  std::vector<std::vector<double>>& draws);

}  // namespace evendrip
