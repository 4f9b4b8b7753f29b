// SPDX-License-Identifier: Apache-2.0
// What surfaces that know the lateral gain over others, on simulated fields of known truth.
// usage: surface_proof truth SEED_SET    what the faults of a set take (tuning or report)
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "surface_scenarios.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

/// Severity against what it does: mean, spread and least of the scored truth, and the share of the
/// emitters more than 10 % below expectation.
void tell_truth(std::uint64_t set_seed) {
  fmt::print("{:20} {:6} {:>8} {:>7} {:>7} {:>7} {:>9}\n", "fault", "ends", "severity", "mean",
             "sd", "least", "below 0.9");
  for (int number = 0; number < 5 * fields_each; ++number) {
    const ScenarioField field = made_field(scenario(set_seed, number));
    double sum = 0;
    double squares = 0;
    double low = 0;
    for (const double r : field.place) {
      sum += r;
      squares += r * r;
      low += r < 0.9 ? 1 : 0;
    }
    const auto n = static_cast<double>(field.place.size());
    const double mean = sum / n;
    fmt::print("{:20} {:6} {:8.3f} {:7.3f} {:7.3f} {:7.3f} {:9.3f}\n",
               to_text(field.scenario.trouble), field.scenario.closed ? "closed" : "flush",
               field.scenario.severity, mean, std::sqrt(std::max(0.0, squares / n - mean * mean)),
               *std::min_element(field.place.begin(), field.place.end()), low / n);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() == 2 && words[0] == "truth") {
    tell_truth(words[1] == "report" ? report_seed : tuning_seed);
    return 0;
  }
  fmt::print(stderr, "usage: surface_proof truth tuning|report\n");
  return 2;
}
