// SPDX-License-Identifier: Apache-2.0
// How often the limits of confidence hold the true uniformity, on simulated zones; and how fast
// they are. usage: limits_bench cover ZONES [THREADS]   table of coverage, 4,000 draws each
//        limits_bench known ZONES [THREADS]   the same where the zone's laterals and emitters are
//        told, also for surveys of a good share of them
//        limits_bench field ZONES [THREADS]   fields of four zones, and unequal sampling by design
//        limits_bench speed                   100 emitters in 8 zones, all measures
//        limits_bench sample FILE             writes those 100 emitters as a table (zone, lateral,
//        q)
#include <array>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/work.hpp"
#include "evendrip/uniformity/limits.hpp"

#include "simulated_zone.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

struct Outcome {
  bool known = false;
  double lower = 0;
  double upper = 0;
  double truth = 0;
};

constexpr LimitMethod shown_methods[] = {LimitMethod::two_part,     LimitMethod::studentised,
                                         LimitMethod::percentile,   LimitMethod::bca,
                                         LimitMethod::noncentral_t, LimitMethod::lateral_means};
constexpr std::size_t methods = std::size(shown_methods);
using Trial = std::array<std::array<Outcome, methods>, all_measures.size()>;

const Limits* find_limits(const MeasureLimits& m, LimitMethod method) {
  if (method == LimitMethod::two_part) return &m.two_part;
  for (const Limits& limits : m.beside) {
    if (limits.method == method) return &limits;
  }
  return nullptr;
}

Trial try_once(Scenario scenario, Design design, std::uint64_t number, bool compared) {
  const SimulatedZone zone = simulate_zone(scenario, number);
  const std::vector<double> all = zone.all();
  const std::array<double, all_measures.size()> truth = {
      mean_of(all), coefficient_of_variation(all), low_quarter_uniformity(all),
      christiansen_coefficient(all), statistical_uniformity(all)};
  LimitOptions options;
  options.seed = number;
  options.comparisons = compared;
  const UniformityLimits limits = confidence_limits(dig(zone, design, number), options);
  Trial trial;
  for (std::size_t m = 0; m < all_measures.size(); ++m) {
    for (std::size_t k = 0; k < methods; ++k) {
      const Limits* found = find_limits(limits.measures[m], shown_methods[k]);
      if (found == nullptr) continue;
      trial[m][k] = {found->known, found->lower, found->upper, truth[m]};
    }
  }
  return trial;
}

void print_line(const std::vector<Trial>& trials, std::size_t m, std::size_t k) {
  int known = 0;
  int both = 0;
  int low = 0;
  int high = 0;
  double width = 0;
  double lower = 0;
  for (const Trial& trial : trials) {
    const Outcome& o = trial[m][k];
    if (!o.known) continue;
    ++known;
    low += o.truth >= o.lower ? 1 : 0;
    high += o.truth <= o.upper ? 1 : 0;
    both += o.truth >= o.lower && o.truth <= o.upper ? 1 : 0;
    width += o.upper - o.lower;
    lower += o.lower;
  }
  if (known == 0) return;
  fmt::print(
      "  {:38} {:24} known {:4} both {:5.1f} lower {:5.1f} upper {:5.1f} width {:.3f} mean lower "
      "{:.3f}\n",
      to_text(all_measures[m]), to_text(shown_methods[k]).substr(0, 24), known,
      100.0 * both / known, 100.0 * low / known, 100.0 * high / known, width / known,
      lower / known);
}

void cover(int zones, std::size_t compared, int threads) {
  Work work;
  work.threads = threads;
  for (const Scenario scenario : all_scenarios) {
    for (const Design design : all_designs) {
      std::vector<Trial> trials(static_cast<std::size_t>(zones));
      for_each_chunk(work, trials.size(), 10, [&](std::size_t begin, std::size_t end, int) {
        for (std::size_t i = begin; i < end; ++i)
          trials[i] = try_once(scenario, design, i + 1, i < compared);
      });
      double truth = 0;
      for (const Trial& t : trials) truth += t[2][0].truth / zones;
      fmt::print("{}: {} laterals x {} emitters = {}, true low-quarter uniformity {:.3f}\n",
                 to_text(scenario), design.laterals, design.emitters_each,
                 design.laterals * design.emitters_each, truth);
      for (std::size_t k = 0; k < methods; ++k) print_line(trials, 2, k);
      for (const std::size_t m : {0U, 3U, 4U}) print_line(trials, m, 0);
      std::fflush(stdout);
    }
  }
}

constexpr DugFrom whole_zone = {static_cast<int>(zone_laterals),
                                static_cast<int>(lateral_emitters)};

/// Limits that hold the truth, and how wide they are.
struct Held {
  int both = 0;
  int lower = 0;
  double width = 0;
  int of = 0;
  void add(const Limits& limits, double truth) {
    ++of;
    lower += truth >= limits.lower ? 1 : 0;
    both += truth >= limits.lower && truth <= limits.upper ? 1 : 0;
    width += limits.upper - limits.lower;
  }
  std::string text() const {
    return fmt::format("both {:5.1f} lower {:5.1f} width {:.3f}", 100.0 * both / of,
                       100.0 * lower / of, width / of);
  }
};

Limits two_part_of(const EmitterSample& sample, std::uint64_t seed, Measure measure,
                   const DugFrom& zone) {
  LimitOptions options;
  options.seed = seed;
  options.comparisons = false;
  options.plugging.zone = zone;
  return confidence_limits(sample, options).of(measure).two_part;
}

template <typename Result, typename Try>
std::vector<Result> try_all(int zones, int threads, const Try& attempt) {
  Work work;
  work.threads = threads;
  std::vector<Result> results(static_cast<std::size_t>(zones));
  for_each_chunk(work, results.size(), 10, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) results[i] = attempt(i + 1);
  });
  return results;
}

struct KnownTrial {
  double truth = 0;
  Limits untold;
  Limits told;
};

void cover_known(int zones, int threads) {
  for (const Scenario scenario : all_scenarios) {
    for (const Design design :
         {Design{6, 3}, Design{9, 4}, Design{12, 6}, Design{20, 10}, Design{40, 5}}) {
      Held untold;
      Held told;
      for (const KnownTrial& trial : try_all<KnownTrial>(zones, threads, [&](std::uint64_t seed) {
             const SimulatedZone zone = simulate_zone(scenario, seed);
             const EmitterSample sample = dig(zone, design, seed);
             return KnownTrial{low_quarter_uniformity(zone.all()),
                               two_part_of(sample, seed, Measure::low_quarter, {}),
                               two_part_of(sample, seed, Measure::low_quarter, whole_zone)};
           })) {
        untold.add(trial.untold, trial.truth);
        told.add(trial.told, trial.truth);
      }
      fmt::print(
          "{}: {} of 40 laterals x {} of 200 emitters\n  zone not told: {}\n  zone told:     "
          "{}\n",
          to_text(scenario), design.laterals, design.emitters_each, untold.text(), told.text());
      std::fflush(stdout);
    }
  }
}

struct FieldTrial {
  double truth = 0;
  Limits field;
};

/// Four zones of 1 to 4 ha, each a scenario of its own, 9 laterals x 4 emitters dug in each.
FieldTrial try_field(Measure measure, std::uint64_t number) {
  constexpr std::array<Scenario, 4> scenarios = {Scenario::clean, Scenario::scattered,
                                                 Scenario::clustered, Scenario::tail};
  const std::vector<double> areas = {1, 2, 3, 4};
  std::vector<UniformityLimits> zones;
  FieldTrial trial;
  for (std::size_t z = 0; z < scenarios.size(); ++z) {
    const SimulatedZone zone = simulate_zone(scenarios[z], number);
    const std::vector<double> all = zone.all();
    trial.truth +=
        areas[z] / 10 * (measure == Measure::mean ? mean_of(all) : low_quarter_uniformity(all));
    LimitOptions options;
    options.seed = item_seed(number, {z});
    options.comparisons = false;
    options.plugging.zone = whole_zone;
    zones.push_back(confidence_limits(dig(zone, {9, 4}, item_seed(number, {z, 3})), options));
  }
  trial.field = weighted_limits(zones, areas, measure).two_part;
  return trial;
}

struct UnequalTrial {
  double truth = 0;
  Limits weighed;
  Limits as_one;
};

/// 12 laterals: 12 emitters on those that give less than the zone's mean by a twentieth, 3 on the
/// others.
UnequalTrial try_unequal(Scenario scenario, Measure measure, std::uint64_t number) {
  const SimulatedZone zone = simulate_zone(scenario, number);
  const std::vector<double> all = zone.all();
  const double mean = mean_of(all);
  const EmitterSample sample = dig(
      zone, 12, [&](std::size_t l) { return mean_of(zone.laterals[l]) < 0.95 * mean ? 12 : 3; },
      number);
  const std::vector<int> counts(zone_laterals, static_cast<int>(lateral_emitters));
  return {measure == Measure::mean ? mean : low_quarter_uniformity(all),
          two_part_of(weighed_by_lateral(sample, counts), number, measure, whole_zone),
          two_part_of(sample, number, measure, whole_zone)};
}

void cover_fields(int zones, int threads) {
  for (const Measure measure : {Measure::low_quarter, Measure::mean}) {
    Held held;
    for (const FieldTrial& trial : try_all<FieldTrial>(
             zones, threads, [&](std::uint64_t seed) { return try_field(measure, seed); })) {
      held.add(trial.field, trial.truth);
    }
    fmt::print("{}, fields of four zones (clean 1 ha, scattered 2, clustered 3, tails 4): {}\n",
               to_text(measure), held.text());
    for (const Scenario scenario : {Scenario::clustered, Scenario::tail}) {
      Held weighed;
      Held as_one;
      for (const UnequalTrial& trial : try_all<UnequalTrial>(
               zones, threads,
               [&](std::uint64_t seed) { return try_unequal(scenario, measure, seed); })) {
        weighed.add(trial.weighed, trial.truth);
        as_one.add(trial.as_one, trial.truth);
      }
      fmt::print(
          "{}, {}, more emitters on weak laterals\n  weighed by design: {}\n  not weighed:"
          "       {}\n",
          to_text(measure), to_text(scenario), weighed.text(), as_one.text());
    }
    std::fflush(stdout);
  }
}

/// 100 emitters in 8 zones: 4 laterals each, 12 or 13 emitters a zone.
std::vector<EmitterSample> eight_zones() {
  std::vector<EmitterSample> zones;
  for (int z = 0; z < 8; ++z) {
    const auto seed = static_cast<std::uint64_t>(100 + z);
    EmitterSample sample = dig(simulate_zone(Scenario::scattered, seed), {4, 4}, seed);
    sample.emitters.resize(z < 4 ? 13 : 12);
    for (SampledEmitter& e : sample.emitters) e.zone = z;
    zones.push_back(sample);
  }
  return zones;
}

void speed() {
  const std::vector<EmitterSample> samples = eight_zones();
  for (const bool comparisons : {false, true}) {
    LimitOptions options;
    options.comparisons = comparisons;
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t before = std::clock();
    std::vector<UniformityLimits> zones;
    for (const EmitterSample& sample : samples) zones.push_back(confidence_limits(sample, options));
    const std::vector<double> areas(zones.size(), 1.0);
    double sum = 0;
    for (const Measure m : all_measures) sum += weighted_limits(zones, areas, m).two_part.lower;
    const double elapsed =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    fmt::print("{}: {:.3f} s elapsed, {:.3f} s processor (check sum {:.6f})\n",
               comparisons ? "default and comparisons" : "default", elapsed,
               static_cast<double>(std::clock() - before) / CLOCKS_PER_SEC, sum);
  }
}

void write_sample(const std::string& file) {
  std::ofstream out(file);
  out << "zone,lateral,q\n";
  for (const EmitterSample& sample : eight_zones()) {
    for (const SampledEmitter& e : sample.emitters) {
      out << fmt::format("{},{},{:.17g}\n", e.zone, e.lateral, e.discharge_lph);
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() >= 3 && words[0] == "cover") {
    cover(std::atoi(words[1].c_str()), static_cast<std::size_t>(std::atoi(words[2].c_str())),
          words.size() > 3 ? std::atoi(words[3].c_str()) : 1);
  } else if (words.size() >= 2 && words[0] == "known") {
    cover_known(std::atoi(words[1].c_str()), words.size() > 2 ? std::atoi(words[2].c_str()) : 1);
  } else if (words.size() >= 2 && words[0] == "field") {
    cover_fields(std::atoi(words[1].c_str()), words.size() > 2 ? std::atoi(words[2].c_str()) : 1);
  } else if (words.size() == 1 && words[0] == "speed") {
    speed();
  } else if (words.size() == 2 && words[0] == "sample") {
    write_sample(words[1]);
  } else {
    fmt::print(stderr,
               "usage: limits_bench cover ZONES COMPARED [THREADS] | known ZONES [THREADS] | field "
               "ZONES [THREADS] | speed | sample FILE\n");
    return 2;
  }
  return 0;
}
