// SPDX-License-Identifier: Apache-2.0
// How often new emitters are blamed, on simulated surveys of emitters that are more or less alike
// on a lateral. usage: variation_bench size SURVEYS
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"
#include "evendrip/uniformity/variation.hpp"

#include "simulated_zone.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

constexpr double maker_cv = 0.05;

/// Emitters whose whole variance is the maker's times `excess`, so much of it between laterals.
std::vector<VariedEmitter> survey_of(Design design, double of_laterals, double excess,
                                     std::uint64_t seed) {
  std::mt19937_64 stream =
      item_stream(seed, {static_cast<std::uint64_t>(design.laterals),
                         static_cast<std::uint64_t>(std::lround(100 * of_laterals))});
  boost::random::normal_distribution<double> normal(0, 1);
  std::vector<VariedEmitter> emitters;
  const double sd = maker_cv * std::sqrt(excess);
  for (int l = 0; l < design.laterals; ++l) {
    const double lateral = sd * std::sqrt(of_laterals) * normal(stream);
    for (int e = 0; e < design.emitters_each; ++e) {
      VariedEmitter emitter;
      emitter.lateral = l;
      emitter.station_frac = (e + 0.5) / design.emitters_each;
      emitter.pressure_kpa = 100 - 10 * emitter.station_frac;
      const double rest = sd * std::sqrt(1 - of_laterals) * normal(stream);
      emitter.discharge_lph = (1 + lateral + rest) * std::sqrt(emitter.pressure_kpa / 100);
      emitters.push_back(emitter);
    }
  }
  return emitters;
}

void size(int surveys) {
  VariationOptions options;
  options.maker_cv = maker_cv;
  for (const double excess : {1.0, 2.0}) {
    for (const double of_laterals : {0.0, 0.1, 0.3, 0.6, 0.9}) {
      for (const Design design : all_designs) {
        int blamed = 0;
        int as_independent = 0;
        for (int i = 0; i < surveys; ++i) {
          const auto emitters =
              survey_of(design, of_laterals, excess, static_cast<std::uint64_t>(i + 1));
          const PerformanceExcess found = divided_variation(emitters, options).excess;
          blamed += found.p_value < 0.05 ? 1 : 0;
          as_independent += found.independent_p_value < 0.05 ? 1 : 0;
        }
        fmt::print(
            "{} times the maker's variance, {:2.0f} % of it between laterals, {:2} x {}: blamed "
            "{:5.1f} %, as if independent {:5.1f} %\n",
            excess, 100 * of_laterals, design.laterals, design.emitters_each,
            100.0 * blamed / surveys, 100.0 * as_independent / surveys);
        std::fflush(stdout);
      }
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() == 2 && words[0] == "size") {
    size(std::atoi(words[1].c_str()));
  } else {
    fmt::print(stderr, "usage: variation_bench size SURVEYS\n");
    return 2;
  }
  return 0;
}
