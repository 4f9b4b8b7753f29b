// SPDX-License-Identifier: Apache-2.0
// One binary time log of ISO 11783-10 and the XML header that describes its records.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <pugixml.hpp>

#include "evendrip/io/task_data.hpp"

namespace evendrip {

/// A field of the record's position: not there, written in the header once for all records, or in
/// each record.
struct LogField {
  enum class In { nowhere, header, record } in = In::nowhere;
  double value = 0;  ///< where it stands in the header
};

/// Which fields a record has, and what its values are.
struct LogHeader {
  LogField north;
  LogField east;
  LogField status;
  std::size_t bytes_before_status = 0;  ///< height, after the place
  std::size_t bytes_after_status = 0;   ///< dilutions, satellites, UTC
  std::vector<LoggedQuantity> quantities;
};

/// Throws InputError "bad_log_header": no TIM, no position in it, more values than an index byte
/// can name, identifiers that are not hexadecimal.
LogHeader log_header(const pugi::xml_document& header, const std::string& name);

/// Decodes whole records. What follows them is told as doubt "log_truncated" or "log_damaged".
/// `wanted` lists the quantities kept; of these the log's are made. Throws InputError "too_large"
/// if they need room for more than `most_values`; time, place and status count as four.
TimeLog decode_time_log(std::string_view bytes, const LogHeader& header,
                        const std::vector<std::size_t>& wanted, std::size_t most_values,
                        const std::string& name, Doubts& doubts);

}  // namespace evendrip
