// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/harvest_log.hpp"

#include <iterator>
#include <limits>
#include <utility>

#include "logged_records.hpp"

namespace evendrip {

double yield_at_basis_t_ha(double mass_kg, double moisture_frac, double basis_frac,
                           double area_m2) {
  constexpr double kg_per_m2_to_t_per_ha = 10;
  if (!(area_m2 > 0)) return std::numeric_limits<double>::quiet_NaN();
  return kg_per_m2_to_t_per_ha * mass_kg * ((1 - moisture_frac) / (1 - basis_frac)) / area_m2;
}

HarvestLog read_harvest_log(const Field& field, const CropSource& source) {
  LoggedRecords records =
      is_task_data(source.file)
          ? records_of(read_task_data(source.file, harvest_ddis()), field, source)
          : records_of_rows(field, source);
  HarvestLog log = completed(std::move(records), field, source);
  Doubts doubts = doubts_about(log, field);
  log.doubts.insert(log.doubts.end(), std::make_move_iterator(doubts.begin()),
                    std::make_move_iterator(doubts.end()));
  return log;
}

}  // namespace evendrip
