// SPDX-License-Identifier: Apache-2.0
// Invented zones whose uniformity is known to the last emitter, and samples dug in them: what the
// limits of confidence are tried on. The scenarios and sample sizes were set down before the first
// trial and are not to be changed to suit a method.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <random>
#include <string>
#include <vector>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include "evendrip/base/random.hpp"
#include "evendrip/uniformity/limits.hpp"

namespace evendrip::bench {

enum class Scenario { clean, scattered, clustered, tail, partly };
constexpr std::array<Scenario, 5> all_scenarios = {
    Scenario::clean, Scenario::scattered, Scenario::clustered, Scenario::tail, Scenario::partly};
inline std::string to_text(Scenario scenario) {
  switch (scenario) {
    case Scenario::clean:
      return "clean";
    case Scenario::scattered:
      return "5 % plugged, scattered";
    case Scenario::clustered:
      return "5 % plugged, clustered";
    case Scenario::tail:
      return "sediment in the tails";
    case Scenario::partly:
      break;
  }
  return "5 % plugged, 10 % in part";
}

struct Design {
  int laterals = 0;
  int emitters_each = 0;
};
constexpr std::array<Design, 3> all_designs = {{{6, 3}, {9, 4}, {12, 6}}};

constexpr std::size_t zone_laterals = 40;
constexpr std::size_t lateral_emitters = 200;

/// Discharges relative to rated, by lateral and from the supply end to the far end.
struct SimulatedZone {
  std::vector<std::vector<double>> laterals;
  std::vector<double> all() const {
    std::vector<double> values;
    for (const auto& lateral : laterals)
      values.insert(values.end(), lateral.begin(), lateral.end());
    return values;
  }
};

/// Every lateral: lateral effect of sd 2 %, friction that takes 6 % by the end, emitters of CV 5 %.
/// scattered: each emitter plugged with chance 5 %. clustered: a tenth of the laterals, half of
/// whose emitters are plugged. tail: over the last quarter performance falls in a straight line by
/// 20 to 80 % (even chance, by lateral), and the chance of plugging rises from 0 to 20 %. partly:
/// scattered, and a further 10 % of the emitters at 30 to 90 % of their discharge.
inline SimulatedZone simulate_zone(Scenario scenario, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {static_cast<std::uint64_t>(scenario), 1});
  boost::random::normal_distribution<double> normal(0, 1);
  boost::random::uniform_01<double> even;
  SimulatedZone zone;
  for (std::size_t l = 0; l < zone_laterals; ++l) {
    const double lateral_effect = 1 + 0.02 * normal(stream);
    const double tail_loss = 0.2 + 0.6 * even(stream);
    const bool struck = even(stream) < 0.1;
    std::vector<double> lateral;
    for (std::size_t e = 0; e < lateral_emitters; ++e) {
      const double at = (static_cast<double>(e) + 0.5) / static_cast<double>(lateral_emitters);
      double q = lateral_effect * (1 - 0.06 * (1 - std::pow(1 - at, 2.75)));
      q *= std::max(0.0, 1 + 0.05 * normal(stream));
      const double chance = even(stream);
      const double part = even(stream);
      const double in_tail = std::max(0.0, (at - 0.75) / 0.25);
      if (scenario == Scenario::scattered && chance < 0.05) q = 0;
      if (scenario == Scenario::clustered && struck && chance < 0.5) q = 0;
      if (scenario == Scenario::tail) q *= chance < 0.2 * in_tail ? 0 : 1 - tail_loss * in_tail;
      if (scenario == Scenario::partly)
        q *= chance < 0.05 ? 0 : chance < 0.15 ? 0.3 + 0.6 * part : 1;
      lateral.push_back(q);
    }
    zone.laterals.push_back(lateral);
  }
  return zone;
}

/// `count` different numbers below `end`, each set with equal chance.
inline std::vector<std::size_t> pick(std::size_t end, int count, std::mt19937_64& stream) {
  std::vector<std::size_t> all(end);
  std::iota(all.begin(), all.end(), std::size_t{0});
  for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
    const std::size_t left = end - i;
    std::swap(all[i], all[i + static_cast<std::size_t>(stream() % left)]);
  }
  all.resize(static_cast<std::size_t>(count));
  return all;
}

/// Laterals at random, emitters at random on each, as many as `emitters_on` says of the lateral.
template <typename EmittersOn>
EmitterSample dig(const SimulatedZone& zone, int laterals, const EmittersOn& emitters_on,
                  std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {static_cast<std::uint64_t>(laterals), 2});
  EmitterSample sample;
  for (const std::size_t l : pick(zone.laterals.size(), laterals, stream)) {
    for (const std::size_t e : pick(zone.laterals[l].size(), emitters_on(l), stream)) {
      SampledEmitter emitter;
      emitter.discharge_lph = zone.laterals[l][e];
      emitter.lateral = static_cast<int>(l);
      emitter.place = static_cast<int>(e);
      sample.emitters.push_back(emitter);
    }
  }
  return sample;
}
inline EmitterSample dig(const SimulatedZone& zone, Design design, std::uint64_t seed) {
  return dig(
      zone, design.laterals, [&](std::size_t) { return design.emitters_each; }, seed);
}

}  // namespace evendrip::bench
