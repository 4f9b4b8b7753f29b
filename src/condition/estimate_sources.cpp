// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "zone_state.hpp"

namespace evendrip {

/// The mean solves Q x = H' W y + C' V c, linear in what the holes and the crop say: each side
/// alone gives its own part.
std::optional<EstimateSources> ZoneModel::sources(const ConditionParameters& parameters,
                                                  std::span<const double> hole_weights) const {
  State& s = *state_;
  const auto* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  std::vector<double> weighted = s.hole_precisions(parameters, hole_weights);
  for (std::size_t i = 0; i < s.holes.size(); ++i)
    weighted[i] *= s.holes[i].value - 1 - s.change_at(s.holes[i]);
  const std::vector<double> side = transposed_product(s.hole_rows, weighted);
  EstimateSources out;
  out.holes = product(s.segment_rows, held(s.factor).solve(side));
  const std::vector<double> all = product(s.segment_rows, solved->mean);
  for (std::size_t i = 0; i < all.size(); ++i) out.crop.push_back(all[i] - out.holes[i]);
  return out;
}

}  // namespace evendrip
