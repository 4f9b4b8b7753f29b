// SPDX-License-Identifier: Apache-2.0
// How old a layer of the crop is against the holes: what was done to the emitters between the two
// dates cuts what the layer says of them, and what time may have done is allowed for.
//
// Delivery of a lateral moves between dates by 0.05 in a year (standard deviation; with the square
// root of the time; common practice, no source).
#pragma once

#include <string>
#include <vector>

#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

struct LayerAge {
  bool cut = false;            ///< all of it: the whole zone was worked on in between
  std::vector<bool> rows_cut;  ///< of each lateral of the grid
  double change_sd = 0;        ///< of each lateral, between the dates
  std::string told;            ///< plain words; empty: of one time with the holes, nothing done
};

/// By the field's maintenance log. An entry on the day of the earlier evidence came after it, one
/// on the day of the later before it.
LayerAge age_of(const Field& field, const Survey& survey, const SegmentGrid& grid,
                const std::string& date);

/// Leaves out the data of which laterals that are cut take over a quarter.
void leave_out_cut(const LayerAge& age, const SegmentGrid& grid, std::vector<CropDatum>& data);

/// What was done in a zone after the survey, so that its state is one from before; empty: nothing.
std::string done_since(const Field& field, const Survey& survey, int zone);

}  // namespace evendrip
