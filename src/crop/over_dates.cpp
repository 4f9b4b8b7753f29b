// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/over_dates.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();

/// A date, or a season made of several, with what is joined of it.
struct Member {
  JoinedDate date;
  Raster relative;
  std::map<std::string, double> zones;  ///< relative mean by name
  std::map<std::string, double> laterals;
};

Raster whole(const RasterReader& reader) {
  const Grid& grid = reader.grid();
  return reader.read({0, 0, grid.rows, grid.columns});
}

std::map<std::string, double> means_of(std::span<const CropStatistics> statistics) {
  std::map<std::string, double> means;
  for (const CropStatistics& s : statistics) {
    if (s.values.weight_cells > 0) means.emplace(s.name, s.relative_mean);
  }
  return means;
}

Member member_of(const DatedCrop& layer) {
  return {{layer.date.empty() ? layer.layer : layer.date, layer.layer},
          whole(*layer.relative),
          means_of(layer.zones),
          means_of(layer.laterals)};
}

std::vector<Raster> rasters_of(std::span<const Member> members) {
  std::vector<Raster> rasters;
  for (const Member& member : members) rasters.push_back(member.relative);
  return rasters;
}

Raster counts_of_low(std::span<const Member> members, const StabilityMap& stability, double limit) {
  Raster counts = stability.level;
  for (std::size_t i = 0; i < counts.values.size(); ++i) {
    if (!counts.has_value(i)) continue;
    const auto low = std::count_if(members.begin(), members.end(), [&](const Member& member) {
      return member.relative.has_value(i) && double{member.relative.values[i]} < limit;
    });
    counts.set(i, static_cast<double>(low));
  }
  return counts;
}

/// Cells inside zones that have a value on every date.
std::vector<std::size_t> seen_cells(const Field& field, std::span<const Member> members) {
  const Grid& grid = members.front().relative.grid;
  const std::vector<int> zones = zones_of_cells(field, grid, {0, 0, grid.rows, grid.columns});
  std::vector<std::size_t> cells;
  for (std::size_t i = 0; i < zones.size(); ++i) {
    const bool seen =
        zones[i] >= 0 && std::all_of(members.begin(), members.end(),
                                     [&](const auto& m) { return m.relative.has_value(i); });
    if (seen) cells.push_back(i);
  }
  return cells;
}

std::vector<double> shares_low(std::size_t dates, const Raster& low_dates,
                               std::span<const std::size_t> cells) {
  if (cells.empty()) return {};
  std::vector<double> shares(dates + 1, 0.0);
  for (const std::size_t i : cells) ++shares[static_cast<std::size_t>(low_dates.values[i])];
  for (double& share : shares) share /= static_cast<double>(cells.size());
  return shares;
}

/// Intraclass correlation over cells that have a value on every date.
double steady_share(std::size_t dates, const StabilityMap& stability,
                    std::span<const std::size_t> cells) {
  if (cells.size() < 2) return 0;
  const auto n = static_cast<double>(dates);
  const auto count = static_cast<double>(cells.size());
  double mean = 0;
  for (const std::size_t i : cells) mean += double{stability.level.values[i]} / count;
  double between = 0;
  double within = 0;
  for (const std::size_t i : cells) {
    const double step = double{stability.level.values[i]} - mean;
    const double change = double{stability.variation.values[i]};
    between += n * step * step / (count - 1);
    within += change * change / count;
  }
  const double all = between + (n - 1) * within;
  return all > 0 ? std::max(0.0, (between - within) / all) : 0;
}

double median_at(const Raster& raster, std::span<const std::size_t> cells) {
  std::vector<double> values;
  values.reserve(cells.size());
  for (const std::size_t i : cells) values.push_back(double{raster.values[i]});
  return median_of(std::move(values));
}

/// Level and variation of a place from its means.
void summarise(double limit, PlaceOverDates& place) {
  double squares = 0;
  for (const double value : place.each) {
    if (std::isnan(value)) continue;
    const double step = value - place.level;
    place.level += step / ++place.dates;
    squares += step * (value - place.level);
    if (value < limit) ++place.low;
  }
  place.variation = place.dates > 1 ? std::sqrt(squares / (place.dates - 1)) : no_number;
}

/// Zones or laterals, in the order of the first layer.
std::vector<PlaceOverDates> places_over(std::span<const Member> members,
                                        std::span<const CropStatistics> order,
                                        std::map<std::string, double> Member::*means,
                                        double limit) {
  std::vector<PlaceOverDates> places;
  for (const CropStatistics& one : order) {
    PlaceOverDates place;
    place.name = one.name;
    place.zone = one.zone;
    place.lateral = one.lateral;
    for (const Member& member : members) {
      const auto found = (member.*means).find(one.name);
      place.each.push_back(found == (member.*means).end() ? no_number : found->second);
    }
    summarise(limit, place);
    places.push_back(std::move(place));
  }
  return places;
}

std::string noun_of(const std::string& kind) {
  return kind == "canopy_temperature" ? "canopy temperature" : kind;
}

CropOverDates joined(const Field& field, const std::vector<Member>& members, const DatedCrop& first,
                     const std::string& season) {
  const double limit = field.thresholds.crop_low_below;
  CropOverDates out;
  out.kind = first.kind;
  out.season = season;
  out.id = season.empty() ? out.kind : out.kind + "_" + season;
  for (const Member& member : members) out.dates.push_back(member.date);
  out.stability = stability_of(rasters_of(members));
  out.stability.method_text = fmt::format(
      "mean and standard deviation of the relative {} over {} {}, where at least two have a value",
      noun_of(out.kind), members.size(), season.empty() ? "seasons" : "dates");
  out.low_dates = counts_of_low(members, out.stability, limit);
  const std::vector<std::size_t> cells = seen_cells(field, members);
  out.share_low_on = shares_low(members.size(), out.low_dates, cells);
  out.steady_share = steady_share(members.size(), out.stability, cells);
  out.median_variation = median_at(out.stability.variation, cells);
  out.zones = places_over(members, first.zones, &Member::zones, limit);
  out.laterals = places_over(members, first.laterals, &Member::laterals, limit);
  return out;
}

/// Means of what the members say of each place.
std::map<std::string, double> mean_by_name(std::span<const Member> members,
                                           std::map<std::string, double> Member::*means) {
  std::map<std::string, std::pair<double, int>> sums;
  for (const Member& member : members) {
    for (const auto& [name, value] : member.*means) {
      sums[name].first += value;
      ++sums[name].second;
    }
  }
  std::map<std::string, double> result;
  for (const auto& [name, sum] : sums) result[name] = sum.first / sum.second;
  return result;
}

/// Mean of the dates of a season where there is any.
Raster mean_of(std::span<const Member> members) {
  Raster mean = members.front().relative;
  for (std::size_t i = 0; i < mean.values.size(); ++i) {
    double sum = 0;
    int count = 0;
    for (const Member& member : members) {
      if (!member.relative.has_value(i)) continue;
      sum += double{member.relative.values[i]};
      ++count;
    }
    if (count > 0) mean.set(i, sum / count);
  }
  return mean;
}

Member season_as_one(const std::string& season, std::vector<Member> dates) {
  if (dates.size() == 1) {
    Member one = std::move(dates.front());
    one.date.name = season;
    return one;
  }
  Member all{{season, ""},
             mean_of(dates),
             mean_by_name(dates, &Member::zones),
             mean_by_name(dates, &Member::laterals)};
  for (const Member& date : dates)
    all.date.layers += (all.date.layers.empty() ? "" : ", ") + date.date.layers;
  return all;
}

/// Layers of one kind by season, each date once, dates ascending.
using Seasons = std::map<std::string, std::vector<const DatedCrop*>>;

Seasons seasons_of_kind(std::span<const DatedCrop> layers, const std::string& kind, bool southern) {
  Seasons seasons;
  for (const DatedCrop& layer : layers) {
    if (layer.kind != kind) continue;
    auto& dates = seasons[layer.date.size() < 7 ? layer.layer : season_of(layer.date, southern)];
    const bool known = std::any_of(dates.begin(), dates.end(), [&](const DatedCrop* other) {
      return other->date == layer.date || kind == "yield";
    });
    if (!known) dates.push_back(&layer);
  }
  for (auto& [season, dates] : seasons) {
    std::stable_sort(dates.begin(), dates.end(),
                     [](const auto* a, const auto* b) { return a->date < b->date; });
  }
  return seasons;
}

void join_kind(const Field& field, const Seasons& seasons, std::vector<CropOverDates>& all) {
  std::vector<Member> years;
  for (const auto& [season, layers] : seasons) {
    std::vector<Member> dates;
    for (const DatedCrop* layer : layers) dates.push_back(member_of(*layer));
    if (dates.size() > 1) all.push_back(joined(field, dates, *layers.front(), season));
    if (seasons.size() > 1) years.push_back(season_as_one(season, std::move(dates)));
  }
  if (years.size() > 1) all.push_back(joined(field, years, *seasons.begin()->second.front(), ""));
}

}  // namespace

std::string season_of(const std::string& date, bool southern) {
  const int year = std::stoi(date.substr(0, 4));
  if (!southern) return fmt::format("{}", year);
  const int begins = std::stoi(date.substr(5, 2)) >= 7 ? year : year - 1;
  return fmt::format("{}-{:02}", begins, (begins + 1) % 100);
}

std::vector<CropOverDates> over_dates(const Field& field, std::span<const DatedCrop> layers,
                                      bool southern) {
  std::vector<std::string> kinds;
  for (const DatedCrop& layer : layers) {
    if (std::find(kinds.begin(), kinds.end(), layer.kind) == kinds.end())
      kinds.push_back(layer.kind);
  }
  std::vector<CropOverDates> all;
  for (const std::string& kind : kinds)
    join_kind(field, seasons_of_kind(layers, kind, southern), all);
  return all;
}

std::string low_on(const CropOverDates& joined, const PlaceOverDates& place) {
  const bool seasons = joined.season.empty();
  return fmt::format("low {} {} of {} {}", seasons ? "in" : "on", place.low, place.dates,
                     seasons ? "seasons" : "dates");
}

}  // namespace evendrip
