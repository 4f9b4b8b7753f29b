// SPDX-License-Identifier: Apache-2.0
// What is not known of a zone's parameters, carried into what is said of its emitters: the
// posterior is looked at in a few places about its mode, and the estimates there are mixed.
//
// After Rue, Martino & Chopin 2009, J. R. Stat. Soc. B 71:319-392, section 6.5: axes from the
// curvature at the mode (here by average information), stretched each way to where the density has
// fallen by half a unit of its logarithm, and the corners of a two-level design on them at 1.1
// standard deviations, weighted by the density found there. The corners are those of a Hadamard
// matrix and of its negative, an orthogonal array of strength 3 (Plackett & Burman 1946, Biometrika
// 33:305-325): exact for polynomials of the third degree. All from memory.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct ParameterDesign {
  std::vector<ConditionParameters> points;  ///< the mode first
  std::vector<double> weights;              ///< sum to 1
  int evaluations = 0;
};

/// The mode is that of the density of the logarithms, sought from the parameters of the fit. A
/// large zone is looked at by its coarser model and at half of the corners. Of the parameters that
/// the data speak of, the best known is held where they are more than eight. Without places where
/// the equations can be solved, the fit alone. Same result for any number of threads.
ParameterDesign parameter_design(const ZoneModel& model, const ConditionFit& fit,
                                 std::span<const double> hole_weights, const Work& work = {});

/// The estimates at the points of a design, mixed: the variance of r is that within plus that
/// between. The log-likelihood is that of the first point. Nothing where an estimate is missing.
std::optional<ConditionEstimate> mixed_estimate(const ZoneModel& model,
                                                std::span<const ConditionParameters> points,
                                                std::span<const double> weights,
                                                std::span<const double> hole_weights,
                                                const Work& work = {});

/// `count` draws of r of the segments (ZoneModel::draws()), of each point as many as its weight
/// asks, in their order. Fewer where the equations cannot be solved at a point.
std::vector<std::vector<double>> mixed_draws(const ZoneModel& model,
                                             std::span<const ConditionParameters> points,
                                             std::span<const double> weights, int count,
                                             std::uint64_t seed);

}  // namespace evendrip
