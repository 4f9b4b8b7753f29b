// SPDX-License-Identifier: Apache-2.0
// What one estimate from holes, hydraulics and crop gains over others, on simulated fields of known
// truth (condition_scenarios.hpp).
//
// usage: condition_proof truth SET FIELDS             what the troubles of a set take
//        condition_proof bound SET FIELDS [THREADS]  what their crop could tell, place by place
//        condition_proof field|zone SET FIELDS THREADS [KIND,KIND... [FILE]]
//              judged as run does, or by holes and crop of the zone alone (no network, gauges,
//              placebos); the first FIELDS fields of each kind (0 to 12; all if none is named or
//              "all"); FILE gets one line for each field
//        condition_proof told SET FILE...            what such files tell together
// SET: tuning or report. What is told is in the usage text below.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <exception>
#include <functional>
#include <optional>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "condition_bound.hpp"
#include "condition_reach.hpp"
#include "condition_trial_file.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

void tell_errors(const Trials& trials) {
  fmt::print("median error of 10 m means; ratio to the best competitor (*)\n{:16} {:>4}", "trouble",
             "n");
  for (const char* name : condition_methods) fmt::print(" {:>14}", name);
  fmt::print("  floor  perfect  median ratio (90 % limits)\n");
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const Trials mine = of_kind(trials, kind);
    const std::size_t best = best_competitor(mine);
    fmt::print("{:16} {:4}", to_text(kind), mine.size());
    for (std::size_t m = 0; m < condition_methods.size(); ++m)
      fmt::print(" {:>13.4f}{}", median_of(each(mine, [&](const auto& t) { return t.errors[m]; })),
                 m == best ? '*' : ' ');
    const auto [low, high] = median_limits(ratios(mine, best));
    fmt::print(" {:6.4f}  {:7.3f}  {:.3f} ({:.3f} to {:.3f})\n",
               median_of(each(mine, [](const auto& t) { return t.floor; })),
               median_of(perfect_ratios(mine, best)), median_of(ratios(mine, best)), low, high);
  }
}

std::string ratio_text(const std::vector<double>& values, const std::vector<double>& perfect) {
  const auto [low, high] = median_limits(values);
  return fmt::format("{:4}  {:.3f} ({:.3f} to {:.3f}) {:8.3f}", values.size(), median_of(values),
                     low, high, median_of(perfect));
}

/// Closed ends, pixel up to one spacing, against each kind's best of all its fields.
void tell_fine_closed(const Trials& trials, const char* title, const Wanted& wanted) {
  fmt::print("\nclosed ends, pixel up to one spacing{}\n{:16} {:>4}  {:24} {:>8}\n", title, "", "n",
             "median ratio", "perfect");
  std::vector<double> all;
  std::vector<double> all_perfect;
  for (const ConditionTrouble kind : kinds_in(trials)) {
    if (!water_at_fault(kind)) continue;
    const Trials mine = of_kind(trials, kind);
    const Trials fine = those(mine, [&](const auto& t) { return fine_and_closed(t) && wanted(t); });
    if (fine.empty()) continue;
    const std::size_t best = best_competitor(mine);
    const std::vector<double> values = ratios(fine, best);
    const std::vector<double> perfect = perfect_ratios(fine, best);
    fmt::print("{:16} {}\n", to_text(kind), ratio_text(values, perfect));
    all.insert(all.end(), values.begin(), values.end());
    all_perfect.insert(all_perfect.end(), perfect.begin(), perfect.end());
  }
  if (!all.empty()) fmt::print("{:16} {}\n", "over all", ratio_text(all, all_perfect));
}

void tell_by(const Trials& trials, const char* title, const Of& value,
             const std::vector<double>& values) {
  fmt::print("\nmedian ratio by {}:", title);
  for (const double v : values) fmt::print(" {:>7.3g}", v);
  fmt::print("\n");
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const Trials mine = of_kind(trials, kind);
    const std::size_t best = best_competitor(mine);
    fmt::print("{:16}{:{}}", to_text(kind), "", std::string(title).size());
    for (const double v : values) {
      const Trials some = those(mine, [&](const auto& t) { return value(t) == v; });
      fmt::print(" {:7.3f}", some.empty() ? std::nan("") : median_of(ratios(some, best)));
    }
    fmt::print("\n");
  }
}

void tell_honesty(const Trials& trials) {
  fmt::print(
      "\n{:16} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9} {:>8} {:>9} {:>9} {:>9} {:>9} {:>9} {:>8}\n",
      "trouble", "crop used", "stripes", "p95 error", "r alone", "bias", "coverage", "least c.",
      "log score", "of share", "low, said", "low, true", "s a field", "longest");
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const Trials mine = of_kind(trials, kind);
    const auto mean = [&](const Of& of) { return mean_of(mine, of); };
    const auto seconds = each(mine, [](const auto& t) { return t.seconds; });
    fmt::print(
        "{:16} {:9.2f} {:9.2f} {:9.4f} {:9.4f} {:9.4f} {:9.3f} {:8.3f} {:9.4f} {:9.4f} {:9.4f} "
        "{:9.4f} {:9.1f} "
        "{:8.1f}\n",
        to_text(kind), mean([](const auto& t) { return t.crop_used ? 1.0 : 0.0; }),
        mean([](const auto& t) { return t.stripes > 0 ? 1.0 : 0.0; }),
        quantile(each(mine, [](const auto& t) { return t.errors[0]; }), 0.95),
        median_of(each(mine, [](const auto& t) { return t.error_r; })),
        mean([](const auto& t) { return t.bias; }), mean([](const auto& t) { return t.coverage; }),
        quantile(each(mine, [](const auto& t) { return t.coverage; }), 0),
        mean([](const auto& t) { return t.log_score; }),
        mean([](const auto& t) { return t.share_log_score; }),
        mean([](const auto& t) { return t.called_low; }),
        mean([](const auto& t) { return t.truly_low; }), median_of(seconds), quantile(seconds, 1));
  }
}

/// What was explained by the network.
void tell_network(const Trials& trials) {
  fmt::print("\n{:16} {:>9} {:>15} {:>12}\n", "trouble", "any fault", "manifold fault",
             "soil's share");
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const Trials mine = of_kind(trials, kind);
    fmt::print("{:16} {:9.2f} {:15.2f} {:12.3f}\n", to_text(kind),
               mean_of(mine, [](const auto& t) { return t.faults > 0 ? 1.0 : 0.0; }),
               mean_of(mine, [](const auto& t) { return t.manifold_faults > 0 ? 1.0 : 0.0; }),
               mean_of(mine, [](const auto& t) { return t.soil_share; }));
  }
}

std::vector<ConditionTrouble> kinds_named(const std::string& words) {
  std::vector<ConditionTrouble> kinds;
  if (words.empty() || words == "all") {
    for (std::size_t k = 0; k < condition_trouble_names.size(); ++k)
      kinds.push_back(static_cast<ConditionTrouble>(k));
    return kinds;
  }
  std::istringstream list(words);
  for (std::string word; std::getline(list, word, ',');) {
    const int k = std::atoi(word.c_str());
    if (k >= 0 && k < static_cast<int>(condition_trouble_names.size()))
      kinds.push_back(static_cast<ConditionTrouble>(k));
  }
  return kinds;
}

std::vector<ConditionScenario> scenarios(std::uint64_t set_seed, int fields,
                                         const std::vector<ConditionTrouble>& kinds) {
  std::vector<ConditionScenario> all;
  // Numbers first, so that the threads share kinds that take long.
  for (int number = 0; number < fields; ++number)
    for (const ConditionTrouble kind : kinds)
      all.push_back(condition_scenario(set_seed, kind, number));
  return all;
}

void tell_truth(std::uint64_t set_seed, int fields) {
  fmt::print("{:16} {:6} {:>8} {:>7} {:>7} {:>7} {:>9} {:>7} {:>10} {:>7} {:>7}\n", "trouble",
             "ends", "severity", "mean", "least", "low", "crop data", "marked", "crop sd",
             "stripes", "seconds");
  for (const ConditionScenario& s : scenarios(set_seed, fields, kinds_named("all"))) {
    const auto begun = std::chrono::steady_clock::now();
    const ConditionField made = made_condition_field(s);
    const double seconds = seconds_since(begun);
    double mean = 0;
    double least = 1;
    double low = 0;
    const std::vector<Stretch> stretches = stretches_of(made);
    for (const Stretch& stretch : stretches) {
      mean += stretch.delivery / static_cast<double>(stretches.size());
      low += (stretch.shared < low_below ? 1.0 : 0.0) / static_cast<double>(stretches.size());
      least = std::min(least, stretch.shared);
    }
    std::vector<double> off;
    for (const EvidenceDatum& datum : made.evidence.data)
      if (!datum.marked) off.push_back(std::abs(datum.value / made.evidence.median - 1));
    fmt::print("{:16} {:6} {:8.3f} {:7.3f} {:7.3f} {:7.3f} {:9} {:7.3f} {:10.3f} {:7} {:7.2f}\n",
               to_text(s.trouble), s.closed ? "closed" : "flush", s.severity, mean, least, low,
               off.size(),
               1 - static_cast<double>(off.size()) / static_cast<double>(made.evidence.data.size()),
               1.4826 * median_of(off), made.stripes.size(), seconds);
  }
}

/// Of fields with closed ends and pixels up to one spacing, as the ratios of all estimates are
/// told.
void tell_bound(std::uint64_t set_seed, int fields, const Work& work) {
  std::vector<ConditionScenario> some;
  for (const ConditionScenario& s : scenarios(set_seed, fields, kinds_named("all")))
    if (water_at_fault(s.trouble) && fine_and_closed(s)) some.push_back(s);
  std::vector<CropBound> bounds(some.size());
  for_each_chunk(work, some.size(), 1, [&](std::size_t i, std::size_t, int) {
    bounds[i] = crop_bound(made_condition_field(some[i]));
  });
  tell_bounds(bounds);
}

void tell_all(const Trials& trials) {
  tell_errors(trials);
  tell_fine_closed(trials, "", [](const auto&) { return true; });
  tell_fine_closed(trials, ", some place truly below 0.90", lowers_some_place);
  tell_by(trials, "pixel over spacing", [](const auto& t) { return t.scenario.pixel_over_spacing; },
          {pixels_over_spacing.begin(), pixels_over_spacing.end()});
  tell_by(trials, "holes", [](const auto& t) { return static_cast<double>(t.scenario.holes); },
          {hole_counts.begin(), hole_counts.end()});
  tell_by(trials, "closed (1) or flush (0)",
          [](const auto& t) { return t.scenario.closed ? 1.0 : 0.0; }, {1, 0});
  tell_honesty(trials);
  tell_network(trials);
  tell_reach(trials);
}

void tell_files(const std::vector<std::string>& files, std::uint64_t set_seed) {
  Trials trials;
  for (const std::string& file : files) {
    const Trials some = read_trials(file, set_seed);
    trials.insert(trials.end(), some.begin(), some.end());
  }
  fmt::print("{} fields\n", trials.size());
  tell_all(trials);
}

constexpr const char* usage_text =
    R"(usage: condition_proof truth SET FIELDS
       condition_proof bound SET FIELDS [THREADS]
       condition_proof field|zone SET FIELDS THREADS [KIND,KIND... [FILE]]
       condition_proof told SET FILE...

field, zone: FILE gets a line for each field. told: what such files of one set tell together, so
that a long proof can be made in parts, of some kinds each.

bound: of the fields with closed ends and pixels up to one spacing, the error over the best
competitor's of the best rising function of the crop of 10 m of a lateral, fitted to the truth
itself: of a crop on even soil that is seen without noise, of one on even soil as it is seen, and of
the crop as it is. What the crop cannot tell of a place, it cannot add to an estimate there.

SET is tuning or report; KIND 0 to 12, or all. Told are, for each kind of trouble:
  median errors of the estimate and its competitors, the floor (own make and luck over 10 m, which
    nobody can know) and "perfect": floor over the best competitor's error, the least ratio that
    any estimate could have
  the ratio to the best competitor in fields with closed ends and pixels up to one spacing, of all
    of them and of those alone where some 10 m mean is truly below 0.90; by pixel, holes and ends
  what was said and how honestly; what was put to the network and the soil
and, last, each thing that is asked in one row with its reach:
  error over the best competitor's, closed and fine: median 0.5, worst kind 0.8
  pressure-only deficit: the network takes it within a fifth of its true size and the soil at most
    a tenth, in 95 % of the fields where some place is truly low (field only)
  clean, soil only: error, median at most 0.02, 95th percentile 0.04
  coverage of the 90 % limits of 10 m means without own make and luck: 0.88 to 0.92, any kind 0.80
    to 0.96
  machine stripes that can be told: emitters called low at most 1 %
  lateral faults of 0.3 and more over 30 m that no hole hit, pixel at most half a spacing, crop
    noise at most 10 %: called low at least 80 %
  crop unrelated to water: error at most 1.05 of that of holes alone
)";

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  const bool known = words.size() >= 3 && (words[1] == "tuning" || words[1] == "report");
  const std::uint64_t seed =
      known && words[1] == "report" ? condition_report_seed : condition_tuning_seed;
  if (known && words[0] == "told") {
    try {
      tell_files({words.begin() + 2, words.end()}, seed);
      return 0;
    } catch (const std::exception& e) {
      fmt::print(stderr, "{}\n", e.what());
      return 1;
    }
  }
  const int fields = known ? std::clamp(std::atoi(words[2].c_str()), 1, condition_fields_each) : 0;
  if (known && words[0] == "truth") {
    tell_truth(seed, fields);
    return 0;
  }
  if (known && words[0] == "bound") {
    Work work;
    work.threads = words.size() > 3 ? std::max(1, std::atoi(words[3].c_str())) : 1;
    tell_bound(seed, fields, work);
    return 0;
  }
  if (known && (words[0] == "field" || words[0] == "zone") && words.size() >= 4) {
    const Judge judge = words[0] == "field" ? Judge::field : Judge::zone;
    Work work;
    work.threads = std::max(1, std::atoi(words[3].c_str()));
    const auto all = scenarios(seed, fields, kinds_named(words.size() > 4 ? words[4] : "all"));
    std::vector<std::optional<ConditionTrial>> tries(all.size());
    for_each_chunk(work, all.size(), 1,
                   [&](std::size_t i, std::size_t, int) { tries[i] = tried(all[i], judge); });
    Trials trials;
    for (auto& trial : tries)
      if (trial) trials.push_back(*std::move(trial));
    fmt::print("{} fields tried, {} without an estimate\n", all.size(), all.size() - trials.size());
    tell_all(trials);
    if (words.size() > 5) write_trials(trials, words[5]);
    return 0;
  }
  fmt::print(stderr, "{}", usage_text);
  return 2;
}
