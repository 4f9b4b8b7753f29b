// SPDX-License-Identifier: Apache-2.0
// What a harvester logged, before what it left out is worked out from the rest.
#pragma once

#include <string>
#include <vector>

#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/io/task_data.hpp"

namespace evendrip {

/// `log` holds a value or NaN for every record and quantity; yields only where logged.
struct LoggedRecords {
  HarvestLog log;
  std::vector<double> speed_m_s;  ///< NaN: not logged
  std::string yields_as;          ///< how logged yields came about; empty: there are none

  /// Makes every array as long as the places, with NaN.
  void resize(std::size_t records);
};

/// Identifiers of the data dictionary that records_of reads.
const std::vector<int>& harvest_ddis();

/// Of task data: quantities of ISO 11783-11 by their identifiers. Throws InputError if no log holds
/// a yield at places.
LoggedRecords records_of(const TaskData& data, const Field& field, const CropSource& source);

/// Of a table or a layer of points. Throws InputError with every bad value.
LoggedRecords records_of_rows(const Field& field, const CropSource& source);

/// Works out durations from times, distances from speeds or places, swaths from the source and
/// yields from mass flow, each only where it was not logged. Throws InputError where that cannot be
/// done for any record.
HarvestLog completed(LoggedRecords records, const Field& field, const CropSource& source);

/// Whether two levels differ by the ratio of pounds and kilograms, either way.
bool levels_differ_by_pounds(double a, double b);

/// Doubts about times, machines, passes that stand twice and units that look mixed.
Doubts doubts_about(const HarvestLog& log, const Field& field);

}  // namespace evendrip
