// SPDX-License-Identifier: Apache-2.0
// What was done to the system, and when: the table that [logs] maintenance names.
//
// Columns: date, zone (id; empty: the whole field), laterals (ids separated by ';'; empty: all of
// the zone), action (a word: repair, replace, flush, acid, chlorine ...).
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace evendrip {

struct MaintenanceEntry {
  std::size_t row = 0;        ///< line in the file
  std::string date;           ///< ISO 8601
  int zone = -1;              ///< index into Field::zones; -1: all
  std::vector<int> laterals;  ///< indices into Field::laterals; empty: all of the zone
  std::string action;         ///< as written

  /// Whether emitters may pass more or less after it: not after mere looking (inspection, check,
  /// reading, note).
  bool changes_emitters() const;
  bool touches(int zone_of_lateral, int lateral) const;
};

}  // namespace evendrip
