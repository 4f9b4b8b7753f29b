// SPDX-License-Identifier: Apache-2.0
// The emitters of a survey as a sample with levels: zone, lateral, pit, place in the pit,
// replicate.
#pragma once

#include <span>
#include <vector>

#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// One reading of one emitter. Equal zone, lateral, pit and place mean the same emitter.
struct CatchReading {
  double discharge_lph = 0;
  int zone = 0;
  int lateral = -1;  ///< -1 where not known: such an emitter counts as a lateral of its own
  int pit = -1;      ///< -1 where there are no pits
  int place = 0;     ///< place in the pit along the lateral; without pits the emitter's number
  int replicate = 1;
  double weight = 1;  ///< emitters of the zone that this one stands for, up to a factor; above 0
};

/// One emitter, its replicates averaged.
struct SampledEmitter {
  double discharge_lph = 0;
  int zone = 0;
  int lateral = -1;
  int pit = -1;
  int place = 0;
  int replicates = 1;
  double weight = 1;
};

struct EmitterSample {
  std::vector<SampledEmitter> emitters;
  int damaged = 0;    ///< by digging: counted, never taken for clogging
  int not_found = 0;  ///< counted, never taken for clogging
  /// Error of measuring one emitter once, as a share of its discharge: pooled from replicates by
  /// root mean square; 0 if no emitter that runs has replicates.
  double measuring_cv = 0;
  int measuring_freedom = 0;  ///< degrees of freedom of measuring_cv
};

/// Averages replicates. Emitters keep the order in which they first appear. Throws
/// std::invalid_argument for a discharge that is negative or not finite or a weight that is not
/// above 0 and finite.
EmitterSample average_replicates(std::span<const CatchReading> readings);

/// The usable emitters of the survey in one zone (-1: in all zones), weights 1. Emitters in state
/// none have discharge 0; those without a finite discharge are left out. Pits are numbered in the
/// order in which they appear. Without pits the place is the emitter's number on its lateral.
EmitterSample sample_of(const Survey& survey, int zone);

/// Weights by design for laterals taken with equal chances and emitters at random on each: an
/// emitter stands for the emitters of its lateral over those dug there (Cochran 1977, Sampling
/// Techniques, chapter 11; from memory), brought to a mean of 1. `emitters_of_lateral` is by
/// lateral number; a lateral that it does not tell, or tells no emitters of, counts as an average
/// one.
EmitterSample weighed_by_lateral(EmitterSample sample, std::span<const int> emitters_of_lateral);

/// What plants receive: running mean over `emitters_per_root_zone` neighbours along one pit (one
/// lateral where there are no pits and the places follow on each other). A group of fewer emitters
/// gives no plant. The count per root zone is 1 or more, else std::invalid_argument.
EmitterSample plant_level(const EmitterSample& emitters, int emitters_per_root_zone);

/// The discharges alone, in order.
std::vector<double> discharges_of(const EmitterSample& sample);

/// Dense numbers of the laterals and pits that the emitters of a sample stand on, by growing zone,
/// lateral and pit. An emitter without a lateral, or without a pit, has one of its own.
struct SampleLevels {
  std::vector<int> lateral;
  std::vector<int> pit;
  int laterals = 0;
  int pits = 0;
};
SampleLevels levels_of(const EmitterSample& sample);

}  // namespace evendrip
