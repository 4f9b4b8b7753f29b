// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/uniformity.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

// Mean of the top sixth of a unit normal is twice this; worked out from phi(z)/p at p = 1/6.
constexpr double half_sixth_mean = 0.7495528218;
// Fewer emitters than this are told: 18 is the smallest sample of the field method of UF/IFAS
// AE193 (Haman & Yeager).
constexpr int enough_emitters = 18;

void require_sample(std::span<const double> sample) {
  if (sample.empty()) throw std::invalid_argument("the sample is empty");
  for (const double value : sample) {
    if (!std::isfinite(value) || value < 0) {
      throw std::invalid_argument("a value of the sample is negative or not finite");
    }
  }
}

/// Sorted first, so that sums do not depend on the order in which emitters were dug.
std::vector<double> sorted_copy(std::span<const double> sample) {
  require_sample(sample);
  std::vector<double> sorted(sample.begin(), sample.end());
  std::sort(sorted.begin(), sorted.end());
  return sorted;
}

double mean_of_sorted(const std::vector<double>& sorted) {
  return std::accumulate(sorted.begin(), sorted.end(), 0.0) / static_cast<double>(sorted.size());
}

double median_of_sorted(const std::vector<double>& sorted) {
  const std::size_t half = sorted.size() / 2;
  return sorted.size() % 2 == 1 ? sorted[half] : 0.5 * (sorted[half - 1] + sorted[half]);
}

/// Mean of the lowest `count` readings, the last one in part.
double mean_of_lowest(const std::vector<double>& sorted, double count) {
  const auto whole = static_cast<std::size_t>(count);
  double sum =
      std::accumulate(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(whole), 0.0);
  const double rest = count - static_cast<double>(whole);
  if (rest > 0) sum += rest * sorted[whole];
  return sum / count;
}

double quarter_of(std::size_t readings, QuarterRule rule) {
  const double quarter = static_cast<double>(readings) / 4.0;
  switch (rule) {
    case QuarterRule::floor:
      return std::max(1.0, std::floor(quarter));
    case QuarterRule::ceiling:
      return std::ceil(quarter);
    case QuarterRule::fractional:
      break;
  }
  return quarter;
}

/// What was dug in one zone or in the whole field.
struct Dug {
  UniformityResult result;
  std::vector<double> discharges_lph;
};

void count_emitter(Dug& dug, const MeasuredEmitter& emitter) {
  if (emitter.state == EmitterState::dug_damage) {
    ++dug.result.damaged;
  } else if (emitter.state == EmitterState::not_found) {
    ++dug.result.not_found;
  } else if (emitter.state == EmitterState::none) {
    ++dug.result.plugged;
    dug.discharges_lph.push_back(0);
  } else {
    if (emitter.discharge_lph == 0) ++dug.result.plugged;
    dug.discharges_lph.push_back(emitter.discharge_lph);
  }
}

UniformityResult finished(const Dug& dug, QuarterRule rule) {
  UniformityResult result = dug.result;
  result.emitters = static_cast<int>(dug.discharges_lph.size());
  if (dug.discharges_lph.empty()) return result;
  const std::vector<double> sorted = sorted_copy(dug.discharges_lph);
  result.mean_lph = mean_of_sorted(sorted);
  result.median_lph = median_of_sorted(sorted);
  result.cv = coefficient_of_variation(sorted);
  result.low_quarter_frac = low_quarter_uniformity(sorted, rule);
  result.christiansen_frac = christiansen_coefficient(sorted);
  result.statistical_frac = statistical_uniformity(sorted);
  return result;
}

Doubt about_sample(std::string code, Severity severity, const Survey& survey, std::string text,
                   std::string remedy) {
  return {std::move(code),  severity, {"", "survey " + survey.id, 0, ""}, std::move(text), "", "",
          std::move(remedy)};
}

void judge_zone_sample(const UniformityResult& zone, const Survey& survey, Doubts& doubts) {
  if (zone.emitters == 0) {
    doubts.push_back(about_sample(
        "zone_not_sampled", Severity::doubt, survey,
        fmt::format("zone {} has no usable emitter: its uniformity is not known and it has no "
                    "part in the figures for the field",
                    zone.name),
        "Dig and measure emitters there"));
  } else if (zone.emitters < enough_emitters) {
    doubts.push_back(about_sample(
        "few_emitters", Severity::doubt, survey,
        fmt::format("zone {} has {} usable emitters; with fewer than {} the figures are rough",
                    zone.name, zone.emitters, enough_emitters),
        fmt::format("Measure {} more, spread at random over the zone",
                    enough_emitters - zone.emitters)));
  }
}

void judge_plugging(const UniformityResult& field, const Survey& survey, Doubts& doubts) {
  if (field.emitters == 0 || field.plugged > 0) return;
  const double unseen_pct = 100 * (1 - std::pow(0.05, 1.0 / field.emitters));
  doubts.push_back(about_sample(
      "no_plugged_emitter_seen", Severity::note, survey,
      fmt::format("no plugged emitter among the {} measured; even if {:.1f} % of all were plugged, "
                  "one sample in twenty of this size would show none",
                  field.emitters, unseen_pct),
      ""));
}

bool measured(const MeasuredEmitter& emitter) {
  return emitter.state == EmitterState::none ||
         (std::isfinite(emitter.discharge_lph) && emitter.discharge_lph >= 0);
}

std::vector<Dug> dug_by_zone(const Field& field, const Survey& survey, Doubts& doubts) {
  std::vector<Dug> zones(field.zones.size());
  for (std::size_t z = 0; z < zones.size(); ++z) {
    zones[z].result.name = field.zones[z].id;
    zones[z].result.zone = static_cast<int>(z);
    zones[z].result.area_ha = field.zone_area_ha(static_cast<int>(z));
  }
  for (const MeasuredEmitter& emitter : survey.emitters) {
    const int zone = emitter.site.zone;
    if (emitter.placement == Placement::outside || zone < 0 ||
        zone >= static_cast<int>(zones.size())) {
      continue;
    }
    if (emitter.usable() && !measured(emitter)) {
      doubts.push_back(about_sample("emitter_without_discharge", Severity::doubt, survey,
                                    "emitter " + emitter.name + " has no discharge; it is left out",
                                    "Give its volume and duration, or its state"));
      continue;
    }
    count_emitter(zones[static_cast<std::size_t>(zone)], emitter);
  }
  return zones;
}

Dug pooled(const std::vector<Dug>& zones) {
  Dug all;
  all.result.name = "field";
  for (const Dug& zone : zones) {
    all.result.damaged += zone.result.damaged;
    all.result.not_found += zone.result.not_found;
    all.result.plugged += zone.result.plugged;
    all.result.area_ha += zone.result.area_ha;
    all.discharges_lph.insert(all.discharges_lph.end(), zone.discharges_lph.begin(),
                              zone.discharges_lph.end());
  }
  return all;
}

double area_weighted_low_quarter(const std::vector<UniformityResult>& zones) {
  double sum = 0;
  double area_ha = 0;
  for (const UniformityResult& zone : zones) {
    if (zone.emitters == 0) continue;
    sum += zone.area_ha * zone.low_quarter_frac;
    area_ha += zone.area_ha;
  }
  return area_ha > 0 ? sum / area_ha : 0;
}

}  // namespace

std::string to_text(QuarterRule rule) {
  switch (rule) {
    case QuarterRule::floor:
      return "lowest quarter, rounded down to whole readings";
    case QuarterRule::ceiling:
      return "lowest quarter, rounded up to whole readings";
    case QuarterRule::fractional:
      break;
  }
  return "lowest quarter, the last reading counted in part";
}

double mean_of(std::span<const double> discharges) {
  return mean_of_sorted(sorted_copy(discharges));
}

double coefficient_of_variation(std::span<const double> discharges) {
  const std::vector<double> sorted = sorted_copy(discharges);
  const double mean = mean_of_sorted(sorted);
  if (sorted.size() < 2 || mean == 0) return 0;
  double squares = 0;
  for (const double q : sorted) squares += (q - mean) * (q - mean);
  return std::sqrt(squares / static_cast<double>(sorted.size() - 1)) / mean;
}

double low_quarter_uniformity(std::span<const double> discharges, QuarterRule rule) {
  const std::vector<double> sorted = sorted_copy(discharges);
  const double mean = mean_of_sorted(sorted);
  if (mean == 0) return 0;
  return mean_of_lowest(sorted, quarter_of(sorted.size(), rule)) / mean;
}

double christiansen_coefficient(std::span<const double> discharges) {
  const std::vector<double> sorted = sorted_copy(discharges);
  const double mean = mean_of_sorted(sorted);
  if (mean == 0) return 0;
  double deviations = 0;
  for (const double q : sorted) deviations += std::abs(q - mean);
  return 1 - deviations / (static_cast<double>(sorted.size()) * mean);
}

double statistical_uniformity(std::span<const double> discharges) {
  if (mean_of(discharges) == 0) return 0;
  return 1 - coefficient_of_variation(discharges);
}

double uniformity_from_sixths(std::span<const double> fill_times_s) {
  const std::vector<double> sorted = sorted_copy(fill_times_s);
  if (sorted.size() < 6) throw std::invalid_argument("fewer than six fill times");
  const auto sixth = static_cast<std::ptrdiff_t>(sorted.size() / 6);
  const double lowest = std::accumulate(sorted.begin(), sorted.begin() + sixth, 0.0);
  const double highest = std::accumulate(sorted.end() - sixth, sorted.end(), 0.0);
  if (lowest + highest == 0) return 0;
  return 1 - (highest - lowest) / (highest + lowest) / (2 * half_sixth_mean);
}

Uniformity evaluate_uniformity(const Field& field, const Survey& survey, QuarterRule rule) {
  Uniformity uniformity;
  uniformity.rule = rule;
  const std::vector<Dug> zones = dug_by_zone(field, survey, uniformity.doubts);
  for (const Dug& zone : zones) {
    uniformity.zones.push_back(finished(zone, rule));
    judge_zone_sample(uniformity.zones.back(), survey, uniformity.doubts);
  }
  uniformity.field = finished(pooled(zones), rule);
  uniformity.field_low_quarter_area_weighted_frac = area_weighted_low_quarter(uniformity.zones);
  judge_plugging(uniformity.field, survey, uniformity.doubts);
  return uniformity;
}

}  // namespace evendrip
