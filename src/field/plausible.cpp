// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/plausible.hpp"

#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

bool within(double value, double low, double high) {
  return value >= low && value <= high;
}

std::string range_text(double low, double high, const PlausibleRange& range) {
  return fmt::format("{:g} to {:g} {}", low, high, accepted_units(range.dimension).front());
}

}  // namespace

std::optional<UnitSlip> slip_of(double value, const PlausibleRange& range) {
  for (const UnitSlip& slip : range.slips) {
    const double meant = from_canonical(value, slip.written, range.dimension);
    if (within(to_canonical(meant, slip.meant, range.dimension), range.usual_low,
               range.usual_high)) {
      return slip;
    }
  }
  return std::nullopt;
}

std::optional<Doubt> implausible(double value, const PlausibleRange& range, Place place,
                                 const std::string& found) {
  if (within(value, range.usual_low, range.usual_high)) return std::nullopt;
  Doubt doubt{"implausible_value",
              Severity::doubt,
              std::move(place),
              "the value is far from what is usual",
              found,
              range_text(range.usual_low, range.usual_high, range),
              "Check the number and its unit"};
  if (!within(value, range.possible_low, range.possible_high)) {
    doubt.severity = Severity::problem;
    doubt.text = "the value is not possible";
    doubt.expected = range_text(range.possible_low, range.possible_high, range);
  }
  if (const auto slip = slip_of(value, range)) {
    doubt.code = "wrong_unit";
    doubt.text += fmt::format("; it would fit if {} was meant where {} is written", slip->meant,
                              slip->written);
    doubt.remedy = fmt::format("If so, write the unit {}", slip->meant);
  }
  return doubt;
}

}  // namespace evendrip
