// SPDX-License-Identifier: Apache-2.0
// What is said of the division of variation, tried by simulation.
// usage: variation_bench size SURVEYS   how often new emitters are blamed, more or less alike on a
//                                       lateral
//        variation_bench cover ZONES    how often the limits of the shares of pressure, emitters
//                                       and both at once, of the share between laterals and of the
//                                       trend hold what is true of the whole zone
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numeric>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

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

enum class Kind { clean, scattered, clustered, tail, partly, uneven_inlets, worn_laterals };
constexpr std::array<Kind, 7> all_kinds = {Kind::clean,        Kind::scattered, Kind::clustered,
                                           Kind::tail,         Kind::partly,    Kind::uneven_inlets,
                                           Kind::worn_laterals};
std::string to_text(Kind kind) {
  switch (kind) {
    case Kind::clean:
      return "clean";
    case Kind::scattered:
      return "5 % plugged, scattered";
    case Kind::clustered:
      return "5 % plugged, clustered";
    case Kind::tail:
      return "sediment in the tails";
    case Kind::partly:
      return "5 % plugged, 10 % in part";
    case Kind::uneven_inlets:
      return "pressures uneven between laterals";
    case Kind::worn_laterals:
      break;
  }
  return "wear uneven between laterals";
}

/// As in simulate_zone, with the pressures: inlets scatter by 2 % of discharge (uneven_inlets: 6
/// %), friction takes 6 % of it by the end, emitters have a CV of 5 % (worn_laterals: 10 %, and 8 %
/// between laterals); sediment takes up to a tenth of its share of the tail's pressure too. The
/// sizes and kinds were set down before the first trial.
std::vector<std::vector<VariedEmitter>> zone_of(Kind kind, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {static_cast<std::uint64_t>(kind), 9});
  boost::random::normal_distribution<double> normal(0, 1);
  boost::random::uniform_01<double> even;
  std::vector<std::vector<VariedEmitter>> zone(zone_laterals);
  for (std::size_t l = 0; l < zone_laterals; ++l) {
    const double inlet = 1 + (kind == Kind::uneven_inlets ? 0.06 : 0.02) * normal(stream);
    const double wear = kind == Kind::worn_laterals ? 1 + 0.08 * normal(stream) : 1;
    const double tail_loss = 0.2 + 0.6 * even(stream);
    const bool struck = even(stream) < 0.1;
    for (std::size_t e = 0; e < lateral_emitters; ++e) {
      const double at = (static_cast<double>(e) + 0.5) / static_cast<double>(lateral_emitters);
      const double in_tail = std::max(0.0, (at - 0.75) / 0.25);
      double by_pressure = inlet * (1 - 0.06 * (1 - std::pow(1 - at, 2.75)));
      const double scatter = kind == Kind::worn_laterals ? 0.10 : 0.05;
      double performance = wear * std::max(0.02, 1 + scatter * normal(stream));
      const double chance = even(stream);
      const double part = even(stream);
      if (kind == Kind::scattered && chance < 0.05) performance = 0;
      if (kind == Kind::clustered && struck && chance < 0.5) performance = 0;
      if (kind == Kind::tail) {
        performance *= chance < 0.2 * in_tail ? 0 : 1 - tail_loss * in_tail;
        by_pressure *= 1 - 0.1 * tail_loss * in_tail;
      }
      if (kind == Kind::partly)
        performance *= chance < 0.05 ? 0 : chance < 0.15 ? 0.3 + 0.6 * part : 1;
      VariedEmitter emitter;
      emitter.discharge_lph = by_pressure * performance;
      emitter.pressure_kpa = 100 * by_pressure * by_pressure;
      emitter.lateral = static_cast<int>(l);
      emitter.station_frac = at;
      zone[l].push_back(emitter);
    }
  }
  return zone;
}

struct Held {
  std::string name;
  int known = 0;
  int both = 0;
  int low = 0;
  int high = 0;
  double width = 0;
  double truth = 0;
  void add(double lower, double upper, double true_value) {
    ++known;
    low += true_value >= lower ? 1 : 0;
    high += true_value <= upper ? 1 : 0;
    both += true_value >= lower && true_value <= upper ? 1 : 0;
    width += upper - lower;
    truth += true_value;
  }
  template <typename Share>
  void add(const Share& share, double true_value) {
    if (share.known) add(share.lower, share.upper, true_value);
  }
};

std::vector<VariedEmitter> dug_in(const std::vector<std::vector<VariedEmitter>>& zone,
                                  Design design, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {static_cast<std::uint64_t>(design.laterals), 2});
  std::vector<VariedEmitter> sample;
  for (const std::size_t l : pick(zone.size(), design.laterals, stream)) {
    for (const std::size_t e : pick(zone[l].size(), design.emitters_each, stream)) {
      sample.push_back(zone[l][e]);
    }
  }
  return sample;
}

/// Slope of log performance on the station over all emitters that run, laterals' means taken off.
double true_slope(const std::vector<std::vector<VariedEmitter>>& zone) {
  double xx = 0, xy = 0;
  for (const auto& lateral : zone) {
    double mean_x = 0, mean_y = 0, n = 0;
    const auto log_performance = [](const VariedEmitter& e) {
      return std::log(e.discharge_lph / std::sqrt(e.pressure_kpa));
    };
    for (const VariedEmitter& e : lateral) {
      if (!(e.discharge_lph > 0)) continue;
      mean_x += e.station_frac;
      mean_y += log_performance(e);
      n += 1;
    }
    for (const VariedEmitter& e : lateral) {
      if (!(e.discharge_lph > 0)) continue;
      const double x = e.station_frac - mean_x / n;
      xx += x * x;
      xy += x * (log_performance(e) - mean_y / n);
    }
  }
  return xy / xx;
}

struct Truth {
  std::array<double, 3> plain{};
  std::array<double, 3> logarithms{};
  double between_discharge = 0;
  double between_performance = 0;
  double slope = 0;
};

/// Shares of variances and covariances (a, b, twice both), of all three or of a given whole.
std::array<double, 3> shares_of(const std::vector<double>& a, const std::vector<double>& b,
                                const std::vector<double>& whole) {
  const auto n = static_cast<double>(a.size());
  const auto mean = [n](const std::vector<double>& v) {
    return std::accumulate(v.begin(), v.end(), 0.0) / n;
  };
  const double ma = mean(a), mb = mean(b), mw = mean(whole);
  double aa = 0, bb = 0, ab = 0, ww = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    aa += (a[i] - ma) * (a[i] - ma);
    bb += (b[i] - mb) * (b[i] - mb);
    ab += (a[i] - ma) * (b[i] - mb);
    ww += (whole[i] - mw) * (whole[i] - mw);
  }
  return {aa / ww, bb / ww, 2 * ab / ww};
}

Truth truth_of(const std::vector<std::vector<VariedEmitter>>& zone) {
  std::vector<double> q, h, f, log_q, log_h, log_f;
  std::vector<GroupedValue> discharges, performances;
  for (const auto& lateral : zone) {
    for (const VariedEmitter& e : lateral) {
      q.push_back(e.discharge_lph);
      h.push_back(e.pressure_kpa);
      f.push_back(e.discharge_lph / std::sqrt(e.pressure_kpa));
      discharges.push_back({e.discharge_lph, e.lateral, -1, 0});
      if (!(e.discharge_lph > 0)) continue;
      log_q.push_back(std::log(q.back()));
      log_h.push_back(0.5 * std::log(h.back()));
      log_f.push_back(std::log(f.back()));
      performances.push_back({log_f.back(), e.lateral, -1, 0});
    }
  }
  const auto over_mean = [](std::vector<double> v, double times) {
    const double mean = std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size());
    for (double& x : v) x *= times / mean;
    return v;
  };
  return {shares_of(over_mean(h, 0.5), over_mean(f, 1), over_mean(q, 1)),
          shares_of(log_h, log_f, log_q),
          variance_components(discharges, PitLevel::none).lateral_share_frac,
          variance_components(performances, PitLevel::none).lateral_share_frac, true_slope(zone)};
}

void cover(int zones) {
  for (const Kind kind : all_kinds) {
    for (const Design design : all_designs) {
      std::vector<Held> held = {{"pressure, of squares"},
                                {"emitters, of squares"},
                                {"both, of squares"},
                                {"pressure, of logarithms"},
                                {"emitters, of logarithms"},
                                {"both, of logarithms"},
                                {"between laterals, discharge"},
                                {"between laterals, log performance"},
                                {"trend"}};
      for (int i = 0; i < zones; ++i) {
        const auto seed = static_cast<std::uint64_t>(i + 1);
        const auto zone = zone_of(kind, seed);
        const Truth truth = truth_of(zone);
        const Variation found = divided_variation(dug_in(zone, design, seed), {});
        const PartShares& plain = found.plain.shares;
        const PartShares& logs = found.logarithms.shares;
        held[0].add(plain.hydraulic, truth.plain[0]);
        held[1].add(plain.performance, truth.plain[1]);
        held[2].add(plain.covariance, truth.plain[2]);
        held[3].add(logs.hydraulic, truth.logarithms[0]);
        held[4].add(logs.performance, truth.logarithms[1]);
        held[5].add(logs.covariance, truth.logarithms[2]);
        held[6].add(found.discharge.lateral_share, truth.between_discharge);
        held[7].add(found.log_performance.lateral_share, truth.between_performance);
        if (found.trend.computed) held[8].add(found.trend.lower, found.trend.upper, truth.slope);
      }
      fmt::print("{}: {} laterals x {} emitters\n", to_text(kind), design.laterals,
                 design.emitters_each);
      for (const Held& h : held) {
        if (h.known == 0) continue;
        fmt::print(
            "  {:34} known {:4} true {:6.3f} both {:5.1f} lower {:5.1f} upper {:5.1f} width "
            "{:.3f}\n",
            h.name, h.known, h.truth / h.known, 100.0 * h.both / h.known, 100.0 * h.low / h.known,
            100.0 * h.high / h.known, h.width / h.known);
      }
      std::fflush(stdout);
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() == 2 && words[0] == "size") {
    size(std::atoi(words[1].c_str()));
  } else if (words.size() == 2 && words[0] == "cover") {
    cover(std::atoi(words[1].c_str()));
  } else {
    fmt::print(stderr, "usage: variation_bench size SURVEYS | cover ZONES\n");
    return 2;
  }
  return 0;
}
