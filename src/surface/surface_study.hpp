// SPDX-License-Identifier: Apache-2.0
// Choosing and fitting the surface of one survey, and setting it beside other estimators.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/model_choice.hpp"
#include "evendrip/surface/variogram.hpp"

namespace evendrip {

struct SurfaceStudy {
  std::optional<ModelChoice> choice;   ///< none where nothing was fitted
  Samples fitted;                      ///< the samples with wild ones held
  std::vector<WildSample> wild;        ///< indices into the samples
  std::vector<EstimatorScore> scores;  ///< of this map first, then of the others
  std::vector<VariogramLag> moment;    ///< of the samples as measured, within zones
};

/// Chooses a model, holds the samples that are wild by it, and chooses again if there are any.
/// Ordinary kriging that was asked for takes the samples as they are.
/// Beyond some hundreds of samples the choice is made on those of as many zones as fit.
SurfaceStudy study_surface(const Field& field, const Samples& samples, std::uint64_t seed,
                           const Work& work);

/// Scores of the model of the study, if there is one, and of the other estimators; empty with
/// fewer than four samples.
std::vector<EstimatorScore> compared_estimators(const Samples& samples, const SurfaceStudy& study,
                                                const Analysis& analysis, const Work& work);

}  // namespace evendrip
