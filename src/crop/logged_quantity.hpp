// SPDX-License-Identifier: Apache-2.0
// One quantity of a time log that several elements of a device may log: the machine as a whole, or
// each of its sections.
//
// A device or a function that logs a quantity speaks for all its sections, and alone counts. Where
// only sections or units log it, their values belong together: flows and widths add up, yields per
// area and moistures are means. Elements that the file does not describe are not told apart: the
// one with the most values counts.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/io/task_data.hpp"

namespace evendrip {

class ElementValues {
 public:
  /// Of the device that logs most values of the identifier, or of `device` if that is stated.
  ElementValues(const TimeLog& log, int ddi, const std::string& device = "");

  bool there() const { return !parts_.empty(); }
  std::size_t parts() const { return parts_.size(); }
  /// Of one part; NaN where it has none yet.
  double of(std::size_t record, std::size_t part) const;
  const LoggedQuantity& description(std::size_t part = 0) const;
  /// The part that is the element; parts() if none is.
  std::size_t part_of(const std::string& element) const;

  /// Over the parts that have a value; NaN where none has.
  double sum(std::size_t record) const;
  double mean(std::size_t record) const;
  /// True where every part that has a value is 0, and one has.
  bool all_zero(std::size_t record) const;

  /// Elements that could not be told apart, of which one counts; 0 where they could.
  std::size_t not_described() const { return not_described_; }
  /// Other devices that log it and are not read.
  const std::vector<std::string>& left_out() const { return left_out_; }

 private:
  const TimeLog& log_;
  std::vector<std::size_t> parts_;  ///< indices into the log's quantities
  std::size_t not_described_ = 0;
  std::vector<std::string> left_out_;
};

}  // namespace evendrip
