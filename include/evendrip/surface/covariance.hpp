// SPDX-License-Identifier: Apache-2.0
// Covariance between sites as a sum of products of small parts, so that a model can say that water
// reaches a plant through its lateral and not across the soil.
//
//   C(a, b) = sum over terms of variance x product over factors of rho(distance / range)
//
// Each factor has its own way of measuring distance (plane, along a lateral, across the laterals,
// station alone). A product of correlations and a sum of covariances are covariances again
// (Chiles & Delfiner 2012, "Geostatistics", 2nd ed., section 2.3; from memory).
#pragma once

#include <span>
#include <string>
#include <vector>

#include "evendrip/surface/sample.hpp"
#include "evendrip/surface/variogram.hpp"

namespace evendrip {

/// A block of a column-major matrix that somebody else owns: element (i, j) is data[i + j stride].
struct MatrixView {
  double* data = nullptr;
  int rows = 0;
  int columns = 0;
  int stride = 0;
  double& operator()(int row, int column) const {
    return data[static_cast<long>(row) + static_cast<long>(column) * stride];
  }
};

/// How a factor measures the distance between two sites.
enum class Metric {
  plane,          ///< on the ground, with geometric anisotropy
  along_lateral,  ///< difference of stations on one lateral; different laterals: uncorrelated
  station,        ///< difference of stations, whatever the lateral
  across,         ///< distance across the bearing `azimuth_deg`, whatever the place along it
  same_lateral,   ///< 1 on one lateral, else 0; has no range
  same_zone       ///< 1 in one zone, else 0; has no range
};

/// Range as in the formulas of VariogramShape. Sites without a lateral (-1) are on no common
/// lateral, not even with themselves; a site with zone -1 likewise.
struct CorrelationFactor {
  Metric metric = Metric::plane;
  VariogramShape shape = VariogramShape::exponential;  ///< not nugget, not linear
  double range_m = 1;
  double azimuth_deg = 0;  ///< plane: of the major axis; across: of the laterals; from north
  double ratio = 1;        ///< plane: minor range / major range, above 0, at most 1
};
struct CovarianceTerm {
  std::string name;  ///< "laterals", "local": for tables
  double variance = 1;
  std::vector<CorrelationFactor> factors;  ///< none: the same everywhere
};
struct CovarianceModel {
  std::vector<CovarianceTerm> terms;
};

/// Fills out (rows.size() x columns.size()). Throws std::invalid_argument for a shape that has no
/// correlation, a range or a variance not above 0, or a view of another size.
void fill(const CovarianceModel& model, std::span<const Site> rows, std::span<const Site> columns,
          MatrixView out);
double covariance(const CovarianceModel& model, const Site& a, const Site& b);
/// Covariance of a site with itself; the same for all sites of one zone and lateral.
double variance_at(const CovarianceModel& model, const Site& site);

/// One number of a model that can be fitted; the azimuth is given, never fitted.
struct CovarianceParameter {
  enum class Kind { variance, range, ratio } kind = Kind::variance;
  int term = 0;
  int factor = -1;  ///< -1 for the variance
  bool operator==(const CovarianceParameter&) const = default;
};
/// Term by term: variance, then the range of each factor that has one, with the ratio behind it
/// where it is below 1 (a ratio of 1 is isotropy and stays).
std::vector<CovarianceParameter> parameters_of(const CovarianceModel& model);
double value_of(const CovarianceModel& model, const CovarianceParameter& parameter);
void set_value(CovarianceModel& model, const CovarianceParameter& parameter, double value);
/// "laterals: variance", "local: range".
std::string to_text(const CovarianceModel& model, const CovarianceParameter& parameter);

/// Derivative of fill() with respect to the natural logarithm of a parameter.
void fill_gradient(const CovarianceModel& model, const CovarianceParameter& parameter,
                   std::span<const Site> rows, std::span<const Site> columns, MatrixView out);

}  // namespace evendrip
