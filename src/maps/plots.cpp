// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/plots.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "canvas.hpp"
#include "evendrip/maps/rulers.hpp"
#include "symbols.hpp"

namespace evendrip {
namespace {

constexpr double text_pt = 6.2;
constexpr double mark_radius = 1.9;
const Colour ink{0.1, 0.1, 0.1, 1};
const Colour faint{0.86, 0.86, 0.86, 1};
const StrokeStyle frame_stroke{{0.25, 0.25, 0.25, 1}, 0.8, {}};
const StrokeStyle grid_stroke{faint, 0.6, {}};
const StrokeStyle guide_stroke{{0.35, 0.35, 0.35, 1}, 0.8, {1, 2}};

TextStyle text_style(Align align = Align::left) {
  return {.size_pt = text_pt, .align = align, .colour = ink};
}

bool finite(const Point& p) {
  return std::isfinite(p.x) && std::isfinite(p.y);
}

struct PlotFrame {
  PlotRanges ranges;
  PaperBox box;
  double x(double value) const {
    return box.left +
           (value - ranges.x.low) / (ranges.x.high - ranges.x.low) * (box.right - box.left);
  }
  double y(double value) const {
    return box.bottom -
           (value - ranges.y.low) / (ranges.y.high - ranges.y.low) * (box.bottom - box.top);
  }
};

void segment(const Canvas& canvas, Point a, Point b, const StrokeStyle& stroke) {
  cairo_move_to(canvas.context(), a.x, a.y);
  cairo_line_to(canvas.context(), b.x, b.y);
  stroke_path(canvas, stroke);
}

std::string tick_text(double value, double step) {
  const std::string text = fmt::format("{:.{}f}", value, decimals_of(step));
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1)
                                                                                   : text;
}

double widest_tick(Canvas& canvas, const PlotRange& range) {
  double width = 0;
  for (const double v : multiples_within(range.low, range.high, range.step)) {
    width = std::max(width, canvas.text_size(tick_text(v, range.step), text_style()).width);
  }
  return width;
}

void draw_axes(Canvas& canvas, const PlotFrame& frame, const Plot& plot) {
  const PlotRanges& r = frame.ranges;
  const PaperBox& box = frame.box;
  for (const double v : multiples_within(r.x.low, r.x.high, r.x.step)) {
    segment(canvas, {frame.x(v), box.top}, {frame.x(v), box.bottom}, grid_stroke);
    canvas.draw_text(frame.x(v), box.bottom + 2, tick_text(v, r.x.step), text_style(Align::centre));
  }
  for (const double v : multiples_within(r.y.low, r.y.high, r.y.step)) {
    segment(canvas, {box.left, frame.y(v)}, {box.right, frame.y(v)}, grid_stroke);
    canvas.draw_text(box.left - 3, frame.y(v) - 0.6 * text_pt, tick_text(v, r.y.step),
                     text_style(Align::right));
  }
  canvas.draw_text((box.left + box.right) / 2, box.bottom + 10, plot.x.title,
                   text_style(Align::centre));
  const Saved saved(canvas);
  cairo_translate(canvas.context(), box.left - widest_tick(canvas, r.y) - 13,
                  (box.top + box.bottom) / 2);
  cairo_rotate(canvas.context(), -std::numbers::pi / 2);
  canvas.draw_text(0, 0, plot.y.title, text_style(Align::centre));
}

std::vector<double> dashes_of(PlotLine line) {
  if (line == PlotLine::dashed) return {5, 3};
  if (line == PlotLine::dotted) return {1, 2.4};
  return {};
}

void draw_line(const Canvas& canvas, const PlotFrame& frame, const PlotSeries& series) {
  if (series.line == PlotLine::none) return;
  bool joined = false;
  for (const Point& p : series.points) {
    if (!finite(p)) {
      joined = false;
      continue;
    }
    if (joined) {
      cairo_line_to(canvas.context(), frame.x(p.x), frame.y(p.y));
    } else {
      cairo_move_to(canvas.context(), frame.x(p.x), frame.y(p.y));
    }
    joined = true;
  }
  stroke_path(canvas, {series.colour, series.width_pt / points_per_px, dashes_of(series.line)});
}

void closed_path(const Canvas& canvas, std::span<const Point> corners, Point at) {
  for (const Point& c : corners) {
    cairo_line_to(canvas.context(), at.x + c.x * mark_radius, at.y + c.y * mark_radius);
  }
  cairo_close_path(canvas.context());
}

void mark_path(const Canvas& canvas, PlotMark mark, Point at) {
  static constexpr std::array<Point, 3> triangle{{{0, -1.25}, {1.15, 0.8}, {-1.15, 0.8}}};
  static constexpr std::array<Point, 4> square{
      {{-0.9, -0.9}, {0.9, -0.9}, {0.9, 0.9}, {-0.9, 0.9}}};
  static constexpr std::array<Point, 4> diamond{{{0, -1.3}, {1.3, 0}, {0, 1.3}, {-1.3, 0}}};
  cairo_new_path(canvas.context());
  if (mark == PlotMark::circle) {
    cairo_arc(canvas.context(), at.x, at.y, mark_radius, 0, 2 * std::numbers::pi);
  } else if (mark == PlotMark::triangle) {
    closed_path(canvas, triangle, at);
  } else if (mark == PlotMark::square) {
    closed_path(canvas, square, at);
  } else if (mark == PlotMark::diamond) {
    closed_path(canvas, diamond, at);
  } else if (mark == PlotMark::cross) {
    cairo_move_to(canvas.context(), at.x - mark_radius, at.y - mark_radius);
    cairo_line_to(canvas.context(), at.x + mark_radius, at.y + mark_radius);
    cairo_move_to(canvas.context(), at.x - mark_radius, at.y + mark_radius);
    cairo_line_to(canvas.context(), at.x + mark_radius, at.y - mark_radius);
  }
}

void draw_one_mark(const Canvas& canvas, const PlotSeries& series, Point at) {
  if (series.mark == PlotMark::none) return;
  mark_path(canvas, series.mark, at);
  if (series.mark != PlotMark::cross) {
    canvas.set_colour(series.fill == MarkFill::filled ? series.colour : Colour{1, 1, 1, 1});
    cairo_fill_preserve(canvas.context());
  }
  stroke_path(canvas, {series.colour, 0.9, {}});
}

void draw_series(const Canvas& canvas, const PlotFrame& frame, const PlotSeries& series) {
  draw_line(canvas, frame, series);
  for (const Point& p : series.points) {
    if (finite(p)) draw_one_mark(canvas, series, {frame.x(p.x), frame.y(p.y)});
  }
}

void draw_guides(Canvas& canvas, const PlotFrame& frame, const Plot& plot) {
  for (const PlotGuide& guide : plot.guides) {
    if (!(guide.value > frame.ranges.y.low && guide.value < frame.ranges.y.high)) continue;
    const double y = frame.y(guide.value);
    segment(canvas, {frame.box.left, y}, {frame.box.right, y}, guide_stroke);
    TextStyle style = text_style(Align::right);
    style.halo_pt = 1;
    canvas.draw_text(frame.box.right - 2, y + 0.5, guide.name, style);
  }
}

/// Rows of the key below the title; returns where the plot may begin.
double draw_key(Canvas& canvas, const PaperBox& box, double top, const Plot& plot) {
  constexpr double swatch = 15, gap = 7, row = 8.2;
  double x = box.left, y = top;
  bool any = false;
  for (const PlotSeries& series : plot.series) {
    if (series.name.empty()) continue;
    const double width = swatch + canvas.text_size(series.name, text_style()).width + gap;
    if (any && x + width - gap > box.right) {
      x = box.left;
      y += row;
    }
    any = true;
    const Point middle{x + swatch / 2 - 2, y + row / 2};
    PlotSeries shown = series;
    shown.points = {{middle.x - 6, middle.y}, {middle.x + 6, middle.y}};
    if (shown.line != PlotLine::none) {
      segment(canvas, shown.points[0], shown.points[1],
              {shown.colour, shown.width_pt / points_per_px, dashes_of(shown.line)});
    }
    draw_one_mark(canvas, shown, middle);
    canvas.draw_text(x + swatch, y + (row - 1.25 * text_pt) / 2, series.name, text_style());
    x += width;
  }
  return any ? y + row + 3 : y + 2;
}

void draw_statement(Canvas& canvas, const PaperBox& box, const std::string& text) {
  TextStyle style = text_style(Align::centre);
  style.size_pt = 7;
  style.width_pt = box.right - box.left - 16;
  const TextSize size = canvas.text_size(text, style);
  style.align = Align::left;
  canvas.draw_text((box.left + box.right - size.width) / 2,
                   (box.top + box.bottom - size.height) / 2, text, style);
}

std::vector<double> values_of(const Plot& plot, double Point::*coordinate) {
  std::vector<double> values;
  for (const PlotSeries& series : plot.series) {
    for (const Point& p : series.points) {
      if (finite(p)) values.push_back(p.*coordinate);
    }
  }
  return values;
}

}  // namespace

PlotRange plot_range(std::span<const double> values, const PlotAxis& axis, int parts) {
  double low = 0, high = 1;
  bool any = false;
  for (const double v : values) {
    if (!std::isfinite(v)) continue;
    low = any ? std::min(low, v) : v;
    high = any ? std::max(high, v) : v;
    any = true;
  }
  low = axis.low.value_or(low);
  high = axis.high.value_or(high);
  if (!(high > low)) {
    const double room = low != 0 ? std::abs(low) / 2 : 0.5;
    if (!axis.low) low -= room;
    high = std::max(high, low) + (axis.high && !axis.low ? 0 : room);
  }
  const double step = round_step(high - low, parts);
  if (!axis.low) low = std::floor(low / step + 1e-9) * step;
  if (!axis.high) high = std::ceil(high / step - 1e-9) * step;
  return {low, high, step};
}

PlotRanges plot_ranges(const Plot& plot) {
  std::vector<double> x = values_of(plot, &Point::x);
  std::vector<double> y = values_of(plot, &Point::y);
  if (plot.scales == PlotScales::shared) {
    x.insert(x.end(), y.begin(), y.end());
    const PlotRange both = plot_range(x, plot.x);
    return {both, both};
  }
  return {plot_range(x, plot.x), plot_range(y, plot.y, 7)};
}

PlotSeries plot_look(std::size_t index) {
  // Dark blue, vermilion, bluish green, grey: apart for all kinds of colour vision, and by
  // lightness and shape in print.
  static const std::array<PlotSeries, 4> looks{
      {{"", {}, PlotMark::circle, MarkFill::filled, PlotLine::solid, {0.03, 0.25, 0.50, 1}, 0.9},
       {"", {}, PlotMark::triangle, MarkFill::open, PlotLine::dashed, {0.76, 0.30, 0.0, 1}, 0.9},
       {"", {}, PlotMark::square, MarkFill::open, PlotLine::dotted, {0.0, 0.45, 0.35, 1}, 1.1},
       {"", {}, PlotMark::diamond, MarkFill::filled, PlotLine::solid, {0.55, 0.55, 0.55, 1}, 0.7}}};
  return looks[index % looks.size()];
}

void draw_plot(Canvas& canvas, const PaperBox& box, const Plot& plot) {
  TextStyle title{.size_pt = 7.4, .weight = Weight::bold, .colour = {}};
  title.width_pt = box.right - box.left;
  double top = box.top + canvas.draw_text(box.left, box.top, plot.title, title).height + 1;
  if (!plot.statement.empty()) {
    const PaperBox inner{box.left, top + 2, box.right, box.bottom};
    cairo_rectangle(canvas.context(), inner.left, inner.top, inner.right - inner.left,
                    inner.bottom - inner.top);
    stroke_path(canvas, grid_stroke);
    draw_statement(canvas, inner, plot.statement);
    return;
  }
  top = draw_key(canvas, box, top, plot);
  PlotFrame frame{plot_ranges(plot), {}};
  frame.box = {box.left + widest_tick(canvas, frame.ranges.y) + 15, top + 2, box.right - 9,
               box.bottom - 19};
  draw_axes(canvas, frame, plot);
  draw_guides(canvas, frame, plot);
  {
    const Saved saved(canvas);
    cairo_rectangle(canvas.context(), frame.box.left - 3, frame.box.top - 3,
                    frame.box.right - frame.box.left + 6, frame.box.bottom - frame.box.top + 6);
    cairo_clip(canvas.context());
    for (const PlotSeries& series : plot.series) draw_series(canvas, frame, series);
  }
  cairo_rectangle(canvas.context(), frame.box.left, frame.box.top, frame.box.right - frame.box.left,
                  frame.box.bottom - frame.box.top);
  stroke_path(canvas, frame_stroke);
}

void draw_plot_png(const Plot& plot, const MapResources& resources,
                   const std::filesystem::path& file, double width_pt, double height_pt,
                   double dots_per_inch) {
  const auto pixels = [&](double points) {
    return static_cast<int>(std::lround(points / 72 * dots_per_inch));
  };
  Canvas canvas =
      Canvas::picture(pixels(width_pt), pixels(height_pt), {width_pt, height_pt}, resources);
  canvas.set_colour({1, 1, 1, 1});
  cairo_paint(canvas.context());
  draw_plot(canvas, {6, 5, width_pt - 6, height_pt - 5}, plot);
  canvas.finish_png(file);
}

}  // namespace evendrip
