// SPDX-License-Identifier: Apache-2.0
// One zone on its way to what is expected of it: built, met with its gauges, solved clean.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"

namespace evendrip {

struct ZoneWork {
  ExpectedZone zone;
  /// Of the system as it is, at the pressures that the gauges say; by lateral as in `zone`.
  NetworkState as_is;
  Doubts of_network;
  Doubts of_gauges;  ///< of the last meeting
  Doubts of_result;
};

/// The network with the places of its emitters; `computed` is true if it can be met with gauges.
ZoneWork build_zone(const Field& field, const Survey& survey, int zone, const Terrain& terrain,
                    const HydraulicOptions& options);
/// Inlet pressure, loss and wear from the gauges, and the pressures as they are. A zone that cannot
/// be solved is no longer `computed`.
void meet_zone(const Field& field, const Survey& survey, const std::vector<WearWitness>& witnesses,
               ZoneWork& work);
/// The clean system at the inlet pressure found.
void finish_zone(const Field& field, ZoneWork& work);

/// Value between the emitters of a lateral, held beyond the first and the last.
double along_lateral(const ExpectedLateral& lateral, const std::vector<double>& values,
                     double station_m);

/// d ln q / d ln h of an emitter: x of q = k h^x, 0 within a compensating range.
double local_exponent(const EmitterCurve& curve, double pressure_kpa);

}  // namespace evendrip
