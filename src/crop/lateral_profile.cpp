// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/lateral_profile.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

#include "evendrip/crop/zonal.hpp"
#include "evendrip/geo/line.hpp"
#include "ordered_laterals.hpp"
#include "strips.hpp"

namespace evendrip {
namespace {

constexpr double bins_along = 20;
constexpr double cells_in_bin = 2;
constexpr double least_share_with_values = 0.5;
constexpr double least_share_of_length = 0.5;
constexpr std::size_t fewest_bins = 3;

struct Piece {
  int lateral = -1;
  double from_m = 0;
  double to_m = 0;
  double middle_m() const { return 0.5 * (from_m + to_m); }
};

std::vector<CoverageStatistics> statistics_of(const Field& field, const RasterReader& relative,
                                              const std::vector<Piece>& pieces, const Work& work) {
  const LateralStrips strips(field);
  std::vector<MultiPolygon> shapes(pieces.size());
  for_each_chunk(
      without_progress(work), pieces.size(), 64, [&](std::size_t begin, std::size_t end, int) {
        for (std::size_t i = begin; i < end; ++i)
          shapes[i] = strips.between(pieces[i].lateral, pieces[i].from_m, pieces[i].to_m);
      });
  return statistics_under(relative, shapes, work);
}

double share_with_values(const CoverageStatistics& statistics) {
  const double all = statistics.weight_cells + statistics.missing_cells;
  return all > 0 ? statistics.weight_cells / all : 0;
}

double bin_length_m(const Field& field, const std::vector<int>& laterals, double cell_m) {
  double longest = 0;
  for (const int i : laterals)
    longest = std::max(longest, field.laterals[static_cast<std::size_t>(i)].length_m);
  return std::max(longest / bins_along, cells_in_bin * cell_m / field.scale_factor);
}

/// Bins of one length; what is left at the end is a bin if it is longer than half of one.
std::vector<Piece> bins_of(const Field& field, int lateral, double bin_m) {
  const double end_m = field.laterals[static_cast<std::size_t>(lateral)].length_m;
  std::vector<Piece> pieces;
  for (int k = 0; k * bin_m + 0.5 * bin_m < end_m; ++k)
    pieces.push_back({lateral, k * bin_m, std::min((k + 1) * bin_m, end_m)});
  return pieces;
}

/// A bin of a lateral with what grows there.
struct Seen {
  double station_m = 0;
  double mean = 0;
  double weight = 0;
};

/// How far along the way of the water, 0 where it enters to 1 at the far end.
double way_of(double station_m, double end_m, LateralEnds ends) {
  if (ends == LateralEnds::both_fed) return std::min(station_m, end_m - station_m) / (0.5 * end_m);
  return station_m / end_m;
}

struct LateralFall {
  double fall = 0;
  double tail_level = 1;
};

struct WeightedMean {
  double weight = 0;
  double sum = 0;
  void add(double value, double w) {
    weight += w;
    sum += w * value;
  }
  double value() const { return weight > 0 ? sum / weight : 0; }
};

/// Last quarter of the way over the first half; 1 where either is not seen.
double tail_level_of(const std::vector<Seen>& bins, double end_m, LateralEnds ends) {
  WeightedMean first_half;
  WeightedMean last_quarter;
  for (const Seen& bin : bins) {
    const double way = way_of(bin.station_m, end_m, ends);
    if (way <= 0.5) first_half.add(bin.mean, bin.weight);
    if (way >= 0.75) last_quarter.add(bin.mean, bin.weight);
  }
  const bool seen = first_half.value() > 0 && last_quarter.weight > 0;
  return seen ? last_quarter.value() / first_half.value() : 1;
}

/// Without the bins of headlands.
std::optional<LateralFall> fall_of(std::vector<Seen> bins, double end_m, double headland_m,
                                   LateralEnds ends) {
  std::erase_if(bins, [&](const Seen& bin) {
    return bin.station_m < headland_m || bin.station_m > end_m - headland_m;
  });
  if (bins.size() < fewest_bins) return {};
  if (bins.back().station_m - bins.front().station_m < least_share_of_length * end_m) return {};
  WeightedMean way;
  WeightedMean crop;
  for (const Seen& bin : bins) {
    way.add(way_of(bin.station_m, end_m, ends), bin.weight);
    crop.add(bin.mean, bin.weight);
  }
  double spread = 0;
  double product = 0;
  for (const Seen& bin : bins) {
    const double step = way_of(bin.station_m, end_m, ends) - way.value();
    spread += bin.weight * step * step;
    product += bin.weight * step * (bin.mean - crop.value());
  }
  if (!(spread > 0) || !(crop.value() > 0)) return {};
  return LateralFall{-product / spread / crop.value(), tail_level_of(bins, end_m, ends)};
}

std::string percent(double share) {
  return fmt::format("{:.0f} %", 100 * share);
}

std::string way_text(LateralEnds ends) {
  return ends == LateralEnds::both_fed ? "from the fed ends to the middle"
                                       : "from the supply end to the far end";
}

std::string fall_verdict(const LateralProfile& profile, const std::string& zone, LateralEnds ends) {
  if (profile.laterals == 0)
    return fmt::format("Zone {}: no lateral shows enough of the crop to tell a fall.", zone);
  const std::string way = way_text(ends);
  if (!profile.known)
    return fmt::format(
        "Zone {}: on {} laterals the crop changes by {} {}; so few do not tell whether "
        "that is chance.",
        zone, profile.laterals, percent(-profile.fall), way);
  const auto limits = [](double low, double high) {
    return fmt::format("({:.0f} to {:.0f} %)", 100 * low, 100 * high);
  };
  if (profile.fall_lower_90 > 0)
    return fmt::format(
        "Zone {}: the crop falls by {} {}, {} laterals averaged; the last quarter "
        "stands at {} of the first half.",
        zone, percent(profile.fall) + " " + limits(profile.fall_lower_90, profile.fall_upper_90),
        way, profile.laterals, percent(profile.tail_level));
  if (profile.fall_upper_90 < 0)
    return fmt::format(
        "Zone {}: the crop rises by {} {}, {} laterals averaged.", zone,
        percent(-profile.fall) + " " + limits(-profile.fall_upper_90, -profile.fall_lower_90), way,
        profile.laterals);
  return fmt::format("Zone {}: no fall {} can be told ({}, 90 % limits {:.0f} to {:.0f} %).", zone,
                     way, percent(profile.fall), 100 * profile.fall_lower_90,
                     100 * profile.fall_upper_90);
}

std::string verdict_of(const LateralProfile& profile, const Field& field) {
  const Zone& zone = field.zones[static_cast<std::size_t>(profile.zone)];
  std::string verdict = fall_verdict(profile, zone.id, zone.lateral.ends);
  if (profile.odd.empty()) return verdict;
  const auto id = [&](int lateral) { return field.laterals[static_cast<std::size_t>(lateral)].id; };
  const std::string first = id(profile.odd.front());
  return verdict + (profile.odd.size() == 1
                        ? fmt::format(" Lateral {} is far from most and set aside.", first)
                        : fmt::format(" {} laterals between {} and {} are far from most and set "
                                      "aside.",
                                      profile.odd.size(), first, id(profile.odd.back())));
}

/// One zone's laterals, in order across, with their bins.
struct ZoneBins {
  std::vector<int> laterals;
  double bin_m = 0;
  std::vector<std::vector<Seen>> seen;  ///< of each lateral
};

std::vector<ProfileBin> means_by_bin(const ZoneBins& zone) {
  std::size_t bins = 0;
  const auto bin_of = [&](const Seen& s) {
    return static_cast<std::size_t>(s.station_m / zone.bin_m);
  };
  for (const auto& seen : zone.seen)
    for (const Seen& s : seen) bins = std::max(bins, bin_of(s) + 1);
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  std::vector<std::vector<double>> values(bins, std::vector<double>(zone.seen.size(), none));
  std::vector<int> count(bins, 0);
  for (std::size_t i = 0; i < zone.seen.size(); ++i)
    for (const Seen& s : zone.seen[i]) {
      values[bin_of(s)][i] = s.mean;
      ++count[bin_of(s)];
    }
  std::vector<ProfileBin> result;
  for (std::size_t b = 0; b < bins; ++b) {
    if (count[b] == 0) continue;
    const OrderedMean mean = mean_of_neighbours(values[b]);
    result.push_back({(static_cast<double>(b) + 0.5) * zone.bin_m, mean.mean, mean.lower_90,
                      mean.upper_90, count[b]});
  }
  return result;
}

LateralProfile profile_of(const Field& field, int z, const ZoneBins& zone, double headland_m) {
  const Zone& own = field.zones[static_cast<std::size_t>(z)];
  LateralProfile profile;
  profile.zone = z;
  profile.bins = means_by_bin(zone);
  std::vector<double> falls(zone.laterals.size(), std::numeric_limits<double>::quiet_NaN());
  std::vector<double> tails(falls.size(), 0);
  for (std::size_t i = 0; i < zone.laterals.size(); ++i) {
    const double end_m = field.laterals[static_cast<std::size_t>(zone.laterals[i])].length_m;
    const auto fall = fall_of(zone.seen[i], end_m, headland_m, own.lateral.ends);
    if (!fall) continue;
    falls[i] = fall->fall;
    tails[i] = fall->tail_level;
  }
  const OrderedMean fall = mean_of_neighbours(falls);
  for (const std::size_t i : fall.odd) {
    profile.odd.push_back(zone.laterals[i]);
    falls[i] = std::numeric_limits<double>::quiet_NaN();
  }
  double tail = 0;
  for (std::size_t i = 0; i < falls.size(); ++i) {
    if (!std::isfinite(falls[i])) continue;
    ++profile.laterals;
    tail += tails[i];
  }
  if (profile.laterals > 0) {
    profile.effective_laterals = fall.effective;
    profile.known = fall.known;
    profile.fall = fall.mean;
    profile.fall_lower_90 = fall.lower_90;
    profile.fall_upper_90 = fall.upper_90;
    profile.tail_level = tail / profile.laterals;
  }
  profile.verdict = verdict_of(profile, field);
  return profile;
}

}  // namespace

std::vector<LateralProfile> lateral_profiles(const Field& field, const RasterReader& relative,
                                             double headland_m, const Work& work) {
  std::vector<ZoneBins> zones(field.zones.size());
  std::vector<Piece> pieces;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    zones[z].laterals = ordered_laterals(field, static_cast<int>(z));
    zones[z].bin_m = bin_length_m(field, zones[z].laterals, relative.grid().cell_m);
    for (const int lateral : zones[z].laterals) {
      const std::vector<Piece> own = bins_of(field, lateral, zones[z].bin_m);
      pieces.insert(pieces.end(), own.begin(), own.end());
    }
  }
  const std::vector<CoverageStatistics> found = statistics_of(field, relative, pieces, work);
  std::size_t next = 0;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    for (const int lateral : zones[z].laterals) {
      std::vector<Seen> seen;
      for (; next < pieces.size() && pieces[next].lateral == lateral; ++next) {
        if (share_with_values(found[next]) >= least_share_with_values)
          seen.push_back({pieces[next].middle_m(), found[next].mean, found[next].weight_cells});
      }
      zones[z].seen.push_back(std::move(seen));
    }
  }
  std::vector<LateralProfile> profiles(zones.size());
  for_each_chunk(without_progress(work), zones.size(), 1,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t z = begin; z < end; ++z)
                     if (!zones[z].laterals.empty())
                       profiles[z] = profile_of(field, static_cast<int>(z), zones[z], headland_m);
                 });
  std::erase_if(profiles, [](const LateralProfile& profile) { return profile.zone < 0; });
  return profiles;
}

std::vector<CropSegment> crop_by_segment(const Field& field, const RasterReader& relative,
                                         double segment_m, const Work& work) {
  if (!(segment_m > 0)) throw std::invalid_argument("segments need a length above 0");
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const double end_m = field.laterals[i].length_m;
    for (int k = 0; k * segment_m < end_m; ++k)
      pieces.push_back({static_cast<int>(i), k * segment_m, std::min((k + 1) * segment_m, end_m)});
  }
  const std::vector<CoverageStatistics> found = statistics_of(field, relative, pieces, work);
  std::vector<CropSegment> segments;
  segments.reserve(pieces.size());
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    segments.push_back({pieces[i].lateral, pieces[i].from_m, pieces[i].to_m, found[i].mean,
                        1 - share_with_values(found[i])});
  }
  return segments;
}

}  // namespace evendrip
