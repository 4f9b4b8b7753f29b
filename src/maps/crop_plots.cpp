// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <array>
#include <cstddef>
#include <optional>
#include <utility>

#include "evendrip/maps/crop_sheets.hpp"
#include "sheet_parts.hpp"

namespace evendrip {
namespace {

PlotSeries look(std::size_t index, std::string name) {
  PlotSeries series = plot_look(index);
  series.name = std::move(name);
  return series;
}

PlotSeries lag_series(std::size_t index, std::string name, const std::vector<VariogramLag>& lags) {
  PlotSeries series = look(index, std::move(name));
  for (const VariogramLag& lag : lags) {
    series.points.push_back({lag.mean_distance_m, lag.semivariance});
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

Plot yield_variogram_plot(const CleanedLog& cleaned) {
  Plot plot;
  plot.title = "Unlikeness of yields over distance, before and after cleaning";
  plot.x = {"Distance, m", 0, std::nullopt};
  plot.y = {"Semivariance, (t/ha)\u00b2", 0, std::nullopt};
  if (cleaned.before.empty() && cleaned.after.empty()) {
    plot.statement = "Too few records for a variogram.";
    return plot;
  }
  plot.series.push_back(lag_series(1, "as logged", cleaned.before));
  plot.series.push_back(lag_series(0, "cleaned", cleaned.after));
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
       {LocalAssociation::both_low, "both low", PlotMark::triangle, MarkFill::filled},
       {LocalAssociation::both_high, "both high", PlotMark::square, MarkFill::filled},
       {LocalAssociation::water_low_crop_high, "water low, crop holding", PlotMark::triangle,
        MarkFill::open},
       {LocalAssociation::water_high_crop_low, "water fine, crop low", PlotMark::square,
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
  plot.guides.push_back({1, "median of the field"});
  plot.series = {std::move(lower), std::move(upper), std::move(mean)};
  return plot;
}

}  // namespace evendrip
