// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/covariance.hpp"

#include "covariance_parts.hpp"

#include <algorithm>
#include <stdexcept>

namespace evendrip {
namespace {

using covariance_parts::Part;
using Kind = CovarianceParameter::Kind;

bool has_range(const CorrelationFactor& factor) {
  return factor.metric != Metric::same_lateral && factor.metric != Metric::same_zone;
}

void check_size(std::span<const Site> rows, std::span<const Site> columns, const MatrixView& out) {
  const bool same = out.rows == static_cast<int>(rows.size()) &&
                    out.columns == static_cast<int>(columns.size()) && out.stride >= out.rows;
  if (!same) throw std::invalid_argument("the matrix does not have the size of its sites");
}

void fill_terms(std::vector<covariance_parts::Term> terms, std::span<const Site> columns,
                MatrixView out) {
  for (int j = 0; j < out.columns; ++j) {
    double* column = &out(0, j);
    std::fill_n(column, out.rows, 0.0);
    for (covariance_parts::Term& term : terms)
      term.add(columns[static_cast<std::size_t>(j)], column);
  }
}

CovarianceTerm& term_of(CovarianceModel& model, const CovarianceParameter& parameter) {
  return model.terms.at(static_cast<std::size_t>(parameter.term));
}

double& number_of(CovarianceModel& model, const CovarianceParameter& parameter) {
  CovarianceTerm& term = term_of(model, parameter);
  if (parameter.kind == Kind::variance) return term.variance;
  CorrelationFactor& factor = term.factors.at(static_cast<std::size_t>(parameter.factor));
  return parameter.kind == Kind::range ? factor.range_m : factor.ratio;
}

/// What a range is called when its term has several.
std::string words_of(Metric metric) {
  switch (metric) {
    case Metric::plane:
      return " on the ground";
    case Metric::along_lateral:
      return " along the lateral";
    case Metric::station:
      return " in station";
    case Metric::across:
      return " across the laterals";
    case Metric::same_lateral:
    case Metric::same_zone:
      break;
  }
  return "";
}

Part part_of(const CovarianceParameter& parameter) {
  if (parameter.kind == Kind::variance) return {};
  return {parameter.kind == Kind::range ? Part::Kind::range : Part::Kind::ratio, parameter.factor};
}

}  // namespace

void fill(const CovarianceModel& model, std::span<const Site> rows, std::span<const Site> columns,
          MatrixView out) {
  covariance_parts::check(model);
  check_size(rows, columns, out);
  std::vector<covariance_parts::Term> terms;
  terms.reserve(model.terms.size());
  for (const CovarianceTerm& term : model.terms) terms.emplace_back(term, Part{}, rows);
  fill_terms(std::move(terms), columns, out);
}

double covariance(const CovarianceModel& model, const Site& a, const Site& b) {
  double value = 0;
  fill(model, {&a, 1}, {&b, 1}, {&value, 1, 1, 1});
  return value;
}

double variance_at(const CovarianceModel& model, const Site& site) {
  return covariance(model, site, site);
}

std::vector<CovarianceParameter> parameters_of(const CovarianceModel& model) {
  std::vector<CovarianceParameter> parameters;
  for (std::size_t t = 0; t < model.terms.size(); ++t) {
    const int term = static_cast<int>(t);
    parameters.push_back({Kind::variance, term, -1});
    const std::vector<CorrelationFactor>& factors = model.terms[t].factors;
    for (std::size_t f = 0; f < factors.size(); ++f) {
      if (!has_range(factors[f])) continue;
      parameters.push_back({Kind::range, term, static_cast<int>(f)});
      if (factors[f].metric == Metric::plane && factors[f].ratio < 1)
        parameters.push_back({Kind::ratio, term, static_cast<int>(f)});
    }
  }
  return parameters;
}

double value_of(const CovarianceModel& model, const CovarianceParameter& parameter) {
  CovarianceModel copy = model;
  return number_of(copy, parameter);
}

void set_value(CovarianceModel& model, const CovarianceParameter& parameter, double value) {
  number_of(model, parameter) = value;
}

std::string to_text(const CovarianceModel& model, const CovarianceParameter& parameter) {
  const CovarianceTerm& term = model.terms.at(static_cast<std::size_t>(parameter.term));
  if (parameter.kind == Kind::variance) return term.name + ": variance";
  std::string text = term.name + (parameter.kind == Kind::range ? ": range" : ": ratio");
  if (std::count_if(term.factors.begin(), term.factors.end(), has_range) > 1)
    text += words_of(term.factors.at(static_cast<std::size_t>(parameter.factor)).metric);
  return text;
}

void fill_gradient(const CovarianceModel& model, const CovarianceParameter& parameter,
                   std::span<const Site> rows, std::span<const Site> columns, MatrixView out) {
  covariance_parts::check(model);
  check_size(rows, columns, out);
  std::vector<covariance_parts::Term> terms;
  terms.emplace_back(model.terms.at(static_cast<std::size_t>(parameter.term)), part_of(parameter),
                     rows);
  fill_terms(std::move(terms), columns, out);
}

}  // namespace evendrip
