// SPDX-License-Identifier: Apache-2.0
// The restricted likelihood of observations for one trend, made ready to be asked many times.
//
// The trend is replaced by an orthonormal basis Q of its columns, so that
// log|X'V^-1 X| - log|X'X| = log|Q'V^-1 Q| whatever the scale of the columns. With
// P = V^-1 - V^-1 Q (Q'V^-1 Q)^-1 Q'V^-1 and D_k the derivative of V by a parameter,
//   gradient_k = -1/2 [tr(P D_k) - y'P D_k P y],  information_jk = 1/2 y'P D_j P D_k P y,
// the latter the average of the observed and the expected information (Gilmour, Thompson & Cullis
// 1995, Biometrics 51:1440-1450; from memory).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/surface/surface_model.hpp"

namespace evendrip::likelihood {

/// The numbers of a model that a fit may change.
struct Numbers {
  CovarianceModel covariance;
  double nugget = 0;
};

/// One of them.
struct Parameter {
  bool is_nugget = false;
  CovarianceParameter of;  ///< when it is not the nugget
  bool operator==(const Parameter&) const = default;
};
/// Those of the covariance, then the nugget if it is above 0.
std::vector<Parameter> parameters_of(const Numbers& numbers);
double value_of(const Numbers& numbers, const Parameter& parameter);
void set_value(Numbers& numbers, const Parameter& parameter, double value);
std::string to_text(const Numbers& numbers, const Parameter& parameter);

// Columns that are worked on at once, and where an element of a column-major matrix stands.
constexpr int block = 64;
inline int blocks_of(int count) {
  return (count + block - 1) / block;
}
inline std::size_t size(int count) {
  return static_cast<std::size_t>(count);
}
inline std::size_t at(int row, int column, int stride) {
  return size(row) + size(column) * size(stride);
}

enum class Want { value, gradient, information };

struct Evaluation {
  double log_likelihood = 0;
  double quadratic = 0;             ///< y'Py
  std::vector<double> gradient;     ///< by the logarithms of the parameters
  std::vector<double> information;  ///< of the same, row by row
  std::vector<double> coefficients;
  std::vector<double> coefficient_errors;
};

class Problem {
 public:
  /// Throws std::invalid_argument if there are not more observations than trend terms or a term has
  /// no value at an observation.
  Problem(const SurfaceObservations& observations, const SurfaceTrend& trend, double known_mean);

  int count() const { return count_; }
  int trend_terms() const { return trend_terms_; }
  bool dependent() const { return dependent_; }  ///< columns of the trend: nothing can be evaluated
  bool has_noise() const { return has_noise_; }
  /// Of the observations about the trend fitted by ordinary least squares.
  double residual_variance() const;
  const SurfaceObservations& observations() const { return observations_; }

  /// Nothing when V is not positive definite.
  std::optional<Evaluation> evaluate(const Numbers& numbers, std::span<const Parameter> parameters,
                                     Want want, const Work& work) const;

 private:
  /// V = L L' and what follows from it.
  struct Solved {
    std::vector<double> lower;     ///< L
    std::vector<double> right;     ///< L^-1 [Q y], the last column less what the trend explains
    std::vector<double> gram;      ///< factor of Q'V^-1 Q
    std::vector<double> estimate;  ///< coefficients of Q
    double log_determinant = 0;    ///< of V and of Q'V^-1 Q
    double quadratic = 0;
  };
  struct Derivatives;
  void orthonormalise();
  void fill_block(const CovarianceModel& model, int first, MatrixView out) const;
  void fill_gradient_block(const CovarianceModel& model, const CovarianceParameter& parameter,
                           int first, MatrixView out) const;
  bool factor(const Numbers& numbers, std::vector<double>& lower, const Work& work) const;
  std::optional<Solved> solve(const Numbers& numbers, const Work& work) const;
  void add_derivatives(const Numbers& numbers, std::span<const Parameter> parameters, Want want,
                       const Solved& solved, Evaluation& evaluation, const Work& work) const;
  std::vector<double> dual_columns(const Solved& solved) const;
  void inverse_block(const Solved& solved, std::span<const double> dual, int first,
                     MatrixView out) const;
  void differentiate_block(const Numbers& numbers, std::span<const Parameter> parameters,
                           const Solved& solved, int first, Derivatives& derivatives) const;
  std::vector<double> average_information(const Solved& solved, std::vector<double> moved,
                                          int parameters) const;
  void add_coefficients(const Solved& solved, Evaluation& evaluation) const;

  SurfaceObservations observations_;
  std::vector<Site> sites_;  ///< of the observations when each is a point, else empty
  int count_ = 0;
  int trend_terms_ = 0;
  bool dependent_ = false;
  bool has_noise_ = false;
  std::vector<double> basis_;     ///< Q, count x terms
  std::vector<double> triangle_;  ///< R of X = QR, terms x terms
  std::vector<double> values_;
  std::vector<double> noise_;
  std::vector<double> nugget_share_;  ///< sum of the squared weights
};

}  // namespace evendrip::likelihood
