// SPDX-License-Identifier: Apache-2.0
#include "smallest_fault.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/geo/line.hpp"
#include "length_words.hpp"

namespace evendrip {
namespace {

constexpr double deficit = 0.1;
constexpr double errors_below = 3;  ///< standard errors that a deficit must stand out
constexpr double least_middle = 0.5;
constexpr double mad_to_sd = 1.4826;  ///< of a normal distribution

double median_spacing_m(const Field& field) {
  std::vector<double> spacings;
  for (const Zone& zone : field.zones)
    if (zone.lateral.spacing_m > 0) spacings.push_back(zone.lateral.spacing_m);
  return median_of(std::move(spacings));
}

double median_length_m(const Field& field) {
  std::vector<double> lengths;
  lengths.reserve(field.laterals.size());
  for (const Lateral& lateral : field.laterals) lengths.push_back(lateral.length_m);
  return median_of(std::move(lengths));
}

/// Bearing of the longest lateral.
double bearing_of_laterals_deg(const Field& field) {
  const auto longest =
      std::max_element(field.laterals.begin(), field.laterals.end(),
                       [](const auto& a, const auto& b) { return a.length_m < b.length_m; });
  if (longest == field.laterals.end() || longest->line.size() < 2) return 0;
  return bearing_deg(longest->line);
}

/// What a datum sees along and across the laterals.
struct Sight {
  double sd_along_m = 0;
  double sd_across_m = 0;
  double width_m = 0;  ///< of the box, across
};
Sight sight_of(const Footprint& typical, double bearing) {
  const double turn = (typical.heading_deg - bearing) * std::numbers::pi / 180;
  const double c = std::cos(turn);
  const double s = std::sin(turn);
  const double along = typical.along_m * typical.along_m / 12;
  const double across = typical.across_m * typical.across_m / 12;
  const double blur = typical.blur_m * typical.blur_m;
  return {std::sqrt(along * c * c + across * s * s + blur),
          std::sqrt(along * s * s + across * c * c + blur),
          std::abs(typical.along_m * s) + std::abs(typical.across_m * c)};
}

struct Fault {
  double width_m = 0;
  double length_m = 0;
};

/// Shortest length of a strip of a width that is shown; 0 if the longest is not.
double shortest_length_m(double needed, double data_per_m2, const StripResponse& across,
                         double sd_along_m, double longest_m) {
  const auto shown = [&](double length) {
    const StripResponse along = strip_response(length, sd_along_m);
    return along.middle >= least_middle &&
           data_per_m2 * across.squares_m * along.squares_m >= needed;
  };
  if (!shown(longest_m)) return 0;
  double low = 0;
  double high = longest_m;
  for (int step = 0; step < 60; ++step) {
    const double middle = 0.5 * (low + high);
    (shown(middle) ? high : low) = middle;
  }
  return high;
}

Fault smallest_fault(const Field& field, const Sight& sight, double relative_error,
                     double data_per_m2, double spacing_m) {
  // (errors x error of a datum / deficit)^2 data that see the strip alone, or more that see part.
  const double needed = std::pow(errors_below * relative_error / deficit, 2);
  const double longest_m = median_length_m(field);
  const double widest_m = std::max(field.extent().width(), field.extent().height());
  for (int laterals = 1; laterals * spacing_m <= widest_m; ++laterals) {
    const StripResponse across = strip_response(laterals * spacing_m, sight.sd_across_m);
    if (across.middle < least_middle) continue;
    const double length =
        shortest_length_m(needed, data_per_m2, across, sight.sd_along_m, longest_m);
    if (length > 0) return {laterals * spacing_m, length};
  }
  return {};
}

std::string laterals_text(double laterals) {
  const int count = static_cast<int>(std::lround(laterals));
  return count == 1 ? "a single lateral" : fmt::format("{} neighbouring laterals", count);
}

}  // namespace

StripResponse strip_response(double width_m, double sd_m) {
  if (!(width_m > 0)) return {};
  if (!(sd_m > 0)) return {1, width_m};
  // A datum at x shows the share of a normal kernel about x that lies in the strip; the integral
  // of its square is that of (width - |h|) over the normal density of twice the variance.
  const double reach = width_m / (2 * sd_m);
  return {std::erf(width_m / (2 * std::numbers::sqrt2 * sd_m)),
          width_m * std::erf(reach) -
              2 * sd_m * std::numbers::inv_sqrtpi * (1 - std::exp(-reach * reach))};
}

double sd_from_second_differences(std::vector<double>& differences) {
  if (differences.empty()) return 0;
  const double middle = median_in_place(differences);
  for (double& d : differences) d = std::abs(d - middle);
  return mad_to_sd * median_in_place(differences) / std::sqrt(6.0);
}

void tell_smallest_fault(const Field& field, const std::string& what, double data_per_m2,
                         CropEvidence& evidence) {
  const double spacing_m = median_spacing_m(field);
  const Sight sight = sight_of(evidence.typical, bearing_of_laterals_deg(field));
  evidence.told = what;
  if (spacing_m > 0) {
    evidence.laterals_seen = sight.width_m / spacing_m;
    evidence.told += fmt::format(" spans {:.1f} laterals", evidence.laterals_seen);
  }
  if (evidence.relative_error > 0)
    evidence.told +=
        fmt::format(" and is off by {:.0f} % on its own", 100 * evidence.relative_error);
  const Fault fault =
      spacing_m > 0 && data_per_m2 > 0
          ? smallest_fault(field, sight, evidence.relative_error, data_per_m2, spacing_m)
          : Fault{};
  evidence.smallest_width_m = fault.width_m;
  evidence.smallest_length_m = fault.length_m;
  if (!(fault.width_m > 0)) {
    evidence.told += ": a deficit of one tenth does not show along laterals, however many";
    return;
  }
  const double laterals = fault.width_m / spacing_m;
  evidence.told += fmt::format(
      ": the smallest deficit of one tenth that shows is {} wide and {} "
      "long{}",
      laterals_text(laterals), length_words(field, std::ceil(fault.length_m)),
      laterals > 1.5 ? "; single laterals are not seen" : "");
}

}  // namespace evendrip
