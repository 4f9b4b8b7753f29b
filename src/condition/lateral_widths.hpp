// SPDX-License-Identifier: Apache-2.0
// Most laterals differ little from each other, few differ much. One standard deviation for all
// would hold the few back, and what they lack would be sought in soil, slope or emitters that vary.
// So each lateral has a width of its own: a mixture of normal distributions with heavy tails, the t
// distribution of 3 degrees of freedom. Given squares S of what the data tell of its parts, over
// those at width 1, of n degrees of freedom, its variance is (3 + S) / (3 + n) times that of a
// typical one (Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84:881-896; degrees of freedom that
// the data tell: MacKay 1992, Neural Comput. 4:415-447; both from memory; that there are 3 is
// common practice, no source).
#pragma once

#include <optional>
#include <span>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

/// Sets the widths of the laterals by what holes and crop make of them at these parameters and at
/// the widths that they have. False where the equations cannot be solved: they are left then.
bool settle_widths(ZoneModel& model, const ConditionParameters& parameters);

/// What the likelihood has with the widths integrated out over that with the model's own, in
/// logarithms; nothing where the equations cannot be solved.
std::optional<double> log_over_widths(const ZoneModel& model,
                                      const ConditionParameters& parameters);

/// Finds the width that all laterals have on the whole, if all have the same. The model keeps the
/// widths that it has. False where the equations cannot be solved.
bool find_common_width(ZoneModel& model, ConditionParameters& parameters);

/// Sets the widths likewise, but to the common one of laterals that the data tell nothing of: that
/// most laterals are alike is no reason to think that another is. `hole_weights`: as ZoneModel
/// takes them.
bool widen_unseen(ZoneModel& model, const ConditionParameters& parameters,
                  std::span<const double> hole_weights = {});

}  // namespace evendrip
