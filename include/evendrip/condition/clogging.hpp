// SPDX-License-Identifier: Apache-2.0
// How the emitters of a place differ where the place performs poorly: some as made, some clogged
// each to its own extent, some plugged.
//
// A place is known by the mean delivery of its emitters. With loss L = 1 - performance, a share
// plugging x L^2 of them is plugged (of the second order: a place that hardly loses has no plugged
// ones of its own) and passes anything below a threshold alike; the others lose what is left to
// lose, each to its own extent, with a variance of spread x (their mean loss)^2 (1 / 3: evenly from
// none to twice the mean). Shape of both: common practice, no source. Besides, a share of all
// emitters is plugged by chance, wherever it stands.
#pragma once

namespace evendrip {

struct Clogging {
  double plugged_below = 0.75;  ///< relative discharge under which an emitter counts as plugged
  double share = 0.01;          ///< plugged by chance, anywhere
  double plugging = 0.5;        ///< share plugged where all is lost; 0 to 1
  double spread = 1.0 / 3;
};

/// The mean delivery of a place, emitters plugged by chance left out, and what it would be if they
/// were all as made: 1 and what is known of the network.
struct PlaceDelivery {
  double delivery = 1;
  double passed = 1;
};

/// Share of the emitters of a place that is plugged, by chance or by what befell the place.
double plugged_chance(const Clogging& clogging, const PlaceDelivery& place);

/// Of an emitter's discharge, 0 or above; `variance`: of emitters as made, and of the measurement.
double discharge_density(const Clogging& clogging, const PlaceDelivery& place, double variance,
                         double discharge);
/// The same where the delivery of the place is not known but normal, with that variance.
double discharge_density(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                         double variance, double discharge);
/// Chance that an emitter gives less than `discharge`.
double chance_below(const Clogging& clogging, const PlaceDelivery& place, double variance,
                    double discharge);
/// The same where the delivery of the place is not known but normal, with that variance.
double chance_below(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                    double variance, double discharge);

/// Those that are not plugged: mean and variance of their discharge, `variance` included.
struct SoundEmitters {
  double mean = 1;
  double variance = 0;
};
SoundEmitters sound_emitters(const Clogging& clogging, const PlaceDelivery& place, double variance);

}  // namespace evendrip
