// SPDX-License-Identifier: Apache-2.0
#include "witnesses.hpp"

#include "evendrip/crop/ground_under.hpp"

#include <utility>

namespace evendrip {
std::optional<CropWitness> witness_of(const Field& field, const CropSource& source,
                                      const CropReading& reading,
                                      const std::vector<double>& implement_widths_m,
                                      const Work& work) {
  auto evidence = evidence_of(field, source, reading, work);
  if (!evidence) return std::nullopt;
  const RasterReader& relative = *reading.layer.relative;
  const Headland headland = recognise_headland(field, relative, work);
  mark_headland(*evidence, field, headland.width_m);
  std::vector<MachineStripe> stripes = machine_stripes(field, relative, implement_widths_m, work);
  mark_machine_stripes(*evidence, field, stripes);
  see_ground(*evidence, field, work);
  return CropWitness{*std::move(evidence), std::move(stripes)};
}

}  // namespace evendrip
