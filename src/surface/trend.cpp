// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/trend.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

std::vector<double> lateral_lengths_m(const Field& field) {
  std::vector<double> lengths;
  lengths.reserve(field.laterals.size());
  for (const Lateral& lateral : field.laterals) lengths.push_back(lateral.length_m);
  return lengths;
}

/// A function of station and length of the lateral; without a lateral there is no value.
template <typename Formula>
TrendTerm lateral_term(std::string name, const Field& field, Formula formula) {
  return {std::move(name), [lengths = lateral_lengths_m(field), formula](
                               std::span<const Site> sites, std::span<double> out) {
            for (std::size_t i = 0; i < sites.size(); ++i) {
              const auto lateral = static_cast<std::size_t>(sites[i].lateral);
              const bool known = sites[i].lateral >= 0 && lateral < lengths.size();
              out[i] = known ? formula(sites[i].station_m, lengths[lateral]) : none;
            }
          }};
}

void check_size(std::size_t rows, std::size_t columns, const MatrixView& out) {
  const bool same = out.rows == static_cast<int>(rows) &&
                    out.columns == static_cast<int>(columns) && out.stride >= out.rows;
  if (!same) throw std::invalid_argument("the matrix does not have the size of its trend");
}

/// Of a whole exponent, by products: quick, and 1 for exponent 0 at the supply end.
double whole_power(double base, int exponent) {
  double product = 1;
  for (int i = 0; i < exponent; ++i) product *= base;
  return product;
}

}  // namespace

TrendTerm constant_term() {
  return {"constant", [](std::span<const Site>, std::span<double> out) {
            std::fill(out.begin(), out.end(), 1.0);
          }};
}

TrendTerm zone_term(const Field& field, int zone) {
  return {"zone " + field.zones.at(static_cast<std::size_t>(zone)).id,
          [zone](std::span<const Site> sites, std::span<double> out) {
            for (std::size_t i = 0; i < sites.size(); ++i) out[i] = sites[i].zone == zone ? 1 : 0;
          }};
}

TrendTerm station_term(const Field& field, int power) {
  if (power < 1) throw std::invalid_argument("the power of a station term is below 1");
  const std::string name = power == 1 ? "station" : "station to the " + std::to_string(power);
  return lateral_term(name, field, [power](double station_m, double length_m) {
    return whole_power(station_m / length_m, power);
  });
}

TrendTerm near_end_term(const Field& field, double reach_m) {
  if (!(reach_m > 0)) throw std::invalid_argument("the reach of an end term is not above 0");
  return lateral_term("nearness of the far end", field,
                      [reach_m](double station_m, double length_m) {
                        return std::exp(-std::max(length_m - station_m, 0.0) / reach_m);
                      });
}

TrendTerm raster_term(std::string name, std::shared_ptr<const Raster> raster) {
  if (!raster) throw std::invalid_argument("a raster term without a raster");
  return {std::move(name),
          [raster = std::move(raster)](std::span<const Site> sites, std::span<double> out) {
            for (std::size_t i = 0; i < sites.size(); ++i)
              out[i] = value_at(*raster, sites[i].place).value_or(none);
          }};
}

TrendTerm function_term(std::string name, std::function<double(const Site&)> value) {
  return {std::move(name),
          [value = std::move(value)](std::span<const Site> sites, std::span<double> out) {
            std::transform(sites.begin(), sites.end(), out.begin(), value);
          }};
}

void fill(const SurfaceTrend& trend, std::span<const Site> sites, MatrixView out) {
  check_size(sites.size(), trend.size(), out);
  if (sites.empty()) return;
  for (std::size_t k = 0; k < trend.size(); ++k)
    trend[k].fill(sites, {&out(0, static_cast<int>(k)), sites.size()});
}

void fill(const SurfaceTrend& trend, std::span<const SurfaceObservation> observations,
          MatrixView out) {
  check_size(observations.size(), trend.size(), out);
  std::vector<double> values;
  for (int i = 0; i < out.rows; ++i) {
    const SurfaceObservation& observation = observations[static_cast<std::size_t>(i)];
    values.resize(observation.sites.size());
    for (int k = 0; k < out.columns; ++k) {
      const TrendTerm& term = trend[static_cast<std::size_t>(k)];
      term.fill(observation.sites, values);
      double sum = 0;
      for (std::size_t s = 0; s < values.size(); ++s) sum += observation.weights[s] * values[s];
      if (!std::isfinite(sum))
        throw std::invalid_argument("the trend term '" + term.name +
                                    "' has no value at a measurement");
      out(i, k) = sum;
    }
  }
}

}  // namespace evendrip
