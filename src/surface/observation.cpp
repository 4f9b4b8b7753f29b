// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/observation.hpp"

#include <algorithm>
#include <cstddef>
#include <stdexcept>

namespace evendrip {
namespace {

/// Columns of the site matrix that are held at once.
constexpr std::size_t columns_at_once = 64;

/// The sites of all observations one behind the other.
struct FlatSites {
  std::vector<Site> sites;
  std::vector<double> weights;
  std::vector<std::size_t> begins{0};
  bool plain = true;  ///< one site of weight 1 each
};

FlatSites flat(std::span<const SurfaceObservation> observations) {
  FlatSites all;
  for (const SurfaceObservation& observation : observations) {
    if (observation.sites.size() != observation.weights.size())
      throw std::invalid_argument("an observation needs as many weights as sites");
    all.sites.insert(all.sites.end(), observation.sites.begin(), observation.sites.end());
    all.weights.insert(all.weights.end(), observation.weights.begin(), observation.weights.end());
    all.begins.push_back(all.sites.size());
    all.plain &= observation.sites.size() == 1 && observation.weights[0] == 1;
  }
  return all;
}

void check_size(std::size_t rows, std::size_t columns, const MatrixView& out) {
  const bool same = out.rows == static_cast<int>(rows) &&
                    out.columns == static_cast<int>(columns) && out.stride >= out.rows;
  if (!same) throw std::invalid_argument("the matrix does not have the size of its observations");
}

/// Adds factor times the weighted sums of a column of the site matrix.
void add_sums(const FlatSites& rows, const double* column, double factor, double* out) {
  for (std::size_t i = 0; i + 1 < rows.begins.size(); ++i) {
    double sum = 0;
    for (std::size_t k = rows.begins[i]; k < rows.begins[i + 1]; ++k)
      sum += rows.weights[k] * column[k];
    out[i] += factor * sum;
  }
}

/// `fill_sites(columns, view)` fills the matrix between all row sites and some column sites;
/// column k of it counts with weights[k] into column target(k) of out.
template <typename FillSites, typename Target>
void fill_sums(const FlatSites& rows, std::span<const Site> columns,
               std::span<const double> weights, MatrixView out, const FillSites& fill_sites,
               const Target& target) {
  for (int j = 0; j < out.columns; ++j) std::fill_n(&out(0, j), out.rows, 0.0);
  const std::size_t height = rows.sites.size();
  std::vector<double> block(height * std::min(columns_at_once, columns.size()));
  for (std::size_t begin = 0; begin < columns.size(); begin += columns_at_once) {
    const auto part = columns.subspan(begin, std::min(columns_at_once, columns.size() - begin));
    fill_sites(part, MatrixView{block.data(), static_cast<int>(height),
                                static_cast<int>(part.size()), static_cast<int>(height)});
    for (std::size_t k = 0; k < part.size(); ++k) {
      const double weight = weights.empty() ? 1 : weights[begin + k];
      add_sums(rows, block.data() + k * height, weight, &out(0, target(begin + k)));
    }
  }
}

template <typename FillSites>
void fill_between(std::span<const SurfaceObservation> rows,
                  std::span<const SurfaceObservation> columns, MatrixView out,
                  const FillSites& fill_sites) {
  check_size(rows.size(), columns.size(), out);
  const FlatSites down = flat(rows);
  const FlatSites across = flat(columns);
  const auto fill_from_rows = [&](std::span<const Site> part, MatrixView view) {
    fill_sites(down.sites, part, view);
  };
  if (down.plain && across.plain) return fill_from_rows(across.sites, out);
  std::vector<int> owner;
  for (std::size_t j = 0; j < columns.size(); ++j)
    owner.insert(owner.end(), columns[j].sites.size(), static_cast<int>(j));
  fill_sums(down, across.sites, across.weights, out, fill_from_rows,
            [&](std::size_t k) { return owner[k]; });
}

}  // namespace

SurfaceObservations observations_of(const Samples& samples) {
  SurfaceObservations observations;
  observations.reserve(samples.size());
  for (const Sample& sample : samples)
    observations.push_back({{sample.site}, {1}, sample.value, sample.noise_variance});
  return observations;
}

void fill(const CovarianceModel& model, std::span<const SurfaceObservation> rows,
          std::span<const SurfaceObservation> columns, MatrixView out) {
  fill_between(rows, columns, out,
               [&](std::span<const Site> a, std::span<const Site> b, MatrixView view) {
                 fill(model, a, b, view);
               });
}

void fill(const CovarianceModel& model, std::span<const SurfaceObservation> rows,
          std::span<const Site> columns, MatrixView out) {
  check_size(rows.size(), columns.size(), out);
  const FlatSites down = flat(rows);
  if (down.plain) return fill(model, down.sites, columns, out);
  fill_sums(
      down, columns, {}, out,
      [&](std::span<const Site> part, MatrixView view) { fill(model, down.sites, part, view); },
      [](std::size_t k) { return static_cast<int>(k); });
}

void fill_gradient(const CovarianceModel& model, const CovarianceParameter& parameter,
                   std::span<const SurfaceObservation> rows,
                   std::span<const SurfaceObservation> columns, MatrixView out) {
  fill_between(rows, columns, out,
               [&](std::span<const Site> a, std::span<const Site> b, MatrixView view) {
                 fill_gradient(model, parameter, a, b, view);
               });
}

}  // namespace evendrip
