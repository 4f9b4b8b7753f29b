// SPDX-License-Identifier: Apache-2.0
#include "likelihood.hpp"

#include "evendrip/kernels/dense.hpp"

#include <algorithm>

namespace evendrip::likelihood {

/// Sums over the blocks of columns, kept apart so that their order is the same for any number of
/// threads.
struct Problem::Derivatives {
  std::vector<double> dual;                 ///< columns of P's second part, then Py
  std::vector<std::vector<double>> traces;  ///< of each block, for each parameter: tr((P - aa') D)
  std::vector<std::vector<double>> moved;   ///< of each block: its part of D_k P y, or empty
};

/// T and a with P = V^-1 - T T' and a = P y.
std::vector<double> Problem::dual_columns(const Solved& solved) const {
  const int n = count_;
  const int p = trend_terms_;
  std::vector<double> dual = solved.right;
  std::vector<double> row(size(p));
  for (int i = 0; i < n && p > 0; ++i) {
    for (int k = 0; k < p; ++k) row[size(k)] = dual[at(i, k, n)];
    kernels::solve_lower(solved.gram.data(), p, p, row.data(), 1, p);
    for (int k = 0; k < p; ++k) dual[at(i, k, n)] = row[size(k)];
  }
  kernels::solve_lower_transposed(solved.lower.data(), n, n, dual.data(), p + 1, n);
  return dual;
}

/// P - a a', rows and columns from `first` on. Above it the identity is zero, so the solves are
/// those of the trailing part of L.
void Problem::inverse_block(const Solved& solved, std::span<const double> dual, int first,
                            MatrixView out) const {
  const int n = count_;
  for (int j = 0; j < out.columns; ++j) {
    std::fill_n(&out(0, j), out.rows, 0.0);
    out(j, j) = 1;
  }
  const double* lower = solved.lower.data() + at(first, first, n);
  kernels::solve_lower(lower, out.rows, n, out.data, out.columns, out.stride);
  kernels::solve_lower_transposed(lower, out.rows, n, out.data, out.columns, out.stride);
  for (int k = 0; k <= trend_terms_; ++k) {
    const double* column = dual.data() + at(first, k, n);
    for (int j = 0; j < out.columns; ++j) {
      double* target = &out(0, j);
      const double factor = column[j];
      for (int i = j; i < out.rows; ++i) target[i] -= factor * column[i];
    }
  }
}

namespace {

/// Of two symmetric matrices of which `a` and `b` hold the same block on and below the diagonal.
double trace_of_product(const MatrixView& a, const MatrixView& b) {
  double sum = 0;
  for (int j = 0; j < a.columns; ++j) {
    const int below = a.rows - j - 1;
    sum += a(j, j) * b(j, j);
    if (below > 0) sum += 2 * kernels::dot(&a(j + 1, j), &b(j + 1, j), below);
  }
  return sum;
}

/// Adds the product of a symmetric matrix, of which `a` is a block on and below the diagonal, with
/// a vector; both start at the first row of the block.
void add_product(const MatrixView& a, const double* vector, double* out) {
  for (int j = 0; j < a.columns; ++j) {
    const int below = a.rows - j - 1;
    const double* column = &a(j, j);
    for (int i = 0; i <= below; ++i) out[j + i] += column[i] * vector[j];
    if (below > 0) out[j] += kernels::dot(column + 1, vector + j + 1, below);
  }
}

}  // namespace

void Problem::differentiate_block(const Numbers& numbers, std::span<const Parameter> parameters,
                                  const Solved& solved, int first, Derivatives& derivatives) const {
  const int n = count_;
  const int rows = n - first;
  const int width = std::min(block, rows);
  std::vector<double> inverse(size(rows) * size(width));
  std::vector<double> derivative(size(rows) * size(width));
  const MatrixView p{inverse.data(), rows, width, rows};
  const MatrixView d{derivative.data(), rows, width, rows};
  inverse_block(solved, derivatives.dual, first, p);
  const double* py = derivatives.dual.data() + at(first, trend_terms_, n);
  const std::size_t b = size(first / block);
  std::vector<double>& moved = derivatives.moved[b];
  for (std::size_t k = 0; k < parameters.size(); ++k) {
    double* target = moved.empty() ? nullptr : moved.data() + k * size(n) + size(first);
    double& trace = derivatives.traces[b][k];
    if (!parameters[k].is_nugget) {
      fill_gradient_block(numbers.covariance, parameters[k].of, first, d);
      trace = trace_of_product(p, d);
      if (target != nullptr) add_product(d, py, target);
      continue;
    }
    for (int j = 0; j < width; ++j) {
      const double own = numbers.nugget * nugget_share_[size(first + j)];
      trace += own * p(j, j);
      if (target != nullptr) target[j] += own * py[j];
    }
  }
}

/// `moved` holds D_k P y as columns.
std::vector<double> Problem::average_information(const Solved& solved, std::vector<double> moved,
                                                 int parameters) const {
  const int n = count_;
  const int p = trend_terms_;
  kernels::solve_lower(solved.lower.data(), n, n, moved.data(), parameters, n);
  std::vector<double> shares(size(p) * size(parameters));
  for (int k = 0; k < parameters; ++k)
    for (int j = 0; j < p; ++j)
      shares[at(j, k, p)] = kernels::dot(&solved.right[at(0, j, n)], &moved[at(0, k, n)], n);
  if (p > 0) kernels::solve_lower(solved.gram.data(), p, p, shares.data(), parameters, p);
  std::vector<double> information(size(parameters) * size(parameters));
  for (int j = 0; j < parameters; ++j) {
    for (int k = 0; k < parameters; ++k) {
      const double whole = kernels::dot(&moved[at(0, j, n)], &moved[at(0, k, n)], n);
      const double trend =
          kernels::dot(shares.data() + at(0, j, p), shares.data() + at(0, k, p), p);
      information[at(j, k, parameters)] = 0.5 * (whole - trend);
    }
  }
  return information;
}

void Problem::add_derivatives(const Numbers& numbers, std::span<const Parameter> parameters,
                              Want want, const Solved& solved, Evaluation& evaluation,
                              const Work& work) const {
  const std::size_t blocks = size(blocks_of(count_));
  const std::size_t count = parameters.size();
  Derivatives derivatives;
  derivatives.dual = dual_columns(solved);
  derivatives.traces.assign(blocks, std::vector<double>(count));
  const std::size_t length = want == Want::information ? count * size(count_) : 0;
  derivatives.moved.assign(blocks, std::vector<double>(length));
  for_each_chunk(work, blocks, 1, [&](std::size_t b, std::size_t, int) {
    differentiate_block(numbers, parameters, solved, static_cast<int>(b) * block, derivatives);
  });
  evaluation.gradient.assign(count, 0);
  for (const std::vector<double>& traces : derivatives.traces)
    for (std::size_t k = 0; k < count; ++k) evaluation.gradient[k] -= 0.5 * traces[k];
  if (want != Want::information) return;
  std::vector<double> moved(length);
  for (const std::vector<double>& part : derivatives.moved)
    for (std::size_t i = 0; i < length; ++i) moved[i] += part[i];
  evaluation.information = average_information(solved, std::move(moved), static_cast<int>(count));
}

}  // namespace evendrip::likelihood
