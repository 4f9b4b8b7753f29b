// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/plots.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>

#include "example_field.hpp"

namespace evendrip {
namespace {

using example::output;

const double nan = std::numeric_limits<double>::quiet_NaN();

TEST(PlotRange, HoldsEveryValueBetweenRoundLimits) {
  const std::vector<double> values{0.83, 1.07, 0.41};
  const PlotRange range = plot_range(values, {});
  EXPECT_DOUBLE_EQ(range.low, 0.4);
  EXPECT_DOUBLE_EQ(range.high, 1.2);
  EXPECT_DOUBLE_EQ(range.step, 0.2);
}

TEST(PlotRange, KeepsLimitsThatAreStated) {
  const std::vector<double> values{3, 41};
  const PlotRange range = plot_range(values, {"", 0, 100});
  EXPECT_EQ(range.low, 0);
  EXPECT_EQ(range.high, 100);
}

TEST(PlotRange, IsNeverEmptyWhateverTheValues) {
  for (const std::vector<double>& values :
       {std::vector<double>{}, {0}, {0, 0}, {7}, {-3, -3}, {nan}, {nan, 2}}) {
    for (const PlotAxis& axis : {PlotAxis{}, PlotAxis{"", 0, {}}, PlotAxis{"", {}, 10}}) {
      const PlotRange range = plot_range(values, axis);
      EXPECT_GT(range.high, range.low);
      EXPECT_GT(range.step, 0);
      for (const double v : values) {
        if (!std::isfinite(v)) continue;
        EXPECT_TRUE(axis.low || v >= range.low) << v;
        EXPECT_TRUE(axis.high || v <= range.high) << v;
      }
    }
  }
}

TEST(PlotRanges, AreOneForSharedScales) {
  Plot plot;
  plot.scales = PlotScales::shared;
  plot.series = {plot_look(0)};
  plot.series[0].points = {{1, 5}, {2, 9}, {nan, 100}};
  const PlotRanges ranges = plot_ranges(plot);
  EXPECT_EQ(ranges.x.low, ranges.y.low);
  EXPECT_EQ(ranges.x.high, ranges.y.high);
  EXPECT_GE(ranges.x.high, 9);
  EXPECT_LT(ranges.x.high, 100);  // a point that is not finite counts nowhere
}

TEST(PlotLook, TellsFourSeriesApartByShapeAndByLightness) {
  std::set<std::pair<PlotMark, MarkFill>> looks;
  for (std::size_t i = 0; i < 4; ++i) looks.emplace(plot_look(i).mark, plot_look(i).fill);
  EXPECT_EQ(looks.size(), 4U);
  // Relative luminance by Rec. 709: neighbours must differ in grey too, or by the fill of the mark.
  const auto grey = [](const Colour& c) {
    return 0.2126 * c.red + 0.7152 * c.green + 0.0722 * c.blue;
  };
  EXPECT_GT(std::abs(grey(plot_look(0).colour) - grey(plot_look(3).colour)), 0.2);
}

TEST(DrawPlot, DrawsDataGapsGuidesAndNothingAtAll) {
  Plot plot;
  plot.title = "Along the laterals";
  plot.x = {"From the supply end, m", 0, {}};
  plot.y = {"Discharge, L/h", 0, {}};
  for (std::size_t s = 0; s < 4; ++s) {
    plot.series.push_back(plot_look(s));
    plot.series.back().name = "zone Z" + std::to_string(s + 1);
    for (int i = 0; i < 20; ++i) {
      plot.series.back().points.push_back(
          {5.0 * i, i == 7 ? nan : 1.0 - 0.1 * static_cast<double>(s) + 0.02 * std::sin(i)});
    }
  }
  plot.guides = {{0.95, "mean"}, {40, "beyond the plot"}};
  const MapResources r = find_map_resources();
  draw_plot_png(plot, r, output("plot.png"));
  EXPECT_GT(std::filesystem::file_size(output("plot.png")), 4000U);
  Plot empty;
  empty.title = "Measured against expected";
  empty.statement = "no expected discharge is known";
  draw_plot_png(empty, r, output("plot_without_data.png"));
  draw_plot_png(Plot{}, r, output("plot_of_nothing.png"));
  EXPECT_GT(std::filesystem::file_size(output("plot_of_nothing.png")), 100U);
}

}  // namespace
}  // namespace evendrip
