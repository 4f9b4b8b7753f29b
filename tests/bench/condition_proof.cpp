// SPDX-License-Identifier: Apache-2.0
// What one estimate from holes, hydraulics and crop gains over others, on simulated fields of known
// truth (condition_scenarios.hpp).
//
// usage: condition_proof truth SET FIELDS             what the troubles of a set take
//        condition_proof field|zone SET FIELDS THREADS [KIND,KIND... [FILE]]
//              judged as run does, or by holes and crop of the zone alone (no network, gauges,
//              placebos); the first FIELDS fields of each kind (0 to 12; all if none is named or
//              "all"); FILE gets one line for each field
// SET: tuning or report.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <functional>
#include <optional>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "condition_trials.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

using Trials = std::vector<ConditionTrial>;
using Of = std::function<double(const ConditionTrial&)>;
using Wanted = std::function<bool(const ConditionTrial&)>;

std::vector<double> each(const Trials& trials, const Of& of) {
  std::vector<double> values;
  for (const ConditionTrial& trial : trials) values.push_back(of(trial));
  return values;
}
double mean_of(const Trials& trials, const Of& of) {
  double sum = 0;
  for (const ConditionTrial& trial : trials) sum += of(trial);
  return sum / static_cast<double>(trials.size());
}
double quantile(std::vector<double> values, double share) {
  if (values.empty()) return std::nan("");
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5)];
}
Trials those(const Trials& trials, const Wanted& wanted) {
  Trials some;
  std::copy_if(trials.begin(), trials.end(), std::back_inserter(some), wanted);
  return some;
}
Trials of_kind(const Trials& trials, ConditionTrouble kind) {
  return those(trials, [&](const ConditionTrial& t) { return t.scenario.trouble == kind; });
}

/// 90 % limits of a median, from order statistics (normal approximation of the binomial ranks).
std::pair<double, double> median_limits(std::vector<double> values) {
  if (values.empty()) return {std::nan(""), std::nan("")};
  std::sort(values.begin(), values.end());
  const auto n = static_cast<double>(values.size());
  const double rank = std::floor((n - 1.645 * std::sqrt(n)) / 2);
  const auto low = static_cast<std::size_t>(std::max(0.0, rank));
  return {values[low], values[values.size() - 1 - low]};
}

std::size_t best_competitor(const Trials& trials) {
  std::size_t best = first_competitor;
  double least = 0;
  for (std::size_t m = first_competitor; m < condition_methods.size(); ++m) {
    const double median = median_of(each(trials, [&](const auto& t) { return t.errors[m]; }));
    if (m == first_competitor || median < least) {
      least = median;
      best = m;
    }
  }
  return best;
}

std::vector<double> ratios(const Trials& trials, std::size_t to) {
  return each(trials, [&](const auto& t) { return t.errors[0] / t.errors[to]; });
}

std::vector<ConditionTrouble> kinds_in(const Trials& trials) {
  std::vector<ConditionTrouble> kinds;
  for (std::size_t k = 0; k < condition_trouble_names.size(); ++k) {
    const auto kind = static_cast<ConditionTrouble>(k);
    if (!of_kind(trials, kind).empty()) kinds.push_back(kind);
  }
  return kinds;
}

void tell_errors(const Trials& trials) {
  fmt::print("median error of 10 m means; ratio to the best competitor (*)\n{:16} {:>4}", "trouble",
             "n");
  for (const char* name : condition_methods) fmt::print(" {:>14}", name);
  fmt::print("  floor   median ratio (90 % limits)\n");
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const Trials mine = of_kind(trials, kind);
    const std::size_t best = best_competitor(mine);
    fmt::print("{:16} {:4}", to_text(kind), mine.size());
    for (std::size_t m = 0; m < condition_methods.size(); ++m)
      fmt::print(" {:>13.4f}{}", median_of(each(mine, [&](const auto& t) { return t.errors[m]; })),
                 m == best ? '*' : ' ');
    const auto [low, high] = median_limits(ratios(mine, best));
    fmt::print(" {:6.4f}   {:.3f} ({:.3f} to {:.3f})\n",
               median_of(each(mine, [](const auto& t) { return t.floor; })),
               median_of(ratios(mine, best)), low, high);
  }
}

/// The reach: closed ends, pixel up to one spacing, against each kind's best of all its fields.
void tell_fine_closed(const Trials& trials) {
  fmt::print("\nclosed ends, pixel up to one spacing (reach: 0.5 over all, 0.8 in any kind)\n");
  std::vector<double> all;
  for (const ConditionTrouble kind : kinds_in(trials)) {
    if (!water_at_fault(kind)) continue;
    const Trials mine = of_kind(trials, kind);
    const Trials fine = those(mine, [](const auto& t) {
      return t.scenario.closed && t.scenario.pixel_over_spacing <= 1;
    });
    if (fine.empty()) continue;
    const std::vector<double> values = ratios(fine, best_competitor(mine));
    const auto [low, high] = median_limits(values);
    fmt::print("{:16} {:4}  {:.3f} ({:.3f} to {:.3f})\n", to_text(kind), fine.size(),
               median_of(values), low, high);
    all.insert(all.end(), values.begin(), values.end());
  }
  if (all.empty()) return;
  const auto [low, high] = median_limits(all);
  fmt::print("{:16} {:4}  {:.3f} ({:.3f} to {:.3f})\n", "over all", all.size(), median_of(all), low,
             high);
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
  fmt::print("coverage over all: {:.3f} (reach: 0.88 to 0.92)\n",
             mean_of(trials, [](const auto& t) { return t.coverage; }));
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

/// Faults of laterals that no hole hit, where the crop is fine and clear enough to show them.
void tell_missed(const Trials& trials) {
  double emitters = 0;
  double called = 0;
  int fields = 0;
  for (const ConditionTrial& t : trials) {
    const ConditionScenario& s = t.scenario;
    if (s.trouble < ConditionTrouble::weak_inlets || s.trouble > ConditionTrouble::pinched_line)
      continue;
    if (s.pixel_over_spacing > 0.5 || s.crop_noise > 0.1 || t.missed_emitters == 0) continue;
    emitters += t.missed_emitters;
    called += t.missed_called;
    ++fields;
  }
  if (emitters > 0)
    fmt::print(
        "lateral faults of 0.3 and more over 30 m, no hole in them, pixel at most half a spacing, "
        "noise at most 10 %: {:.3f} of {:.0f} emitters called low, {} fields (reach: 0.8)\n",
        called / emitters, emitters, fields);
  const Trials unrelated = of_kind(trials, ConditionTrouble::unrelated_crop);
  if (unrelated.empty()) return;
  const std::vector<double> against = ratios(unrelated, 1);
  fmt::print(
      "crop unrelated to water: error over that of holes alone, median {:.3f}, 95th "
      "percentile {:.3f}, largest {:.3f} (reach: 1.05)\n",
      median_of(against), quantile(against, 0.95), quantile(against, 1));
}

void write_trials(const Trials& trials, const std::string& file) {
  std::ofstream out(file);
  out << "trouble,number,closed,severity,pixel,harvester,holes,noise,data,crop_used,stripes,mean,"
         "deepest,floor,bias,error_r,coverage,called,low,missed,missed_called,log_score,share_"
         "score,faults,manifold_faults,soil_share,seconds,"
         "made,along,own,group,local,emitter,soil_short,soil_long,crop_error,response";
  for (const char* name : condition_methods) out << ',' << name;
  out << '\n';
  for (const ConditionTrial& t : trials) {
    const ConditionScenario& s = t.scenario;
    const ConditionParameters& p = t.parameters;
    out << fmt::format(
               "{},{},{:d},{:.3f},{},{:d},{},{},{},{:d},{},{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:."
               "4f},",
               to_text(s.trouble), s.number, s.closed, s.severity, s.pixel_over_spacing,
               s.harvester, s.holes, s.crop_noise, t.crop_data, t.crop_used, t.stripes,
               t.mean_delivery, t.deepest, t.floor, t.bias, t.error_r, t.coverage)
        << fmt::format("{:.4f},{:.4f},{},{},{:.4f},{:.4f},", t.called_low, t.truly_low,
                       t.missed_emitters, t.missed_called, t.log_score, t.share_log_score)
        << fmt::format("{},{},{:.3f},{:.2f},{:.2f},", t.faults, t.manifold_faults, t.soil_share,
                       t.seconds, t.seconds_made)
        << fmt::format("{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:.4f},{:.3f}", p.along,
                       p.own, p.group, p.local, p.emitter, p.soil_short, p.soil_long, p.crop_error,
                       p.response);
    for (const double error : t.errors) out << fmt::format(",{:.5f}", error);
    out << '\n';
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

void tell_all(const Trials& trials) {
  tell_errors(trials);
  tell_fine_closed(trials);
  tell_by(trials, "pixel over spacing", [](const auto& t) { return t.scenario.pixel_over_spacing; },
          {pixels_over_spacing.begin(), pixels_over_spacing.end()});
  tell_by(trials, "holes", [](const auto& t) { return static_cast<double>(t.scenario.holes); },
          {hole_counts.begin(), hole_counts.end()});
  tell_by(trials, "closed (1) or flush (0)",
          [](const auto& t) { return t.scenario.closed ? 1.0 : 0.0; }, {1, 0});
  tell_honesty(trials);
  tell_network(trials);
  tell_missed(trials);
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  const bool known = words.size() >= 3 && (words[1] == "tuning" || words[1] == "report");
  const std::uint64_t seed =
      known && words[1] == "report" ? condition_report_seed : condition_tuning_seed;
  const int fields = known ? std::clamp(std::atoi(words[2].c_str()), 1, condition_fields_each) : 0;
  if (known && words[0] == "truth") {
    tell_truth(seed, fields);
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
  fmt::print(
      stderr,
      "usage: condition_proof truth SET FIELDS | field|zone SET FIELDS THREADS [KIND,KIND... "
      "[FILE]]\n");
  return 2;
}
