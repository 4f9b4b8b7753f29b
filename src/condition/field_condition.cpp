// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/field_condition.hpp"

#include "judged_zone.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

namespace evendrip {

namespace {

constexpr Estimate unknown_delivery{1,
                                    0.2};  ///< of a zone without holes; common practice, no source
constexpr double least_sd = 0.03;          ///< of a zone's mean, however many holes

/// Mean delivery of each zone by its holes alone.
std::vector<Estimate> by_holes(const Field& field, const DischargeSamples& samples) {
  std::vector<std::vector<double>> caught(field.zones.size());
  for (const Sample& sample : samples.samples) {
    if (sample.site.lateral < 0) continue;
    const int zone = field.laterals[static_cast<std::size_t>(sample.site.lateral)].zone;
    if (zone >= 0) caught[static_cast<std::size_t>(zone)].push_back(sample.value);
  }
  std::vector<Estimate> out(field.zones.size(), unknown_delivery);
  for (std::size_t z = 0; z < out.size(); ++z) {
    const auto n = static_cast<double>(caught[z].size());
    if (n < 2 || samples.zones[z].reference != ReferenceKind::clean_system) continue;
    double mean = 0;
    for (const double value : caught[z]) mean += value / n;
    double squares = 0;
    for (const double value : caught[z]) squares += (value - mean) * (value - mean);
    out[z] = {mean, std::max(least_sd, std::sqrt(squares / (n - 1) / n))};
  }
  return out;
}

std::string names_of(const Field& field, const std::vector<int>& zones) {
  std::string text;
  for (std::size_t i = 0; i < zones.size(); ++i)
    text += (i == 0                  ? ""
             : i + 1 == zones.size() ? " and "
                                     : ", ") +
            field.zones[static_cast<std::size_t>(zones[i])].id;
  return text;
}

/// The estimates of zones that were metered together, set beside the reading of their sum.
void tell_sum(const Field& field, const MeterSum& sum, FieldCondition& condition) {
  double mean = 0;
  double variance = 0;
  for (std::size_t i = 0; i < sum.zones.size(); ++i) {
    const ZoneState& zone = condition.zones[static_cast<std::size_t>(sum.zones[i])];
    const Judged& of_zone = zone.mean_unmetered;
    if (!(of_zone.value > 0)) return;
    mean += sum.shares[i] * of_zone.value;
    variance += sum.shares[i] * sum.shares[i] * of_zone.sd * of_zone.sd;
  }
  const std::string words = names_of(field, sum.zones) + " were metered together: " +
                            meter_against(sum.datum, mean, std::sqrt(variance));
  for (const int z : sum.zones) {
    std::string& told = condition.zones[static_cast<std::size_t>(z)].told;
    told += (told.empty() ? "" : "; ") + words;
  }
}

}  // namespace

FieldCondition judge_condition(const Field& field, const Survey& survey,
                               const Expectation& expectation, const DischargeSamples& samples,
                               const std::vector<CropWitness>& crops,
                               const ConditionOptions& options, const Work& work) {
  FieldCondition out;
  out.zones.resize(field.zones.size());
  const Work inner{1, work.stop, {}};
  const std::vector<MeterSum> sums = meter_sums(field, survey, expectation);
  const std::vector<Estimate> deliveries = by_holes(field, samples);
  for_each_chunk(work, field.zones.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t z = begin; z < end; ++z) {
      const ZoneQuestion question{field,
                                  survey,
                                  expectation.zones[z],
                                  samples.samples,
                                  samples.zones[z].reference,
                                  crops,
                                  options,
                                  shared_meter_datum(sums, static_cast<int>(z), deliveries),
                                  why_no_samples(samples.zones[z])};
      out.zones[z] = zone_state(question, static_cast<int>(z), inner);
    }
  });
  for (const MeterSum& sum : sums) tell_sum(field, sum, out);
  return out;
}

const SegmentCondition* condition_at(const FieldCondition& condition, int zone, int lateral,
                                     double station_m) {
  if (zone < 0 || static_cast<std::size_t>(zone) >= condition.zones.size()) return nullptr;
  const ZoneState& state = condition.zones[static_cast<std::size_t>(zone)];
  if (!state.judged) return nullptr;
  const int row = state.grid.row_of(lateral);
  if (row < 0) return nullptr;
  const int station = state.grid.station_of(station_m);
  const auto found = std::lower_bound(
      state.segments.begin(), state.segments.end(), std::pair(row, station),
      [](const SegmentCondition& s, const auto& key) { return std::pair(s.row, s.station) < key; });
  const bool there =
      found != state.segments.end() && found->row == row && found->station == station;
  return there ? &*found : nullptr;
}

}  // namespace evendrip
