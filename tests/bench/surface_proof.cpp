// SPDX-License-Identifier: Apache-2.0
// What surfaces that know the lateral gain over others, on simulated fields of known truth.
//
// usage: surface_proof truth SET                   what the faults of a set take
//        surface_proof errors SET EVERY THREADS [FILE]   root mean square errors and coverage on
//              every EVERY-th severity; FILE gets one line for each field and number of holes
//        surface_proof coverage SET FIELDS THREADS  90 % limits on fields drawn from the model
// SET: tuning or report.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/work.hpp"

#include "surface_scenarios.hpp"
#include "surface_trials.hpp"

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

/// Every EVERY-th severity, both kinds of ends.
std::vector<int> chosen_fields(int every) {
  std::vector<int> numbers;
  for (int number = 0; number < 5 * fields_each; ++number) {
    if ((number % fields_each / 2) % every == every / 2) numbers.push_back(number);
  }
  return numbers;
}

std::vector<FieldTrial> tried_fields(std::uint64_t set_seed, int every, const Work& work) {
  const std::vector<int> numbers = chosen_fields(every);
  std::vector<std::vector<FieldTrial>> by_field(numbers.size());
  for_each_chunk(work, numbers.size(), 1, [&](std::size_t i, std::size_t, int) {
    by_field[i] = tried(made_field(scenario(set_seed, numbers[i])), numbers[i]);
  });
  std::vector<FieldTrial> trials;
  for (std::vector<FieldTrial>& part : by_field)
    trials.insert(trials.end(), part.begin(), part.end());
  return trials;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size();
  return n == 0 ? std::nan("") : (values[(n - 1) / 2] + values[n / 2]) / 2;
}

using Score = double Method::*;

std::vector<double> scores(const std::vector<FieldTrial>& trials, std::size_t method, Score score) {
  std::vector<double> values;
  for (const FieldTrial& trial : trials) values.push_back(trial.methods[method].*score);
  return values;
}

/// The competitor with the lowest median error; method 0 is the one that knows the lateral.
std::size_t best_competitor(const std::vector<FieldTrial>& trials, Score score) {
  std::size_t best = 1;
  for (std::size_t m = 2; m < method_names.size(); ++m) {
    if (median(scores(trials, m, score)) < median(scores(trials, best, score))) best = m;
  }
  return best;
}

std::vector<double> ratios(const std::vector<FieldTrial>& trials, std::size_t competitor,
                           Score score) {
  std::vector<double> values;
  for (const FieldTrial& trial : trials)
    values.push_back(trial.methods[0].*score / trial.methods[competitor].*score);
  return values;
}

/// 90 % limits of a median of ratios, by drawing whole fields anew (percentiles of 1,000 draws).
std::pair<double, double> limits_over_fields(const std::vector<FieldTrial>& trials,
                                             const std::vector<double>& values) {
  std::map<int, std::vector<double>> by_field;
  for (std::size_t i = 0; i < trials.size(); ++i) by_field[trials[i].field].push_back(values[i]);
  std::vector<std::vector<double>> fields;
  for (const auto& [number, mine] : by_field) fields.push_back(mine);
  auto stream = item_stream(1, {fields.size()});
  std::vector<double> medians;
  for (int draw = 0; draw < 1000; ++draw) {
    std::vector<double> drawn;
    for (std::size_t i = 0; i < fields.size(); ++i) {
      const std::vector<double>& mine = fields[static_cast<std::size_t>(stream() % fields.size())];
      drawn.insert(drawn.end(), mine.begin(), mine.end());
    }
    medians.push_back(median(std::move(drawn)));
  }
  std::sort(medians.begin(), medians.end());
  return {medians[50], medians[949]};
}

std::vector<FieldTrial> of_trouble(const std::vector<FieldTrial>& trials, Trouble trouble,
                                   int holes) {
  std::vector<FieldTrial> mine;
  for (const FieldTrial& trial : trials) {
    if (trial.trouble == trouble && (holes == 0 || trial.holes == holes)) mine.push_back(trial);
  }
  return mine;
}

void tell_errors(const std::vector<FieldTrial>& trials, Score score, const char* title) {
  fmt::print("\n{}: median root mean square error, then ratio to the best competitor\n", title);
  fmt::print("{:20}", "fault");
  for (const char* name : method_names) fmt::print(" {:>17}", name);
  fmt::print("   median ratio (90 % limits)  with 24, 48, 96 holes\n");
  std::vector<double> all;
  std::vector<double> of_kinds;
  for (const Trouble trouble : all_troubles) {
    const std::vector<FieldTrial> mine = of_trouble(trials, trouble, 0);
    const std::size_t best = best_competitor(mine, score);
    fmt::print("{:20}", to_text(trouble));
    for (std::size_t m = 0; m < method_names.size(); ++m)
      fmt::print(" {:>16.4f}{}", median(scores(mine, m, score)), m == best ? '*' : ' ');
    const std::vector<double> mine_ratios = ratios(mine, best, score);
    const auto [low, high] = limits_over_fields(mine, mine_ratios);
    fmt::print("   {:.3f} ({:.3f} to {:.3f})       ", median(mine_ratios), low, high);
    for (const Digging& digging : all_diggings) {
      const int holes = digging.laterals * digging.emitters_each;
      fmt::print(" {:.3f}", median(ratios(of_trouble(trials, trouble, holes), best, score)));
    }
    fmt::print("\n");
    all.insert(all.end(), mine_ratios.begin(), mine_ratios.end());
    of_kinds.push_back(median(mine_ratios));
  }
  const auto [low, high] = limits_over_fields(trials, all);
  fmt::print("over all: median ratio {:.3f} ({:.3f} to {:.3f}); median of the kinds {:.3f}\n",
             median(all), low, high, median(of_kinds));
}

/// Share of the emitters whose place lies within the 90 % limits: mean over the fields.
void tell_coverage(const std::vector<FieldTrial>& trials) {
  fmt::print(
      "\n90 % limits: share of the places inside, mean over fields, with 24, 48, 96 holes\n");
  for (const Trouble trouble : all_troubles) {
    fmt::print("{:20}", to_text(trouble));
    for (const Digging& digging : all_diggings) {
      const auto mine = of_trouble(trials, trouble, digging.laterals * digging.emitters_each);
      double sum = 0;
      for (const FieldTrial& trial : mine) sum += trial.methods[0].coverage;
      fmt::print(" {:6.1f}", 100 * sum / static_cast<double>(mine.size()));
    }
    fmt::print("\n");
  }
}

void tell_choices(const std::vector<FieldTrial>& trials) {
  fmt::print("\nmodels chosen\n");
  for (const Trouble trouble : all_troubles) {
    std::map<std::string, int> counts;
    for (const FieldTrial& trial : of_trouble(trials, trouble, 0)) ++counts[trial.chosen];
    fmt::print("{:20}", to_text(trouble));
    for (const auto& [name, count] : counts) fmt::print(" {} {};", count, name);
    fmt::print("\n");
  }
}

/// Fields of all layouts in turn.
void tell_model_coverage(std::uint64_t set_seed, int fields, const Work& work) {
  std::vector<std::vector<CoverageTrial>> trials(static_cast<std::size_t>(fields));
  for_each_chunk(work, trials.size(), 1, [&](std::size_t i, std::size_t, int) {
    trials[i] = covered(scenario(set_seed, static_cast<int>(i)));
  });
  fmt::print("fields drawn from the model, 90 % limits: share of the places inside, %\n");
  fmt::print("{:>6} {:>18} {:>20} {:>14}\n", "holes", "parameters known", "fitted (std. error)",
             "model chosen");
  for (std::size_t d = 0; d < all_diggings.size(); ++d) {
    CoverageTrial mean;
    double squares = 0;
    for (const std::vector<CoverageTrial>& field : trials) {
      mean.known += 100 * field[d].known / fields;
      mean.refitted += 100 * field[d].refitted / fields;
      mean.chosen += 100 * field[d].chosen / fields;
      squares += std::pow(100 * field[d].refitted, 2) / fields;
    }
    const double error = std::sqrt(std::max(0.0, squares - mean.refitted * mean.refitted) / fields);
    fmt::print("{:6} {:18.1f} {:13.1f} ({:.1f}) {:14.1f}\n", trials[0][d].holes, mean.known,
               mean.refitted, error, mean.chosen);
  }
}

void write_trials(const std::vector<FieldTrial>& trials, const std::string& file) {
  std::ofstream out(file);
  out << "field,fault,ends,severity,holes,chosen,coverage";
  for (const char* name : method_names) out << ",place " << name << ",own " << name;
  out << "\n";
  for (const FieldTrial& trial : trials) {
    out << fmt::format("{},{},{},{:.3f},{},{},{:.4f}", trial.field, to_text(trial.trouble),
                       trial.closed ? "closed" : "flush", trial.severity, trial.holes, trial.chosen,
                       trial.methods[0].coverage);
    for (const Method& method : trial.methods)
      out << fmt::format(",{:.5f},{:.5f}", method.place, method.own);
    out << "\n";
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  const std::uint64_t seed = words.size() > 1 && words[1] == "report" ? report_seed : tuning_seed;
  Work work;
  if (words.size() >= 4) work.threads = std::max(1, std::atoi(words[3].c_str()));
  if (words.size() == 2 && words[0] == "truth") {
    tell_truth(seed);
    return 0;
  }
  if (words.size() >= 4 && words[0] == "errors") {
    const std::vector<FieldTrial> trials =
        tried_fields(seed, std::max(1, std::atoi(words[2].c_str())), work);
    tell_errors(trials, &Method::place, "what places share");
    tell_errors(trials, &Method::own, "every emitter with its own luck");
    tell_coverage(trials);
    tell_choices(trials);
    if (words.size() > 4) write_trials(trials, words[4]);
    return 0;
  }
  if (words.size() == 4 && words[0] == "coverage") {
    tell_model_coverage(seed, std::clamp(std::atoi(words[2].c_str()), 1, 5 * fields_each), work);
    return 0;
  }
  fmt::print(stderr,
             "usage: surface_proof truth SET | errors SET EVERY THREADS [FILE] | "
             "coverage SET FIELDS THREADS\n");
  return 2;
}
