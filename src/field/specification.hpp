// SPDX-License-Identifier: Apache-2.0
// Emitter and lateral specifications from field.toml: the defaults of [emitter] and [lateral], and
// what differs in a [[zone]].
#pragma once

#include <optional>

#include "evendrip/field/field.hpp"
#include "evendrip/io/toml.hpp"

namespace evendrip {

/// What was stated so far; defaults are filled in by `completed` when all overrides are known.
struct Specification {
  EmitterSpec emitter;
  LateralSpec lateral;
  std::optional<double> discharge_per_metre_lph;  ///< rated flow stated by length
  std::optional<double> first_offset_m;
  std::optional<double> position_accuracy_m;
};

/// [[zone]] writes `emitter_spacing` and `lateral_spacing`, since `spacing` alone could be either.
enum class KeyStyle { own_section, in_zone };

Specification with_emitter_keys(Specification base, TomlReader& reader, KeyStyle style,
                                Doubts& doubts);
Specification with_lateral_keys(Specification base, TomlReader& reader, KeyStyle style,
                                Doubts& doubts);

/// Rated flow by emitter, half a spacing to the first emitter, position accuracy by source. What is
/// required and missing becomes a problem at `place`.
Specification completed(Specification specification, const Place& place, Doubts& doubts);

}  // namespace evendrip
