// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

#include "evendrip/base/dates.hpp"
#include "evendrip/maps/crop_sheets.hpp"
#include "sheet_parts.hpp"

namespace evendrip {
namespace {

PlotSeries look(std::size_t index, std::string name) {
  PlotSeries series = plot_look(index);
  series.name = std::move(name);
  return series;
}

PlotSeries lag_series(std::size_t index, std::string name, const std::vector<VariogramLag>& lags,
                      UnitSystem units) {
  const double length = from_canonical(1, report_unit(Dimension::length, units), Dimension::length);
  const double yield = from_canonical(1, report_unit(Dimension::yield, units), Dimension::yield);
  PlotSeries series = look(index, std::move(name));
  for (const VariogramLag& lag : lags) {
    series.points.push_back({lag.mean_distance_m * length, lag.semivariance * yield * yield});
  }
  return series;
}

PlotSeries limit_series(std::string name) {
  PlotSeries series = plot_look(3);
  series.mark = PlotMark::none;
  series.line = PlotLine::dashed;
  series.name = std::move(name);
  return series;
}

/// On the straight lines that join what was tried; nothing beyond its ends.
std::optional<double> curve_at(const TravelTime& travel_time, double at_s) {
  const std::vector<double>& x = travel_time.tried_s;
  const std::vector<double>& y = travel_time.disagreement;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (x[i] == at_s) return y[i];
    if (i > 0 && x[i - 1] < at_s && at_s < x[i]) {
      const double share = (at_s - x[i - 1]) / (x[i] - x[i - 1]);
      return y[i - 1] + share * (y[i] - y[i - 1]);
    }
  }
  return std::nullopt;
}

/// In the key and not at its end, where it would lie over the curve.
PlotSeries median_series(double from, double to) {
  PlotSeries series = limit_series("median of the field");
  series.line = PlotLine::dotted;
  series.colour = {0.25, 0.25, 0.25, 1};
  series.width_pt = 1.1;
  series.points = {{from, 1}, {to, 1}};
  return series;
}

/// Dates of one season stand by their days, seasons one after the other.
bool by_days(const CropOverDates& joined) {
  return !joined.season.empty() &&
         std::all_of(joined.dates.begin(), joined.dates.end(),
                     [](const JoinedDate& date) { return day_number(date.name).has_value(); });
}

std::vector<double> places_in_time(const CropOverDates& joined) {
  const bool days = by_days(joined);
  std::vector<double> x;
  x.reserve(joined.dates.size());
  for (const JoinedDate& date : joined.dates) {
    x.push_back(
        days ? static_cast<double>(days_between(joined.dates.front().name, date.name).value_or(0))
             : static_cast<double>(x.size() + 1));
  }
  return x;
}

std::string days_title(const CropOverDates& joined) {
  if (by_days(joined)) return "Days after " + joined.dates.front().name;
  return fmt::format("Seasons in their order, {} to {}", joined.dates.front().name,
                     joined.dates.back().name);
}

}  // namespace

Plot travel_time_plot(const TravelTime& travel_time) {
  Plot plot;
  plot.title = "Grain travel time: where neighbouring opposite passes agree best";
  plot.x = {"Travel time, s", std::nullopt, std::nullopt};
  plot.y = {"Disagreement of opposite passes, share of the mean yield", std::nullopt, std::nullopt};
  if (travel_time.tried_s.empty()) {
    plot.statement = travel_time.why;
    return plot;
  }
  PlotSeries tried = look(0, "tried");
  for (std::size_t i = 0; i < travel_time.tried_s.size(); ++i) {
    tried.points.push_back({travel_time.tried_s[i], travel_time.disagreement[i]});
  }
  plot.series.push_back(std::move(tried));
  PlotSeries used = look(1, fmt::format("taken: {:.1f} s", travel_time.used_s));
  used.line = PlotLine::none;
  used.fill = MarkFill::filled;
  if (const auto height = curve_at(travel_time, travel_time.used_s)) {
    used.points.push_back({travel_time.used_s, *height});
  }
  if (!used.points.empty()) plot.series.push_back(std::move(used));
  return plot;
}

Plot yield_variogram_plot(const CleanedLog& cleaned, UnitSystem units) {
  Plot plot;
  plot.title = "Unlikeness of yields over distance, before and after cleaning";
  plot.x = {fmt::format("Distance, {}", report_unit(Dimension::length, units)), 0, std::nullopt};
  plot.y = {fmt::format("Semivariance, ({})\u00b2", report_unit(Dimension::yield, units)), 0,
            std::nullopt};
  if (cleaned.before.empty() && cleaned.after.empty()) {
    plot.statement = "Too few records for a variogram.";
    return plot;
  }
  plot.series.push_back(lag_series(1, "as logged", cleaned.before, units));
  plot.series.push_back(lag_series(0, "cleaned", cleaned.after, units));
  return plot;
}

Plot association_plot(const CropAtEmitters& emitters, const std::string& layer) {
  struct Look {
    LocalAssociation local;
    const char* name;
    PlotMark mark;
    MarkFill fill;
  };
  static constexpr std::array<Look, 5> looks = {
      {{LocalAssociation::none, "not beyond chance", PlotMark::circle, MarkFill::open},
       {LocalAssociation::both_low, "both low around it", PlotMark::triangle, MarkFill::filled},
       {LocalAssociation::both_high, "both high around it", PlotMark::square, MarkFill::filled},
       {LocalAssociation::water_low_crop_high, "water low around it, crop holding",
        PlotMark::triangle, MarkFill::open},
       {LocalAssociation::water_high_crop_low, "water fine around it, crop low", PlotMark::square,
        MarkFill::open}}};
  Plot plot;
  plot.title = layer + " beside the discharge of dug emitters";
  plot.x = {"Discharge over its reference", std::nullopt, std::nullopt};
  plot.y = {"Crop over the median of the field", std::nullopt, std::nullopt};
  for (const Look& one : looks) {
    PlotSeries series = look(one.local == LocalAssociation::none ? 3 : 0, one.name);
    series.line = PlotLine::none;
    series.mark = one.mark;
    series.fill = one.fill;
    for (std::size_t i = 0; i < emitters.local.size(); ++i) {
      if (emitters.local[i] == one.local) {
        series.points.push_back({emitters.discharge[i], emitters.crop[i]});
      }
    }
    if (!series.points.empty()) plot.series.push_back(std::move(series));
  }
  if (plot.series.empty()) plot.statement = emitters.verdict;
  return plot;
}

Plot profile_plot(const Field& field, const LateralProfile& profile, const std::string& layer) {
  Plot plot;
  const std::string zone =
      profile.zone < 0 ? "" : "zone " + field.zones[static_cast<std::size_t>(profile.zone)].id;
  plot.title = fmt::format("{}: {} along the laterals", layer, zone);
  const std::string unit(report_unit(Dimension::length, field.report_units));
  plot.x = {"From the supply end, " + unit, 0, std::nullopt};
  plot.y = {"Crop over the median of the field", std::nullopt, std::nullopt};
  if (profile.bins.empty()) {
    plot.statement = profile.verdict;
    return plot;
  }
  PlotSeries mean = look(0, "mean of the laterals");
  PlotSeries lower = limit_series("90 % limits");
  PlotSeries upper = limit_series("");
  for (const ProfileBin& bin : profile.bins) {
    const double x = in_report_unit(field, bin.station_m, Dimension::length);
    mean.points.push_back({x, bin.mean});
    lower.points.push_back({x, bin.lower_90});
    upper.points.push_back({x, bin.upper_90});
  }
  PlotSeries median = median_series(0, mean.points.back().x);
  plot.series = {std::move(lower), std::move(upper), std::move(median), std::move(mean)};
  return plot;
}

Plot zones_over_dates_plot(const CropOverDates& joined, const std::string& title) {
  constexpr std::size_t most_zones = 4;  // looks that differ
  std::vector<PlaceOverDates> zones = joined.zones;
  std::stable_sort(zones.begin(), zones.end(),
                   [](const auto& a, const auto& b) { return a.level < b.level; });
  Plot plot;
  plot.title = title;
  if (zones.size() > most_zones) {
    plot.title += fmt::format(", the {} lowest zones of {}", most_zones, zones.size());
    zones.resize(most_zones);
  }
  plot.x = {days_title(joined), std::nullopt, std::nullopt};
  plot.y = {"Crop over the median of the field", std::nullopt, std::nullopt};
  const std::vector<double> x = places_in_time(joined);
  for (std::size_t z = 0; z < zones.size(); ++z) {
    PlotSeries series = look(z, "zone " + zones[z].name);
    for (std::size_t i = 0; i < x.size(); ++i) series.points.push_back({x[i], zones[z].each[i]});
    plot.series.push_back(std::move(series));
  }
  plot.series.push_back(median_series(x.front(), x.back()));
  // No closer than a fifth either way: small changes shall look small.
  plot.y.low = plot.y.high = 1;
  for (const PlotSeries& series : plot.series) {
    for (const Point& p : series.points) {
      if (!std::isfinite(p.y)) continue;
      plot.y.low = std::min({*plot.y.low, 0.8, std::floor(10 * p.y) / 10});
      plot.y.high = std::max({*plot.y.high, 1.2, std::ceil(10 * p.y) / 10});
    }
  }
  return plot;
}

}  // namespace evendrip
