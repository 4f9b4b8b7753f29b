// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/gauges.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <Eigen/Dense>

#include "evendrip/hydraulics/meter.hpp"
#include "gauge_readings.hpp"

namespace evendrip {
namespace {

/// Inlet pressure, loss factor, wear factor, soil factor.
constexpr int parameters = 4;
using Parameters = Eigen::Vector4d;
using Square = Eigen::Matrix4d;
using Slopes = Eigen::MatrixX4d;

constexpr double flagged_beyond = 3;
constexpr double settled = 1e-8;  // relative change of every parameter
constexpr int most_iterations = 60;
constexpr double fresh_slopes = 1e-3;   // a larger change asks for new derivatives
constexpr double slope_step = 1e-3;     // relative step of the derivatives
constexpr double told_more_frac = 0.7;  // of the prior's sd: what counts as learnt from data

/// Far below what any zone shows; keeps the network solvable on the way.
const Parameters least(0.1, 0.05, 0.02, 0.1);

struct Prior {
  Parameters mean;
  Parameters sd;
};

Prior prior_of(const Zone& zone, const GaugePriors& priors) {
  constexpr double unstated_sd_frac = 0.5;
  const bool stated = zone.inlet_pressure_kpa > 0;
  const double inlet = stated ? zone.inlet_pressure_kpa : zone.emitter.pressure_kpa;
  const Estimate soil = priors.soil_factor.value_or(in_soil_ratio(zone.emitter.discharge_lph));
  return {Parameters(inlet, 1, 1, soil.value),
          Parameters(inlet * (stated ? priors.inlet_sd_frac : unstated_sd_frac), priors.loss_sd,
                     std::hypot(priors.wear_sd, zone.emitter.rated_tolerance_frac), soil.sd)};
}

/// The zone as a function of the parameters, seen at the ports.
class PortModel {
 public:
  PortModel(const ZoneNetwork& clean, const std::vector<LineReading>& readings)
      : clean_(clean), readings_(readings) {
    const bool all_at_inlet = std::all_of(readings.begin(), readings.end(),
                                          [](const LineReading& r) { return r.at_inlet; });
    if (!all_at_inlet) solver_.emplace(clean.network);
  }

  Eigen::VectorXd pressures_kpa(const Parameters& p) {
    Eigen::VectorXd kpa = Eigen::VectorXd::Constant(rows(), p[0]);
    if (!solver_) return kpa;
    const ZoneNetwork zone = as_gauged(clean_, p[0], p[1], p[2] * p[3]);
    state_ = solver_->solve(zone.network, state_ ? &*state_ : nullptr);
    for (Eigen::Index i = 0; i < rows(); ++i) {
      const LineReading& reading = readings_[static_cast<std::size_t>(i)];
      if (!reading.at_inlet) kpa[i] = state_->pressure_kpa(zone.network, reading.node);
    }
    return kpa;
  }

  Slopes slopes(const Parameters& p, const Eigen::VectorXd& at_p) {
    Slopes result = Slopes::Zero(rows(), parameters);
    for (Eigen::Index i = 0; i < rows(); ++i) result(i, 0) = 1;
    if (!solver_) return result;
    for (int k = 0; k < 3; ++k) {
      Parameters stepped = p;
      stepped[k] += slope_step * p[k];
      result.col(k) = (pressures_kpa(stepped) - at_p) / (stepped[k] - p[k]);
    }
    // Wear and soil act as their product.
    result.col(3) = result.col(2) * (p[2] / p[3]);
    return result;
  }

 private:
  Eigen::Index rows() const { return static_cast<Eigen::Index>(readings_.size()); }

  const ZoneNetwork& clean_;
  const std::vector<LineReading>& readings_;
  std::optional<NetworkSolver> solver_;
  std::optional<NetworkState> state_;
};

/// Weighted least squares over the ports in use, the witnesses and the prior.
class GaugeFit {
 public:
  GaugeFit(const ZoneNetwork& clean, const std::vector<LineReading>& readings,
           const std::vector<WearWitness>& witnesses, const Prior& prior)
      : readings_(readings),
        witnesses_(witnesses),
        prior_(prior),
        model_(clean, readings),
        used_(readings.size(), true),
        estimate_(prior.mean) {
    start();
  }

  /// Estimates, sets the worst port aside, and estimates again until none is beyond the limit.
  void run() {
    settle();
    for (int worst = worst_port(); worst >= 0; worst = worst_port()) {
      used_[static_cast<std::size_t>(worst)] = false;
      settle();
    }
  }

  Estimate estimate(int k) const { return {estimate_[k], std::sqrt(covariance_(k, k))}; }
  bool used(std::size_t port) const { return used_[port]; }
  bool has_settled() const { return settled_; }
  int iterations() const { return iterations_; }
  double modelled_kpa(std::size_t port) const { return modelled_[static_cast<Eigen::Index>(port)]; }

  /// Residual over its own standard deviation: of a port in use, what the fit has left of its
  /// error; of one set aside, its error and that of the prediction.
  double standardised(std::size_t port) const {
    const auto row = static_cast<Eigen::Index>(port);
    const LineReading& reading = readings_[port];
    const double variance = reading.sd_kpa * reading.sd_kpa;
    const double of_fit = slopes_.row(row) * covariance_ * slopes_.row(row).transpose();
    const double left = used_[port] ? variance - of_fit : variance + of_fit;
    const double residual = reading.kpa - modelled_[row];
    // Rounding can leave nothing where a port alone decides its own pressure.
    return left > 1e-9 * variance ? residual / std::sqrt(left) : 0;
  }

 private:
  /// From what the inlet gauges and the witnesses say.
  void start() {
    double weight = 0;
    double sum = 0;
    for (const LineReading& reading : readings_) {
      if (!reading.at_inlet) continue;
      weight += 1 / (reading.sd_kpa * reading.sd_kpa);
      sum += reading.kpa / (reading.sd_kpa * reading.sd_kpa);
    }
    if (weight > 0) estimate_[0] = sum / weight;
    estimate_ = estimate_.cwiseMax(least);
  }

  void add(Square& normal, Parameters& right, int k, double value, double sd) const {
    normal(k, k) += 1 / (sd * sd);
    right[k] += (value - estimate_[k]) / (sd * sd);
  }

  /// Normal matrix and right side of the step from the present estimate.
  Parameters step() {
    Square normal = Square::Zero();
    Parameters right = Parameters::Zero();
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      if (!used_[i]) continue;
      const auto row = static_cast<Eigen::Index>(i);
      const Parameters slope = slopes_.row(row).transpose() / readings_[i].sd_kpa;
      normal += slope * slope.transpose();
      right += slope * ((readings_[i].kpa - modelled_[row]) / readings_[i].sd_kpa);
    }
    for (const WearWitness& w : witnesses_) add(normal, right, 2, w.factor.value, w.factor.sd);
    for (int k = 0; k < parameters; ++k) add(normal, right, k, prior_.mean[k], prior_.sd[k]);
    covariance_ = normal.inverse();
    return covariance_ * right;
  }

  void settle() {
    settled_ = false;
    double change = 1;
    for (int i = 0; i < most_iterations && !settled_; ++i, ++iterations_) {
      modelled_ = model_.pressures_kpa(estimate_);
      if (change > fresh_slopes) slopes_ = model_.slopes(estimate_, modelled_);
      const Parameters next = (estimate_ + damped(step())).cwiseMax(least);
      change = ((next - estimate_).cwiseQuotient(estimate_)).cwiseAbs().maxCoeff();
      estimate_ = next;
      settled_ = change < settled;
    }
    modelled_ = model_.pressures_kpa(estimate_);
  }

  /// No parameter moves by more than half of itself at once: far steps leave the range where the
  /// derivatives hold.
  Parameters damped(const Parameters& step) const {
    const double furthest = step.cwiseQuotient(estimate_).cwiseAbs().maxCoeff();
    return furthest > 0.5 ? Parameters(step * (0.5 / furthest)) : step;
  }

  /// The port to set aside next, -1 if there is none.
  int worst_port() const {
    if (std::count(used_.begin(), used_.end(), true) < 2) return -1;
    int worst = -1;
    double furthest = flagged_beyond;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
      if (!used_[i] || readings_[i].at_inlet || !(std::abs(standardised(i)) > furthest)) continue;
      furthest = std::abs(standardised(i));
      worst = static_cast<int>(i);
    }
    return worst;
  }

  const std::vector<LineReading>& readings_;
  const std::vector<WearWitness>& witnesses_;
  Prior prior_;
  PortModel model_;
  std::vector<bool> used_;
  Parameters estimate_;
  Square covariance_ = Square::Zero();
  Eigen::VectorXd modelled_;
  Slopes slopes_;
  bool settled_ = false;
  int iterations_ = 0;
};

/// Which source says most of the inlet pressure.
std::string inlet_source(const Field& field, const Zone& zone,
                         const std::vector<LineReading>& readings, double learnt_frac) {
  const auto id = [&](const LineReading& r) {
    return field.ports[static_cast<std::size_t>(r.port)].id;
  };
  const auto at_inlet = [&](bool behind_valve) {
    return std::find_if(readings.begin(), readings.end(), [&](const LineReading& r) {
      const bool valve = field.ports[static_cast<std::size_t>(r.port)].kind == "valve_out";
      return r.at_inlet && valve == behind_valve;
    });
  };
  if (const auto r = at_inlet(false); r != readings.end()) return "gauge " + id(*r);
  if (const auto r = at_inlet(true); r != readings.end()) return "gauge " + id(*r);
  if (!readings.empty() && learnt_frac < told_more_frac) return "far-end gauges";
  return zone.inlet_pressure_kpa > 0 ? "field.toml" : "rated pressure";
}

void tell_inlet_not_measured(const Zone& zone, const Estimate& inlet, Doubts& doubts) {
  Place place;
  place.file = "field.toml";
  place.layer = fmt::format("[[zone]] {}", zone.id);
  place.column = "inlet_pressure";
  doubts.push_back({"inlet_not_measured", Severity::doubt, place,
                    fmt::format("neither a gauge nor field.toml says the inlet pressure of zone "
                                "{}: {:.4g} kPa is taken, give or take {:.2g} kPa",
                                zone.id, inlet.value, inlet.sd),
                    "", "a reading at the zone's inlet, or inlet_pressure",
                    "Read a gauge at the zone's inlet while it irrigates"});
}

void tell_disagreement(const Field& field, const Survey& survey, const LineReading& reading,
                       const PortComparison& port, Doubts& doubts) {
  const std::string& id = field.ports[static_cast<std::size_t>(reading.port)].id;
  doubts.push_back(
      {"port_disagrees", Severity::doubt,
       place_of_reading(field, survey, reading.row, "pressure_kpa"),
       fmt::format("the gauge at port {} disagrees with the rest of the zone{}", id,
                   port.set_aside ? " and is set aside" : ""),
       fmt::format("{:.4g} kPa", port.measured_kpa), fmt::format("{:.4g} kPa", port.modelled_kpa),
       reading.at_inlet ? "Read it again with another gauge, and compare inlet_pressure in "
                          "field.toml"
                        : "Read it again with another gauge; then look for a pinch, a cut or a "
                          "shut valve on the way to it"});
}

PortComparison comparison(const LineReading& reading, const GaugeFit& fit, std::size_t i) {
  PortComparison port;
  port.port = reading.port;
  port.at_inlet = reading.at_inlet;
  port.measured_kpa = reading.kpa;
  port.modelled_kpa = fit.modelled_kpa(i);
  port.gauge_sd_kpa = reading.gauge_sd_kpa;
  port.standardised = fit.standardised(i);
  port.set_aside = !fit.used(i);
  port.flagged = port.set_aside || std::abs(port.standardised) > flagged_beyond;
  return port;
}

}  // namespace

ZoneGauges meet_gauges(const Field& field, const Survey& survey, const ZoneNetwork& network,
                       const std::vector<WearWitness>& witnesses, const GaugePriors& priors,
                       Doubts& doubts) {
  const Zone& zone = field.zones[static_cast<std::size_t>(network.zone)];
  const auto readings = line_readings(field, survey, network, doubts);
  const Prior prior = prior_of(zone, priors);
  GaugeFit fit(network, readings, witnesses, prior);
  fit.run();

  ZoneGauges result;
  result.inlet_kpa = fit.estimate(0);
  result.loss_factor = fit.estimate(1);
  result.wear_factor = fit.estimate(2);
  result.soil_factor = fit.estimate(3);
  result.loss_estimated = result.loss_factor.sd < told_more_frac * prior.sd[1];
  result.iterations = fit.iterations();
  result.inlet_source = inlet_source(field, zone, readings, result.inlet_kpa.sd / prior.sd[0]);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    result.ports.push_back(comparison(readings[i], fit, i));
    if (result.ports.back().flagged) {
      tell_disagreement(field, survey, readings[i], result.ports.back(), doubts);
    }
  }
  const bool gauged = std::any_of(readings.begin(), readings.end(),
                                  [](const LineReading& r) { return r.at_inlet; });
  if (!gauged && !(zone.inlet_pressure_kpa > 0)) {
    tell_inlet_not_measured(zone, result.inlet_kpa, doubts);
  }
  if (!fit.has_settled()) {
    doubts.push_back({"gauges_not_settled",
                      Severity::doubt,
                      {},
                      fmt::format("the estimate of inlet pressure and losses of zone {} does not "
                                  "settle",
                                  zone.id),
                      fmt::format("{} iterations", fit.iterations()),
                      "fewer",
                      "Check the gauge readings and the diameters of the zone"});
  }
  return result;
}

bool inlet_pressure_is_told(const Field& field, const Survey& survey, const ZoneNetwork& network) {
  if (field.zones[static_cast<std::size_t>(network.zone)].inlet_pressure_kpa > 0) return true;
  Doubts told_elsewhere;
  return !line_readings(field, survey, network, told_elsewhere).empty();
}

ZoneNetwork as_gauged(const ZoneNetwork& clean, double inlet_kpa, double loss_factor,
                      double emitter_factor) {
  ZoneNetwork zone = clean;
  zone.set_inlet_pressure(inlet_kpa);
  for (Friction& friction : zone.network.frictions) friction.multiplier *= loss_factor;
  for (const NetworkLateral& lateral : zone.laterals) {
    const int end = lateral.first_outlet + lateral.emitters;
    for (int outlet = lateral.first_outlet; outlet < end; ++outlet) {
      zone.network.outlets[static_cast<std::size_t>(outlet)].factor *= emitter_factor;
    }
  }
  return zone;
}

}  // namespace evendrip
