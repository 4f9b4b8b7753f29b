// SPDX-License-Identifier: Apache-2.0
// Task data of ISO 11783-10: TASKDATA.XML and the binary time logs (TLG) beside it, from a folder
// or a zip, whatever the letter case of the names.
//
// Time log: little-endian records of a header that TLGnnnnn.XML describes (time of day, ms; days
// since 1980-01-01; position, 1e-7 degrees; status), a count byte, and that many pairs of an index
// byte and an int32. A value that a record leaves out stays as it was (ISO 11783-10, annex D, from
// memory; layout checked against an independent reader).
//
// What comes from outside is bounded: an XML file to 32 MiB, two million tags and a depth of 64, a
// time log to 256 MiB, a zip to 1 GiB and 10,000 files, all values together to 60 million; no
// document type and so no entities, no name that leads out of the folder or the zip. External files
// (XFR) beside TASKDATA.XML are followed, one level.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/geo/shapes.hpp"
#include "evendrip/io/paths.hpp"

namespace evendrip {

/// One logged quantity: a data dictionary identifier of ISO 11783-11 at one element of a device.
struct LoggedQuantity {
  int ddi = 0;
  std::string device_element;  ///< id of the DET, for example "DET-1"
  /// 1 device, 2 function, 3 bin, 4 section, 5 unit, 6 connector, 7 navigation (C of the DET; ISO
  /// 11783-10, from memory); 0 if the file does not describe it.
  int element_type = 0;
  std::string device;  ///< designator of its DVC; empty if the file does not describe it
  std::string name;    ///< designator of the process data; may be empty
};

struct TimeLog {
  std::string name;  ///< TLG00001
  std::string task;  ///< designator of the task, or its id
  std::vector<LoggedQuantity> quantities;
  std::vector<double> time_s;  ///< since 1980-01-01 local time
  std::vector<Point> lonlat;   ///< degrees; NaN where the record has no position: out of range,
                               ///< both 0, or a status of 0, 14 or 15
  std::vector<int> status;     ///< of the position: 0 none, 1 GNSS, 2 differential, 4 RTK fixed, 5
                               ///< RTK float, 14 error, 15 not available; -1 not logged
  /// Quantity q of record r at r * quantities.size() + q, as logged (integers in the unit of the
  /// DDI); NaN until a record gave one.
  std::vector<double> values;

  std::size_t records() const { return time_s.size(); }
};

struct TaskData {
  std::string file;  ///< as written
  std::vector<TimeLog> logs;
  Doubts doubts;  ///< a log that ends within a record, logs named but not there ...
};

/// True for a folder or a zip that holds a TASKDATA.XML, or for such a file itself.
bool is_task_data(const FileRef& file);

/// Quantities of the data dictionary identifiers `ddis` alone; of all of them if it is empty.
/// Doubts also name a log that is shorter than TASKDATA.XML says (B of its TLG, from memory).
/// Throws InputError: no TASKDATA.XML, XML that cannot be read, is too large, too deep or has a
/// document type, a header without time or position, a zip that cannot be read; FileError.
TaskData read_task_data(const FileRef& file, const std::vector<int>& ddis = {});

}  // namespace evendrip
