// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/line_candidates.hpp"

#include "evendrip/base/median.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/surface/mean_bearing.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <set>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t fewest_for_all = 10;
constexpr std::size_t fewest_for_one_effect = 6;

/// What the laterals of the sampled zones look like.
struct Lay {
  double length_m = 100;  ///< median
  double spacing_m = 1;   ///< median distance from one to the next
  double breadth_m = 0;   ///< from the first to the last
  double bearing_deg = 0;
  bool one_way = false;
};

/// Distances across the bearing of the middles of the laterals of one zone, ascending.
std::vector<double> across_m(const std::vector<const Lateral*>& laterals, double bearing_deg) {
  const double angle = bearing_deg * std::numbers::pi / 180;
  std::vector<double> out;
  for (const Lateral* lateral : laterals) {
    const Point middle = point_at(lateral->line, length_m(lateral->line) / 2);
    out.push_back(middle.x * std::cos(angle) - middle.y * std::sin(angle));
  }
  std::sort(out.begin(), out.end());
  return out;
}

Lay lay_of(const Field& field, const std::set<int>& zones) {
  std::map<int, std::vector<const Lateral*>> by_zone;
  std::vector<double> lengths;
  MeanBearing bearing;
  for (const Lateral& lateral : field.laterals) {
    if (!zones.contains(lateral.zone) || lateral.line.size() < 2) continue;
    by_zone[lateral.zone].push_back(&lateral);
    lengths.push_back(lateral.length_m);
    bearing.add(bearing_deg(lateral.line));
  }
  Lay lay;
  if (lengths.empty()) return lay;
  lay.length_m = std::max(median_of(lengths), 1.0);
  lay.one_way = bearing.known();
  lay.bearing_deg = bearing.degrees();
  std::vector<double> gaps;
  for (const auto& [zone, laterals] : by_zone) {
    const std::vector<double> across = across_m(laterals, lay.bearing_deg);
    lay.breadth_m = std::max(lay.breadth_m, across.back() - across.front());
    for (std::size_t i = 1; i < across.size(); ++i) gaps.push_back(across[i] - across[i - 1]);
  }
  if (!gaps.empty()) lay.spacing_m = std::max(median_of(gaps), 0.1);
  return lay;
}

/// Spread within zones, and how much of it nobody knew before.
struct FirstVariance {
  double whole = 0;
  double unknown = 0;
};
FirstVariance first_variance(const Samples& samples) {
  std::map<int, std::pair<double, int>> zones;
  double noise = 0;
  double level = 0;
  for (const Sample& sample : samples) {
    auto& [sum, count] = zones[sample.site.zone];
    sum += sample.value;
    ++count;
    noise += sample.noise_variance / static_cast<double>(samples.size());
    level = std::max(level, std::abs(sample.value));
  }
  double squares = 0;
  for (const Sample& sample : samples) {
    const auto& [sum, count] = zones[sample.site.zone];
    squares += std::pow(sample.value - sum / count, 2);
  }
  const double freedom =
      std::max(1.0, static_cast<double>(samples.size()) - static_cast<double>(zones.size()));
  const double least = std::max(1e-8 * level * level, 1e-12);
  const double whole = std::max(squares / freedom, least);
  return {whole, std::max(whole - noise, 0.1 * whole)};
}

/// A term that has no value outside the zones with samples.
TrendTerm only_in(const std::set<int>& zones, const TrendTerm& term) {
  return {term.name, [zones, term](std::span<const Site> sites, std::span<double> out) {
            term.fill(sites, out);
            for (std::size_t i = 0; i < sites.size(); ++i)
              if (!zones.contains(sites[i].zone)) out[i] = nan;
          }};
}

SurfaceTrend zone_means(const Field& field, const std::set<int>& zones) {
  if (zones.contains(-1)) return {constant_term()};
  if (zones.size() == 1) {
    TrendTerm mean = only_in(zones, constant_term());
    return {mean};
  }
  SurfaceTrend trend;
  for (const int zone : zones) trend.push_back(only_in(zones, zone_term(field, zone)));
  return trend;
}

/// Puts candidates together from what the field allows.
class Maker {
 public:
  Maker(const Field& field, const Samples& samples) : field_(field) {
    std::set<int> zones;
    std::map<int, int> laterals;
    on_laterals_ = true;
    for (const Sample& sample : samples) {
      zones.insert(sample.site.zone);
      on_laterals_ = on_laterals_ && sample.site.lateral >= 0;
      ++laterals[sample.site.lateral];
    }
    in_zones_ = !zones.contains(-1);
    several_on_one_ =
        std::any_of(laterals.begin(), laterals.end(), [](const auto& l) { return l.second > 1; });
    means_ = zone_means(field, zones);
    lay_ = lay_of(field, zones);
    variance_ = first_variance(samples);
    count_ = samples.size();
  }
  std::vector<Candidate> all() const;

 private:
  using Terms = std::vector<CovarianceTerm>;
  enum class Along { nothing, station, near_end };

  CovarianceTerm lateral() const { return {"laterals", 1, {{Metric::same_lateral}}}; }
  CovarianceTerm along() const {
    return {"along the lateral", 1, {factor(Metric::along_lateral, lay_.length_m / 2)}};
  }
  CovarianceTerm groups() const {
    return in_one_zone({"groups of laterals", 1, {factor(Metric::across, across_range_m())}});
  }
  CovarianceTerm local() const {
    CorrelationFactor plane = factor(Metric::plane, lay_.length_m / 6);
    if (lay_.one_way) {
      plane.azimuth_deg = lay_.bearing_deg;
      plane.ratio = 0.5;
    }
    return in_one_zone({"local", 1, {plane}});
  }
  double across_range_m() const { return std::max(3 * lay_.spacing_m, lay_.breadth_m / 6); }
  CorrelationFactor factor(Metric metric, double range_m) const {
    return {metric, VariogramShape::exponential, range_m, lay_.bearing_deg, 1};
  }
  /// Samples in no zone share a plane without limits.
  CovarianceTerm in_one_zone(CovarianceTerm term) const {
    if (in_zones_) term.factors.push_back({Metric::same_zone});
    return term;
  }
  Candidate made(std::string name, Along trend, Terms terms) const;

  const Field& field_;
  SurfaceTrend means_;
  Lay lay_;
  FirstVariance variance_;
  std::size_t count_ = 0;
  bool on_laterals_ = false;
  bool in_zones_ = false;
  bool several_on_one_ = false;
};

Candidate Maker::made(std::string name, Along trend, Terms terms) const {
  SurfaceModel form;
  form.trend = means_;
  if (trend == Along::station) form.trend.push_back(station_term(field_, 1));
  if (trend == Along::near_end) form.trend.push_back(near_end_term(field_, lay_.length_m / 5));
  for (CovarianceTerm& term : terms)
    term.variance = variance_.unknown / static_cast<double>(terms.size() + 1);
  form.nugget = variance_.unknown / static_cast<double>(terms.size() + 1);
  form.covariance.terms = std::move(terms);
  return {std::move(name), std::move(form)};
}

std::vector<Candidate> Maker::all() const {
  const bool enough = count_ >= fewest_for_all;
  const bool by_lateral = on_laterals_ && several_on_one_;
  const bool across = on_laterals_ && lay_.one_way && lay_.breadth_m > 0;
  std::vector<Candidate> out{made("mean", Along::nothing, {})};
  const auto add = [&](bool possible, std::string name, Along trend, Terms terms) {
    if (possible) out.push_back(made(std::move(name), trend, std::move(terms)));
  };
  using enum Along;
  add(on_laterals_ && count_ >= fewest_for_one_effect, "station", station, {});
  add(on_laterals_ && enough, "far end", near_end, {});
  add(by_lateral && count_ >= fewest_for_one_effect, "laterals", nothing, {lateral()});
  if (!enough) return out;
  add(by_lateral, "along the lateral", nothing, {along()});
  add(across, "groups of laterals", nothing, {groups()});
  add(true, "local", nothing, {local()});
  add(by_lateral, "far end and laterals", near_end, {lateral()});
  add(on_laterals_, "far end and local", near_end, {local()});
  add(by_lateral, "local and laterals", nothing, {local(), lateral()});
  return out;
}

}  // namespace

std::vector<Candidate> line_candidates(const Field& field, const Samples& samples) {
  if (samples.empty()) throw std::invalid_argument("no samples to make models for");
  return Maker(field, samples).all();
}

}  // namespace evendrip
