// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/digging.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/simulate/instruments.hpp"
#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>
#include <boost/random/uniform_int_distribution.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

namespace evendrip {
namespace {

constexpr std::uint64_t choice_stream = 5;
constexpr std::uint64_t digging_stream = 6;
constexpr std::uint64_t day_stream = 7;
constexpr double damaged_share = 0.012;
constexpr double not_found_share = 0.008;
constexpr double pit_pressure_share = 0.3;
constexpr double tape_sd_m = 0.03;
/// Of a fix's variance, this share is common to all fixes of the day.
constexpr double common_variance_share = 0.64;

using Normal = boost::random::normal_distribution<double>;
using Uniform = boost::random::uniform_01<double>;

double rounded(double value, double step) {
  return std::round(value / step) * step;
}

/// Laterals of a zone drawn without replacement, in order.
std::vector<int> laterals_to_dig(const SimulatedField& field, int zone) {
  const SimulationPlan& plan = field.plan;
  std::vector<int> numbers(static_cast<std::size_t>(plan.laterals_per_zone));
  std::iota(numbers.begin(), numbers.end(), zone * plan.laterals_per_zone);
  auto stream = item_stream(plan.seed, {choice_stream, static_cast<std::uint64_t>(zone)});
  const auto dug = static_cast<std::size_t>(plan.laterals_dug);
  for (std::size_t i = 0; i < dug; ++i) {
    boost::random::uniform_int_distribution<std::size_t> pick(i, numbers.size() - 1);
    std::swap(numbers[i], numbers[pick(stream)]);
  }
  numbers.resize(dug);
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

/// Pits along one lateral as lists of neighbouring emitters (1-based): one emitter at the head, in
/// the middle and at the tail, then two or three at random places that touch no other pit.
std::vector<std::vector<int>> pits_of(const SimulationPlan& plan, int emitters,
                                      std::mt19937_64& stream) {
  std::vector<std::vector<int>> pits;
  std::set<int> taken;
  const std::array<int, 3> fixed = {std::max(1, emitters / 50), (emitters + 1) / 2,
                                    emitters - emitters / 50};
  for (std::size_t i = 0;
       i < std::min<std::size_t>(3, static_cast<std::size_t>(plan.emitters_per_lateral)); ++i) {
    pits.push_back({fixed[i]});
    taken.insert(fixed[i]);
  }
  boost::random::uniform_int_distribution<int> width(2, 3);
  boost::random::uniform_int_distribution<int> place(2, emitters - 3);
  while (static_cast<int>(pits.size()) < plan.emitters_per_lateral) {
    const int first = place(stream);
    const int last = first + width(stream) - 1;
    const auto near = taken.lower_bound(first - 1);
    if (near != taken.end() && *near <= last + 1) continue;
    std::vector<int> pit(static_cast<std::size_t>(last - first + 1));
    std::iota(pit.begin(), pit.end(), first);
    taken.insert(pit.begin(), pit.end());
    pits.push_back(std::move(pit));
  }
  std::sort(pits.begin(), pits.end());
  return pits;
}

std::string what_is_seen(double performance, std::mt19937_64& stream) {
  Uniform uniform;
  const double chance = uniform(stream);
  if (performance <= 0) return chance < 0.5 ? "grit" : chance < 0.8 ? "crust" : "roots";
  if (performance < 0.8) return chance < 0.6 ? "slime" : chance < 0.9 ? "grit" : "crust";
  return "nothing";
}

/// One crew at one lateral.
class Digging {
 public:
  Digging(const SimulatedField& field, const Transform& to_lonlat, int lateral, Point shift_m)
      : field_(field),
        to_lonlat_(to_lonlat),
        index_(lateral),
        lateral_(field.laterals[static_cast<std::size_t>(lateral)]),
        shift_m_(shift_m),
        stream_(
            item_stream(field.plan.seed, {digging_stream, static_cast<std::uint64_t>(lateral)})) {}

  void dig(std::vector<CaughtEmitter>& caught) {
    int number = 0;
    const auto pits = pits_of(field_.plan, static_cast<int>(lateral_.emitters.size()), stream_);
    for (const std::vector<int>& pit : pits) {
      const std::string name = fmt::format("{}", ++number);
      const bool declared =
          !field_.plan.gps_only && uniform_(stream_) >= field_.plan.gps_only_share;
      for (std::size_t place = 0; place < pit.size(); ++place) {
        CaughtEmitter one = found_at(pit[place]);
        one.pit = name;
        one.place_in_pit = static_cast<int>(place) + 1;
        one.declared = declared;
        catch_water(one, caught);
      }
    }
  }

 private:
  const SimulatedEmitter& truth(const CaughtEmitter& one) const {
    return lateral_.emitters[static_cast<std::size_t>(one.emitter - 1)];
  }

  CaughtEmitter found_at(int emitter) {
    const SimulationPlan& plan = field_.plan;
    CaughtEmitter one;
    one.lateral = index_;
    one.emitter = emitter;
    const double most_m = 0.2 * plan.emitter_spacing_m;
    one.station_m =
        truth(one).station_m + std::clamp(tape_sd_m * normal_(stream_), -most_m, most_m);
    const double noise_m = plan.gps_accuracy_m * std::sqrt(1 - common_variance_share);
    const double east_m = shift_m_.x + noise_m * normal_(stream_);
    const double north_m = shift_m_.y + noise_m * normal_(stream_);
    const Point place =
        field_.frame.to_grid(field_.along_of(truth(one).station_m), lateral_.across_m);
    one.fix_lonlat =
        to_lonlat_({place.x + east_m * field_.frame.scale, place.y + north_m * field_.frame.scale});
    one.seen = what_is_seen(truth(one).performance, stream_);
    if (uniform_(stream_) < pit_pressure_share) {
      one.pressure_kpa =
          std::max(0.0, truth(one).pressure_kpa + plan.gauge_accuracy_kpa * normal_(stream_));
    }
    return one;
  }

  void catch_water(CaughtEmitter one, std::vector<CaughtEmitter>& caught) {
    const SimulationPlan& plan = field_.plan;
    const double chance = uniform_(stream_);
    if (chance < not_found_share) {
      one.state = "not_found";
      one.seen.clear();
      one.note = "no emitter within reach of the pit";
      one.pressure_kpa = -1;
      caught.push_back(one);
      return;
    }
    const bool damaged = chance < not_found_share + damaged_share;
    const double full_lph = plan.discharge_lph;
    const double discharge_lph = damaged ? 2.4 * full_lph : truth(one).discharge_lph;
    one.state = damaged                          ? "dug_damage"
                : discharge_lph <= 0             ? "none"
                : discharge_lph < full_lph * 0.2 ? "drips"
                                                 : "runs";
    if (damaged) one.note = "nicked by the spade";
    const int replicates = !damaged && uniform_(stream_) < plan.replicate_share ? 2 : 1;
    for (int replicate = 1; replicate <= replicates; ++replicate) {
      const double true_ml = discharge_lph * plan.duration_s / 3.6;
      one.replicate = replicate;
      one.volume_ml = std::max(0.0, rounded(true_ml * (1 + plan.measuring_cv * normal_(stream_)),
                                            plan.volume_graduation_ml));
      caught.push_back(one);
    }
  }

  const SimulatedField& field_;
  const Transform& to_lonlat_;
  int index_;
  const SimulatedLateral& lateral_;
  Point shift_m_;
  std::mt19937_64 stream_;
  Normal normal_;
  Uniform uniform_;
};

/// Pits numbered through the field, so that a name tells nothing of the lateral.
std::vector<CaughtEmitter> with_numbered_pits(std::vector<CaughtEmitter> caught) {
  int number = 0;
  std::pair<int, std::string> last{-1, ""};
  for (CaughtEmitter& one : caught) {
    std::pair<int, std::string> here{one.lateral, one.pit};
    if (here != last) ++number;
    last = std::move(here);
    one.pit = fmt::format("P{:03}", number);
  }
  return caught;
}

Point common_shift_m(const SimulationPlan& plan) {
  auto stream = item_stream(plan.seed, {day_stream});
  Normal normal(0, plan.gps_accuracy_m * std::sqrt(common_variance_share));
  const double east = normal(stream);
  return {east, normal(stream)};
}

/// A number in the unit of the plan's system, with the digits that a tape shows.
std::string station_text(const SimulationPlan& plan, double station_m) {
  if (!plan.us_units) return fmt::format("{:.2f}", station_m);
  return fmt::format("{:.1f}", from_canonical(station_m, "ft", Dimension::length));
}

}  // namespace

std::vector<CaughtEmitter> caught_emitters(const SimulatedField& field) {
  const Transform to_lonlat(field.frame.crs, wgs84());
  const Point shift_m = common_shift_m(field.plan);
  std::vector<CaughtEmitter> caught;
  for (int zone = 0; zone < field.plan.zones; ++zone) {
    for (const int lateral : laterals_to_dig(field, zone)) {
      Digging(field, to_lonlat, lateral, shift_m).dig(caught);
    }
  }
  return with_numbered_pits(std::move(caught));
}

std::string catch_can_table(const SimulatedField& field, const std::vector<CaughtEmitter>& caught) {
  const SimulationPlan& plan = field.plan;
  std::string table = fmt::format(
      "record,lateral,station_{},lat,lon,pit,place_in_pit,replicate,volume_ml,duration_s,"
      "pressure_{},state,seen,note\n",
      plan.us_units ? "ft" : "m", plan.us_units ? "psi" : "kpa");
  int record = 0;
  for (const CaughtEmitter& one : caught) {
    const std::string& lateral = field.laterals[static_cast<std::size_t>(one.lateral)].id;
    const bool found = one.state != "not_found";
    table += fmt::format("{},{},{},{:.7f},{:.7f},{},{},{},{},{},{},{},{},{}\n", ++record,
                         one.declared ? lateral : "",
                         one.declared ? station_text(plan, one.station_m) : "", one.fix_lonlat.y,
                         one.fix_lonlat.x, one.pit, one.place_in_pit, one.replicate,
                         found ? fmt::format("{:.0f}", one.volume_ml) : "",
                         found ? fmt::format("{:.0f}", plan.duration_s) : "",
                         one.pressure_kpa < 0 ? "" : pressure_text(plan, one.pressure_kpa),
                         one.state, one.seen, one.note);
  }
  return table;
}

}  // namespace evendrip
