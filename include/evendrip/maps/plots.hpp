// SPDX-License-Identifier: Apache-2.0
// Plots of numbers against numbers, as a value and drawn small enough to stand beside others on a
// sheet: marks told apart by shape and shade, lines by their dashes, so that they print in grey.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/geo/shapes.hpp"
#include "evendrip/maps/label_placing.hpp"
#include "evendrip/maps/sheet.hpp"

namespace evendrip {

enum class PlotMark { none, circle, triangle, square, diamond, cross };
enum class MarkFill { open, filled };
enum class PlotLine { none, solid, dashed, dotted };

/// Points that are not finite break a line and have no mark.
struct PlotSeries {
  std::string name;  ///< in the key; empty: not there
  std::vector<Point> points;
  PlotMark mark = PlotMark::none;
  MarkFill fill = MarkFill::filled;
  PlotLine line = PlotLine::none;
  Colour colour;
  double width_pt = 0.9;
};

/// A line across the plot at a value of the upright axis, named at its end.
struct PlotGuide {
  double value = 0;
  std::string name;
};

/// What an axis shows; what is not stated follows from the data.
struct PlotAxis {
  std::string title;
  std::optional<double> low;
  std::optional<double> high;
};

enum class PlotScales { own, shared };  ///< shared: both axes show one range

struct Plot {
  std::string title;
  PlotAxis x;
  PlotAxis y;
  PlotScales scales = PlotScales::own;
  std::vector<PlotSeries> series;
  std::vector<PlotGuide> guides;
  std::string statement;  ///< stands in the plot instead of data: why there is none
};

/// Round limits around values, and the step between ticks.
struct PlotRange {
  double low = 0;
  double high = 1;
  double step = 0.2;
};
/// Holds every finite value; limits that are stated stay as they are. No value, or one value alone:
/// a range around it of its own size.
PlotRange plot_range(std::span<const double> values, const PlotAxis& axis, int parts = 5);

/// Ranges of both axes of a plot.
struct PlotRanges {
  PlotRange x;
  PlotRange y;
};
PlotRanges plot_ranges(const Plot& plot);

/// The looks that tell series apart, in order; they repeat after four.
PlotSeries plot_look(std::size_t index);

class Canvas;
/// Title, key, axes and data within the box, in points.
void draw_plot(Canvas& canvas, const PaperBox& box, const Plot& plot);

/// One plot as a picture. Throws FileError.
void draw_plot_png(const Plot& plot, const MapResources& resources,
                   const std::filesystem::path& file, double width_pt = 240, double height_pt = 200,
                   double dots_per_inch = 150);

}  // namespace evendrip
