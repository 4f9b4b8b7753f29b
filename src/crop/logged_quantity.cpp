// SPDX-License-Identifier: Apache-2.0
#include "logged_quantity.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
constexpr int device_type = 1;
constexpr int function_type = 2;
constexpr int section_type = 4;
constexpr int unit_type = 5;

struct Candidate {
  std::size_t quantity = 0;
  std::size_t values = 0;
};

std::vector<Candidate> candidates_of(const TimeLog& log, int ddi) {
  std::vector<Candidate> candidates;
  const std::size_t columns = log.quantities.size();
  for (std::size_t q = 0; q < columns; ++q) {
    if (log.quantities[q].ddi != ddi) continue;
    std::size_t values = 0;
    for (std::size_t r = 0; r < log.records(); ++r) {
      if (!std::isnan(log.values[r * columns + q])) ++values;
    }
    if (values > 0) candidates.push_back({q, values});
  }
  return candidates;
}

bool is_whole(const LoggedQuantity& quantity) {
  return quantity.element_type == device_type || quantity.element_type == function_type;
}

bool is_part(const LoggedQuantity& quantity) {
  return quantity.element_type == section_type || quantity.element_type == unit_type;
}

/// The first with the most values.
std::size_t fullest(const std::vector<Candidate>& candidates) {
  return std::max_element(candidates.begin(), candidates.end(),
                          [](const auto& a, const auto& b) { return a.values < b.values; })
      ->quantity;
}

/// The device of most values, the first of equals.
std::string device_of_most(const TimeLog& log, const std::vector<Candidate>& candidates) {
  std::map<std::string, std::size_t> values;
  for (const Candidate& one : candidates) values[log.quantities[one.quantity].device] += one.values;
  std::string device;
  std::size_t most = 0;
  for (const Candidate& one : candidates) {
    const std::string& name = log.quantities[one.quantity].device;
    if (values[name] <= most) continue;
    most = values[name];
    device = name;
  }
  return device;
}

}  // namespace

ElementValues::ElementValues(const TimeLog& log, int ddi, const std::string& device) : log_(log) {
  std::vector<Candidate> candidates = candidates_of(log, ddi);
  if (candidates.empty()) return;
  const auto named = [&](const Candidate& one) { return log.quantities[one.quantity].device; };
  const bool stated =
      !device.empty() && std::any_of(candidates.begin(), candidates.end(),
                                     [&](const auto& c) { return named(c) == device; });
  const std::string own = stated ? device : device_of_most(log, candidates);
  for (const Candidate& one : candidates) {
    const bool known = std::find(left_out_.begin(), left_out_.end(), named(one)) != left_out_.end();
    if (named(one) != own && !known) left_out_.push_back(named(one));
  }
  std::erase_if(candidates, [&](const Candidate& one) { return named(one) != own; });
  std::vector<Candidate> whole;
  std::vector<Candidate> sections;
  for (const Candidate& one : candidates) {
    if (is_whole(log.quantities[one.quantity])) whole.push_back(one);
    if (is_part(log.quantities[one.quantity])) sections.push_back(one);
  }
  if (whole.empty() && !sections.empty()) {
    for (const Candidate& one : sections) parts_.push_back(one.quantity);
    return;
  }
  parts_ = {fullest(whole.empty() ? candidates : whole)};
  if (whole.empty() && candidates.size() > 1) not_described_ = candidates.size();
}

double ElementValues::of(std::size_t record, std::size_t part) const {
  return log_.values[record * log_.quantities.size() + parts_[part]];
}

const LoggedQuantity& ElementValues::description(std::size_t part) const {
  return log_.quantities[parts_[part]];
}

std::size_t ElementValues::part_of(const std::string& element) const {
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    if (description(p).device_element == element) return p;
  }
  return parts_.size();
}

double ElementValues::sum(std::size_t record) const {
  double sum = no_number;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    const double value = of(record, p);
    if (!std::isnan(value)) sum = std::isnan(sum) ? value : sum + value;
  }
  return sum;
}

double ElementValues::mean(std::size_t record) const {
  double sum = 0;
  int count = 0;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    const double value = of(record, p);
    if (std::isnan(value)) continue;
    sum += value;
    ++count;
  }
  return count > 0 ? sum / count : no_number;
}

bool ElementValues::all_zero(std::size_t record) const {
  bool any = false;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    const double value = of(record, p);
    if (value != 0 && !std::isnan(value)) return false;
    any = any || value == 0;
  }
  return any;
}

}  // namespace evendrip
