// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/emitter_sample.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <numeric>
#include <stdexcept>
#include <string>
#include <tuple>
#include <utility>

namespace evendrip {
namespace {

using EmitterKey = std::tuple<int, int, int, int>;

void require_reading(const CatchReading& reading) {
  if (!std::isfinite(reading.discharge_lph) || reading.discharge_lph < 0) {
    throw std::invalid_argument("a discharge is negative or not finite");
  }
  if (!std::isfinite(reading.weight) || reading.weight <= 0) {
    throw std::invalid_argument("a weight is not above 0");
  }
}

/// Readings of one emitter, in the order of the table.
using Replicates = std::vector<std::size_t>;

std::vector<Replicates> replicates_by_emitter(std::span<const CatchReading> readings) {
  std::vector<Replicates> groups;
  std::map<EmitterKey, std::size_t> known;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const CatchReading& r = readings[i];
    const auto [at, fresh] = known.try_emplace({r.zone, r.lateral, r.pit, r.place}, groups.size());
    if (fresh) groups.emplace_back();
    groups[at->second].push_back(i);
  }
  return groups;
}

/// Sum of squared deviations of the replicates from their mean, as shares of it, and the freedom.
std::pair<double, int> replicate_error(std::span<const CatchReading> readings,
                                       const Replicates& group, double mean) {
  if (group.size() < 2 || mean == 0) return {0, 0};
  double squares = 0;
  for (const std::size_t i : group) {
    const double deviation = readings[i].discharge_lph / mean - 1;
    squares += deviation * deviation;
  }
  return {squares, static_cast<int>(group.size()) - 1};
}

/// Runs of places that follow on each other, given in growing order.
std::vector<std::pair<std::size_t, std::size_t>> unbroken_runs(
    const std::vector<const SampledEmitter*>& row) {
  std::vector<std::pair<std::size_t, std::size_t>> runs;
  std::size_t begin = 0;
  for (std::size_t i = 1; i <= row.size(); ++i) {
    if (i < row.size() && row[i]->place == row[i - 1]->place + 1) continue;
    runs.emplace_back(begin, i);
    begin = i;
  }
  return runs;
}

SampledEmitter plant_of(const std::vector<const SampledEmitter*>& row, std::size_t begin,
                        std::size_t count) {
  SampledEmitter plant = *row[begin];
  plant.discharge_lph = 0;
  plant.weight = 0;
  for (std::size_t i = begin; i < begin + count; ++i) {
    plant.discharge_lph += row[i]->discharge_lph / static_cast<double>(count);
    plant.weight += row[i]->weight / static_cast<double>(count);
  }
  return plant;
}

std::map<std::string, int> pit_numbers(const Survey& survey) {
  std::map<std::string, int> numbers;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (!emitter.pit.empty()) numbers.try_emplace(emitter.pit, static_cast<int>(numbers.size()));
  }
  return numbers;
}

int place_of(const Survey& survey, const MeasuredEmitter& emitter) {
  if (emitter.records.empty() || emitter.records[0] >= survey.records.size()) return 0;
  const CatchRecord& record = survey.records[emitter.records[0]];
  return emitter.pit.empty() ? record.emitter.value_or(0) : record.place_in_pit;
}

}  // namespace

EmitterSample average_replicates(std::span<const CatchReading> readings) {
  for (const CatchReading& reading : readings) require_reading(reading);
  EmitterSample sample;
  double squares = 0;
  for (const Replicates& group : replicates_by_emitter(readings)) {
    const CatchReading& first = readings[group[0]];
    const auto count = static_cast<double>(group.size());
    double sum = 0;
    for (const std::size_t i : group) sum += readings[i].discharge_lph;
    sample.emitters.push_back({sum / count, first.zone, first.lateral, first.pit, first.place,
                               static_cast<int>(group.size()), first.weight});
    const auto [part, freedom] = replicate_error(readings, group, sum / count);
    squares += part;
    sample.measuring_freedom += freedom;
  }
  if (sample.measuring_freedom > 0) {
    sample.measuring_cv = std::sqrt(squares / sample.measuring_freedom);
  }
  return sample;
}

EmitterSample sample_of(const Survey& survey, int zone) {
  EmitterSample sample;
  const std::map<std::string, int> pits = pit_numbers(survey);
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.placement == Placement::outside || emitter.site.zone < 0) continue;
    if (zone >= 0 && emitter.site.zone != zone) continue;
    if (emitter.state == EmitterState::dug_damage) ++sample.damaged;
    if (emitter.state == EmitterState::not_found) ++sample.not_found;
    if (!emitter.usable()) continue;
    const double discharge_lph = emitter.state == EmitterState::none ? 0 : emitter.discharge_lph;
    if (!std::isfinite(discharge_lph) || discharge_lph < 0) continue;
    const int pit = emitter.pit.empty() ? -1 : pits.at(emitter.pit);
    sample.emitters.push_back({discharge_lph, emitter.site.zone, emitter.site.lateral, pit,
                               place_of(survey, emitter), emitter.replicates, 1});
    if (emitter.replicates > 1) sample.measuring_freedom += emitter.replicates - 1;
  }
  sample.measuring_cv = survey.replicate_cv;
  return sample;
}

EmitterSample weighed_by_lateral(EmitterSample sample, std::span<const int> emitters_of_lateral) {
  std::map<int, int> dug;
  for (const SampledEmitter& e : sample.emitters) ++dug[e.lateral];
  const auto told = [&](int lateral) {
    if (lateral < 0 || static_cast<std::size_t>(lateral) >= emitters_of_lateral.size()) return 0;
    return std::max(0, emitters_of_lateral[static_cast<std::size_t>(lateral)]);
  };
  double emitters = 0;
  int laterals = 0;
  for (const auto& [lateral, count] : dug) {
    if (told(lateral) == 0) continue;
    emitters += told(lateral);
    ++laterals;
  }
  if (laterals == 0) return sample;
  const double average = emitters / laterals;
  double sum = 0;
  for (SampledEmitter& e : sample.emitters) {
    const double of_lateral = told(e.lateral) > 0 ? told(e.lateral) : average;
    // An emitter whose lateral is not known is a lateral of its own.
    e.weight = of_lateral / (e.lateral < 0 ? 1 : dug.at(e.lateral));
    sum += e.weight;
  }
  for (SampledEmitter& e : sample.emitters) {
    e.weight *= static_cast<double>(sample.emitters.size()) / sum;
  }
  return sample;
}

EmitterSample plant_level(const EmitterSample& emitters, int emitters_per_root_zone) {
  if (emitters_per_root_zone < 1) throw std::invalid_argument("no emitter in a root zone");
  std::map<std::tuple<int, int, int>, std::vector<const SampledEmitter*>> rows;
  for (const SampledEmitter& e : emitters.emitters) {
    if (emitters_per_root_zone > 1 && e.lateral < 0 && e.pit < 0) continue;
    rows[{e.zone, e.lateral, e.pit}].push_back(&e);
  }
  const auto count = static_cast<std::size_t>(emitters_per_root_zone);
  EmitterSample plants;
  plants.damaged = emitters.damaged;
  plants.not_found = emitters.not_found;
  for (auto& [key, row] : rows) {
    std::stable_sort(row.begin(), row.end(), [](const SampledEmitter* a, const SampledEmitter* b) {
      return a->place < b->place;
    });
    if (count == 1) {
      for (const SampledEmitter* e : row) plants.emitters.push_back(*e);
      continue;
    }
    for (const auto& [begin, end] : unbroken_runs(row)) {
      for (std::size_t i = begin; i + count <= end; ++i) {
        plants.emitters.push_back(plant_of(row, i, count));
      }
    }
  }
  return plants;
}

std::vector<double> discharges_of(const EmitterSample& sample) {
  std::vector<double> discharges;
  discharges.reserve(sample.emitters.size());
  for (const SampledEmitter& e : sample.emitters) discharges.push_back(e.discharge_lph);
  return discharges;
}

SampleLevels levels_of(const EmitterSample& sample) {
  // The last number tells emitters without a level apart; it is 0 for all others.
  std::map<std::tuple<int, int, int>, int> laterals;
  std::map<std::tuple<int, int, int, int>, int> pits;
  const auto lateral_key = [&](std::size_t i) {
    const SampledEmitter& e = sample.emitters[i];
    return std::tuple(e.zone, e.lateral, e.lateral < 0 ? static_cast<int>(i) + 1 : 0);
  };
  const auto pit_key = [&](std::size_t i) {
    const SampledEmitter& e = sample.emitters[i];
    const bool alone = e.pit < 0 || e.lateral < 0;
    return std::tuple(e.zone, e.lateral, e.pit, alone ? static_cast<int>(i) + 1 : 0);
  };
  for (std::size_t i = 0; i < sample.emitters.size(); ++i) {
    laterals[lateral_key(i)] = 0;
    pits[pit_key(i)] = 0;
  }
  SampleLevels levels;
  for (auto& [key, number] : laterals) number = levels.laterals++;
  for (auto& [key, number] : pits) number = levels.pits++;
  for (std::size_t i = 0; i < sample.emitters.size(); ++i) {
    levels.lateral.push_back(laterals.at(lateral_key(i)));
    levels.pit.push_back(pits.at(pit_key(i)));
  }
  return levels;
}

}  // namespace evendrip
