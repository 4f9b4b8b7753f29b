// SPDX-License-Identifier: Apache-2.0
#include "gauge_evidence.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include <Eigen/Dense>

#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

constexpr double unstated_inlet_sd_frac = 0.5;  // as GaugePriors says
constexpr double blunders = 0.02;
constexpr double blunder_range = 1.5;  // of the inlet pressure
constexpr double pit_gauge_frac = 0.02;
constexpr double pit_reading_kpa = 1;
constexpr double step_frac = 0.02;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

double log_density(const Eigen::MatrixXd& covariance, const Eigen::VectorXd& residuals) {
  if (residuals.size() == 0) return 0;
  const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
  const Eigen::VectorXd whitened = factor.matrixL().solve(residuals);
  const double half_log_determinant = factor.matrixLLT().diagonal().array().log().sum();
  return -0.5 * whitened.squaredNorm() - half_log_determinant -
         0.5 * static_cast<double>(residuals.size()) * std::log(2 * std::numbers::pi);
}

/// Readings held for sound, in their order, but for one that is left out (-1: none).
double log_density_of(const Eigen::MatrixXd& covariance, const Eigen::VectorXd& residuals,
                      const std::vector<int>& sound, int left_out) {
  std::vector<int> kept;
  std::copy_if(sound.begin(), sound.end(), std::back_inserter(kept),
               [&](int i) { return i != left_out; });
  return log_density(covariance(kept, kept), residuals(kept));
}

void add_pits(const Field& field, const Survey& survey, int zone, double heights_kpa,
              std::vector<GaugeReading>& readings) {
  for (const MeasuredEmitter& emitter : survey.emitters) {
    const int lateral = emitter.site.lateral;
    if (lateral < 0 || field.laterals[at(lateral)].zone != zone) continue;
    double sum = 0;
    int count = 0;
    for (const std::size_t record : emitter.records) {
      const auto& kpa = survey.records[record].pressure_kpa;
      if (!kpa || !std::isfinite(*kpa)) continue;
      sum += *kpa;
      ++count;
    }
    if (count == 0) continue;
    const double kpa = sum / count;
    readings.push_back({{-1, lateral, emitter.site.station_m},
                        kpa,
                        std::hypot(pit_reading_kpa, heights_kpa),
                        pit_gauge_frac * std::abs(kpa)});
  }
}

}  // namespace

std::vector<GaugeReading> gauge_readings(const Field& field, const Survey& survey,
                                         const ExpectedZone& expected) {
  std::vector<GaugeReading> readings;
  if (!expected.network) return readings;
  const double heights_kpa = pressure_kpa(expected.network->elevation_sd_m);
  for (const PortComparison& port : expected.gauges.ports) {
    GaugeReading reading;
    if (!port.at_inlet) reading.place.port = port.port;
    reading.kpa = port.measured_kpa;
    reading.sd_kpa = std::hypot(port.gauge_sd_kpa, port.at_inlet ? 0 : heights_kpa);
    readings.push_back(reading);
  }
  add_pits(field, survey, expected.zone, heights_kpa, readings);
  return readings;
}

GaugeEvidence::GaugeEvidence(const Zone& zone, const ExpectedZone& expected,
                             std::vector<GaugeReading> readings, std::vector<double> clean_kpa,
                             const SegmentGrid& grid, const ZoneNetwork& network)
    : inlet_kpa_(expected.gauges.inlet_kpa.value),
      readings_(std::move(readings)),
      clean_kpa_(std::move(clean_kpa)),
      shift_kpa_(readings_.size(), 0.0) {
  const GaugePriors priors;
  const bool stated = zone.inlet_pressure_kpa > 0;
  const double inlet = stated ? zone.inlet_pressure_kpa : zone.emitter.pressure_kpa;
  const double inlet_sd = inlet * (stated ? priors.inlet_sd_frac : unstated_inlet_sd_frac);
  const double soil_frac = expected.gauges.soil_factor.sd / expected.gauges.soil_factor.value;
  const double emitters_sd =
      std::hypot(std::hypot(priors.wear_sd, zone.emitter.rated_tolerance_frac), soil_frac);
  std::vector<GaugedPlace> places;
  places.reserve(readings_.size());
  for (const GaugeReading& reading : readings_) places.push_back(reading.place);
  const auto shown = [&](double inlet_kpa, double loss, double emitters) {
    return FaultyZone(grid, as_gauged(network, inlet_kpa, loss, emitters), places)
        .clean()
        .gauged_kpa;
  };
  if (readings_.empty()) return;
  const auto base = shown(inlet_kpa_, 1, 1);
  const double more = 1 + step_frac;
  const std::vector<std::vector<double>> stepped = {
      shown(inlet_kpa_ * more, 1, 1), shown(inlet_kpa_, more, 1), shown(inlet_kpa_, 1, more)};
  const std::vector<double> sds = {inlet_sd / (inlet_kpa_ * step_frac), priors.loss_sd / step_frac,
                                   emitters_sd / step_frac};
  for (std::size_t i = 0; i < readings_.size(); ++i) {
    slopes_.emplace_back();
    for (std::size_t k = 0; k < sds.size(); ++k)
      slopes_.back().push_back((stepped[k][i] - base[i]) * sds[k]);
    shift_kpa_[i] = (stepped[0][i] - base[i]) * (inlet - inlet_kpa_) / (inlet_kpa_ * step_frac);
  }
}

double GaugeEvidence::log_likelihood(const std::vector<double>& modelled_kpa) const {
  const auto n = static_cast<Eigen::Index>(readings_.size());
  Eigen::VectorXd residuals(n);
  Eigen::MatrixXd slopes(n, 4);
  Eigen::VectorXd variances(n);
  std::vector<int> sound;
  for (Eigen::Index row = 0; row < n; ++row) {
    const auto i = static_cast<std::size_t>(row);
    // What a fault leaves of the pressure is also what is left of its slopes: nothing behind a shut
    // pipe.
    const double left =
        clean_kpa_[i] > 0 ? std::clamp(modelled_kpa[i] / clean_kpa_[i], 0.0, 1.0) : 1;
    residuals[row] = readings_[i].kpa - modelled_kpa[i] - left * shift_kpa_[i];
    for (Eigen::Index k = 0; k < 3; ++k)
      slopes(row, k) = left * slopes_[i][static_cast<std::size_t>(k)];
    slopes(row, 3) = readings_[i].common_sd_kpa;
    variances[row] = readings_[i].sd_kpa * readings_[i].sd_kpa;
    sound.push_back(static_cast<int>(i));
  }
  const Eigen::MatrixXd covariance =
      slopes * slopes.transpose() + Eigen::MatrixXd(variances.asDiagonal());
  // One reading after the other becomes a blunder while that makes the whole more likely.
  const double of_blunder = std::log(blunders / (blunder_range * inlet_kpa_));
  const double of_sound = std::log1p(-blunders);
  double taken_out = 0;
  double best = log_density_of(covariance, residuals, sound, -1);
  for (bool better = true; better && !sound.empty();) {
    better = false;
    int worst = -1;
    for (const int i : sound) {
      const double without =
          log_density_of(covariance, residuals, sound, i) + of_blunder - of_sound;
      if (!(without > best)) continue;
      best = without;
      worst = i;
      better = true;
    }
    if (!better) break;
    sound.erase(std::find(sound.begin(), sound.end(), worst));
    taken_out += of_blunder - of_sound;
    best = log_density_of(covariance, residuals, sound, -1);
  }
  return best + taken_out + static_cast<double>(n) * of_sound;
}

}  // namespace evendrip
