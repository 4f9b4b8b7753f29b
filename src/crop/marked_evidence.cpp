// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/evidence.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <map>
#include <numbers>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/geo/index.hpp"
#include "length_words.hpp"
#include "periodogram.hpp"

namespace evendrip {
namespace {

constexpr double places_in_period = 16;
constexpr double fullest_share = 1.0 / 3;
constexpr double widest_seen = 0.6;  ///< of the period, that a datum may span across
constexpr double same_width = 0.1;
constexpr int most_overtones = 4;
constexpr double level = 0.05;
constexpr std::size_t phases = 8;
constexpr std::size_t most_in_track = 2;  ///< of the phases: a quarter of the period
constexpr double quiet_beside_track = 0.35;
constexpr double two_pi = 2 * std::numbers::pi;

void mark(EvidenceDatum& datum, Mark why) {
  if (datum.mark == Mark::none) datum.mark = why;
  datum.marked = true;
}

/// Distance to the right of an axis through a place.
double across_of(Point p, Point origin, double axis_deg) {
  const double angle = axis_deg * std::numbers::pi / 180;
  return (p.x - origin.x) * std::cos(angle) - (p.y - origin.y) * std::sin(angle);
}

double wave_at(const MachineWave& wave, double across_m) {
  double sum = 0;
  for (std::size_t k = 0; k < wave.parts.size(); ++k) {
    const double angle = two_pi * static_cast<double>(k + 1) * across_m / wave.period_m;
    sum += wave.parts[k][0] * std::cos(angle) + wave.parts[k][1] * std::sin(angle);
  }
  return sum;
}

/// Means of the data over their median in narrow strips along the stripes, less each zone's trend.
struct Strips {
  std::vector<double> at_m;
  std::vector<double> rest;
};

struct Sums {
  double at = 0;
  double value = 0;
  double count = 0;
};

class StripeFit {
 public:
  StripeFit(CropEvidence& evidence, const Field& field, const MachineStripe& stripe)
      : evidence_(evidence), field_(field), stripe_(stripe) {
    const Extent extent = field.extent();
    wave_.origin = {extent.x_min, extent.y_max};
    wave_.axis_deg = stripe.axis_deg;
    wave_.zones = stripe.zones;
    wave_.period_m = stripe.width_m * field.scale_factor;
  }

  void apply() {
    if (stripe_.zones.empty() || !(evidence_.median > 0)) return;
    seen_m_ = seen_across_m() * field_.scale_factor;
    if (seen_m_ > widest_seen * wave_.period_m) return;
    find_zones();
    const Strips strips = strips_across();
    const Periodogram power(strips.at_m, strips.rest);
    if (!(power.span_m() > 0)) return;
    const double per_m = power.refined(1 / wave_.period_m);
    wave_.period_m = 1 / per_m;
    const std::vector<bool> track = track_of(strips);
    if (!track.empty()) return mark_track(track);
    fit(power, per_m);
    take_out();
  }

 private:
  double seen_across_m() const {
    const Footprint& typical = evidence_.typical;
    const double turn = (typical.heading_deg - stripe_.axis_deg) * std::numbers::pi / 180;
    return std::abs(typical.along_m * std::sin(turn)) + std::abs(typical.across_m * std::cos(turn));
  }

  /// Of each datum the zone among those through which the stripe runs, or -1.
  void find_zones() {
    std::vector<Extent> extents;
    extents.reserve(stripe_.zones.size());
    for (const int zone : stripe_.zones)
      extents.push_back(extent_of(field_.zones[static_cast<std::size_t>(zone)].area));
    zone_.assign(evidence_.data.size(), -1);
    for (std::size_t i = 0; i < zone_.size(); ++i) {
      const Point p = evidence_.data[i].place;
      for (std::size_t k = 0; k < extents.size() && zone_[i] < 0; ++k) {
        const int zone = stripe_.zones[k];
        if (extents[k].contains(p) &&
            contains(field_.zones[static_cast<std::size_t>(zone)].area, p))
          zone_[i] = zone;
      }
    }
  }

  Strips strips_across() const {
    std::map<std::pair<int, long>, Sums> sums;
    const double step_m = wave_.period_m / places_in_period;
    for (std::size_t i = 0; i < zone_.size(); ++i) {
      const EvidenceDatum& datum = evidence_.data[i];
      if (zone_[i] < 0 || datum.marked || !std::isfinite(datum.value)) continue;
      const double at = across_of(datum.place, wave_.origin, wave_.axis_deg);
      Sums& sum = sums[{zone_[i], std::lround(std::floor(at / step_m))}];
      sum.at += at;
      sum.value += datum.value / evidence_.median;
      sum.count += 1;
    }
    Strips strips;
    for (const int zone : stripe_.zones) add_zone(sums, zone, strips);
    return strips;
  }

  static void add_zone(const std::map<std::pair<int, long>, Sums>& sums, int zone, Strips& strips) {
    double fullest = 0;
    for (const auto& [key, sum] : sums)
      if (key.first == zone) fullest = std::max(fullest, sum.count);
    std::vector<double> at;
    std::vector<double> means;
    for (const auto& [key, sum] : sums) {
      if (key.first != zone || sum.count < fullest_share * fullest) continue;
      at.push_back(sum.at / sum.count);
      means.push_back(sum.value / sum.count);
    }
    const std::vector<double> rest = without_parabola(at, means);
    strips.at_m.insert(strips.at_m.end(), at.begin(), at.end());
    strips.rest.insert(strips.rest.end(), rest.begin(), rest.end());
  }

  std::size_t phase_of(double at_m) const {
    const double turns = at_m / wave_.period_m;
    return std::min(phases - 1, static_cast<std::size_t>((turns - std::floor(turns)) * phases));
  }

  /// Which phases differ from all others; none where they are more than a quarter of the period.
  std::vector<bool> track_of(const Strips& strips) const {
    std::array<Sums, phases> folded{};
    for (std::size_t i = 0; i < strips.at_m.size(); ++i) {
      Sums& sum = folded[phase_of(strips.at_m[i])];
      sum.value += strips.rest[i];
      sum.count += 1;
    }
    std::vector<double> off;
    for (const Sums& sum : folded) {
      if (!(sum.count > 0)) return {};
      off.push_back(sum.value / sum.count);
    }
    const double middle = median_of(off);
    for (double& value : off) value -= middle;
    const double most = *std::max_element(
        off.begin(), off.end(), [](double a, double b) { return std::abs(a) < std::abs(b); });
    std::vector<bool> track;
    track.reserve(off.size());
    for (const double value : off) track.push_back(value / most > 0.5);
    if (static_cast<std::size_t>(std::count(track.begin(), track.end(), true)) > most_in_track)
      return {};
    for (std::size_t k = 0; k < phases; ++k) {
      const bool beside = track[k] || track[(k + 1) % phases] || track[(k + phases - 1) % phases];
      if (!beside && std::abs(off[k]) > quiet_beside_track * std::abs(most)) return {};
    }
    return track;
  }

  void mark_track(const std::vector<bool>& track) {
    std::size_t marked = 0;
    for (std::size_t i = 0; i < zone_.size(); ++i) {
      EvidenceDatum& datum = evidence_.data[i];
      const double at = across_of(datum.place, wave_.origin, wave_.axis_deg);
      if (zone_[i] < 0 || !track[phase_of(at)]) continue;
      mark(datum, Mark::machine);
      ++marked;
    }
    evidence_.doubts.push_back(
        {"machine_tracks_marked",
         Severity::note,
         {},
         fmt::format("{} data on tracks that return every {} are marked and say nothing of "
                     "water",
                     marked, length_words(field_, wave_.period_m / field_.scale_factor)),
         "",
         "",
         ""});
  }

  void fit(const Periodogram& power, double per_m) {
    const double highest = 1 / std::max(2 * seen_m_, 2 * wave_.period_m / places_in_period);
    for (int k = 1; k <= most_overtones; ++k) {
      if (k > 1 && (k * per_m > highest || power.chance(k * per_m, highest) > level)) continue;
      const Periodogram::Wave part = power.wave(k * per_m);
      wave_.parts.resize(static_cast<std::size_t>(k));
      wave_.parts.back() = {part.cosine, part.sine};
    }
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    constexpr int steps = 72;
    for (int k = 0; k < steps; ++k) {
      const double value = wave_at(wave_, k * wave_.period_m / steps);
      low = std::min(low, value);
      high = std::max(high, value);
    }
    wave_.amplitude = 0.5 * (high - low);
    wave_.amplitude_error = amplitude_error(power, per_m);
    wave_.width_m = wave_.period_m / field_.scale_factor;
  }

  /// From the power beside the period: what chance explains there.
  double amplitude_error(const Periodogram& power, double per_m) const {
    double sum = 0;
    int count = 0;
    for (int step = 2; step <= 5; ++step)
      for (const double sign : {-1.0, 1.0}) {
        const double tried = per_m + sign * step / power.span_m();
        if (!(tried * power.span_m() >= 1.5)) continue;
        const double amplitude = power.wave(tried).amplitude();
        sum += amplitude * amplitude;
        ++count;
      }
    return count > 0 ? std::sqrt(0.5 * sum / count) : 0;
  }

  void take_out() {
    for (std::size_t i = 0; i < zone_.size(); ++i) {
      if (zone_[i] < 0) continue;
      EvidenceDatum& datum = evidence_.data[i];
      const double part = evidence_.median * wave_.at(datum.place);
      datum.value -= part;
      datum.taken_out += static_cast<float>(part);
    }
    std::string zones;
    for (const int zone : wave_.zones)
      zones += (zones.empty() ? "" : ", ") + field_.zones[static_cast<std::size_t>(zone)].id;
    wave_.told = fmt::format(
        "Stripes {} wide, {:.1f} % of the crop up and down (standard error {:.1f} %), were "
        "taken out of the values in {} {}: what water shares with them went with them.",
        length_words(field_, wave_.width_m), 100 * wave_.amplitude, 100 * wave_.amplitude_error,
        wave_.zones.size() == 1 ? "zone" : "zones", zones);
    evidence_.doubts.push_back(
        {"machine_stripes_taken_out", Severity::note, {}, wave_.told, "", "", ""});
    evidence_.waves.push_back(std::move(wave_));
  }

  CropEvidence& evidence_;
  const Field& field_;
  const MachineStripe& stripe_;
  MachineWave wave_;
  double seen_m_ = 0;
  std::vector<int> zone_;
};

/// One over a whole number of a wave that is taken out already, in the same zones.
bool is_overtone(const MachineStripe& stripe, const std::vector<MachineWave>& waves) {
  return std::any_of(waves.begin(), waves.end(), [&](const MachineWave& wave) {
    const double number = std::round(wave.width_m / stripe.width_m);
    if (number < 1 || number > static_cast<double>(wave.parts.size())) return false;
    return std::abs(wave.width_m / number / stripe.width_m - 1) < same_width &&
           wave.zones == stripe.zones;
  });
}

}  // namespace

double MachineWave::at(Point p) const {
  return wave_at(*this, across_of(p, origin, axis_deg));
}

std::string to_text(Mark mark) {
  switch (mark) {
    case Mark::none:
      return "";
    case Mark::headland:
      return "headland";
    case Mark::machine:
      return "machine";
  }
  return "";
}

void mark_headland(CropEvidence& evidence, const Field& field, double width_m) {
  if (!(width_m > 0)) return;
  std::vector<Line> lines;
  lines.reserve(field.laterals.size());
  for (const Lateral& lateral : field.laterals) lines.push_back(lateral.line);
  const LineIndex index(lines);
  for (EvidenceDatum& datum : evidence.data) {
    const std::vector<NearLine> near = index.nearest(datum.place, 1);
    if (near.empty()) continue;
    const auto lateral = static_cast<std::size_t>(near.front().line);
    const double station = near.front().projection.station_m / field.scale_factor;
    const double sees_m = 0.5 * datum.along_m + datum.blur_m;
    if (station < width_m + sees_m || station > field.laterals[lateral].length_m - width_m - sees_m)
      mark(datum, Mark::headland);
  }
}

void mark_machine_stripes(CropEvidence& evidence, const Field& field,
                          const std::vector<MachineStripe>& stripes) {
  for (const MachineStripe& stripe : stripes) {
    if (is_overtone(stripe, evidence.waves)) continue;
    StripeFit(evidence, field, stripe).apply();
  }
}

}  // namespace evendrip
