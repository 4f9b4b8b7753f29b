// SPDX-License-Identifier: Apache-2.0
#include "furniture.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "evendrip/maps/rulers.hpp"
#include "symbols.hpp"

namespace evendrip {

namespace {

const TextStyle small{.size_pt = 7, .colour = {0.2, 0.2, 0.2, 1}};
const StrokeStyle hairline{{0.2, 0.2, 0.2, 1}, 0.8, {}};

void draw_tick(const Canvas& canvas, Point a, Point b) {
  cairo_move_to(canvas.context(), a.x, a.y);
  cairo_line_to(canvas.context(), b.x, b.y);
  stroke_path(canvas, hairline);
}

/// A coordinate written there would stand out beyond the frame.
bool near_corner(double at, double low, double high) {
  return at < low + 16 || at > high - 16;
}

void draw_easting_ticks(Canvas& canvas, const MapFrame& frame, double step, double unit_m) {
  for (const double x :
       multiples_within(frame.world.x_min / unit_m, frame.world.x_max / unit_m, step)) {
    const double at = frame.to_paper({x * unit_m, frame.world.y_min}).x;
    draw_tick(canvas, {at, frame.paper.bottom}, {at, frame.paper.bottom + 4});
    draw_tick(canvas, {at, frame.paper.top}, {at, frame.paper.top - 4});
    if (near_corner(at, frame.paper.left, frame.paper.right)) continue;
    TextStyle style = small;
    style.align = Align::centre;
    canvas.draw_text(at, frame.paper.bottom + 5, fmt::format("{:.{}f}", x, decimals_of(step)),
                     style);
  }
}

void draw_northing_ticks(Canvas& canvas, const MapFrame& frame, double step, double unit_m) {
  for (const double y :
       multiples_within(frame.world.y_min / unit_m, frame.world.y_max / unit_m, step)) {
    const double at = frame.to_paper({frame.world.x_min, y * unit_m}).y;
    draw_tick(canvas, {frame.paper.left, at}, {frame.paper.left - 4, at});
    draw_tick(canvas, {frame.paper.right, at}, {frame.paper.right + 4, at});
    if (near_corner(at, frame.paper.top, frame.paper.bottom)) continue;
    const Saved saved(canvas);
    cairo_translate(canvas.context(), frame.paper.left - 14, at);
    cairo_rotate(canvas.context(), -std::numbers::pi / 2);
    TextStyle style = small;
    style.align = Align::centre;
    canvas.draw_text(0, 0, fmt::format("{:.{}f}", y, decimals_of(step)), style);
  }
}

}  // namespace

void draw_ticks(Canvas& canvas, const MapFrame& frame, double unit_m) {
  const PaperBox& box = frame.paper;
  // A coordinate is some 40 points wide; ticks keep twice that apart.
  const double step = round_step(90 / frame.points_per_m() / unit_m, 1);
  draw_easting_ticks(canvas, frame, step, unit_m);
  draw_northing_ticks(canvas, frame, step, unit_m);
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  stroke_path(canvas, hairline);
}

double draw_scale_bar(Canvas& canvas, const MapFrame& frame, Point top_left, double longest,
                      const Sheet& sheet) {
  const ScaleBar bar = scale_bar(frame.points_per_m(), sheet.scale_factor, longest, sheet.units);
  const double height = 5;
  const double top = top_left.y + 11;
  const auto x_of = [&](std::size_t i) {
    return top_left.x + bar.paper * bar.marks[i] / bar.marks.back();
  };
  const int decimals = decimals_of(bar.marks[1]);
  const auto label = [&](std::size_t i) { return fmt::format("{:.{}f}", bar.marks[i], decimals); };
  const std::size_t parts = bar.marks.size() - 1;
  const double widest = canvas.text_size(label(parts), small).width + 4;
  std::size_t every = 1;  // marks between labels that do not touch
  while (every < parts && (parts % every != 0 || x_of(every) - x_of(0) < widest)) ++every;
  for (std::size_t i = 0; i < bar.marks.size(); ++i) {
    TextStyle style = small;
    style.align = Align::centre;
    if (i % every == 0) canvas.draw_text(x_of(i), top_left.y, label(i), style);
    if (i + 1 == bar.marks.size()) break;
    cairo_rectangle(canvas.context(), x_of(i), top, x_of(i + 1) - x_of(i), height);
    canvas.set_colour(i % 2 == 0 ? Colour{0.15, 0.15, 0.15, 1} : Colour{1, 1, 1, 1});
    cairo_fill_preserve(canvas.context());
    stroke_path(canvas, hairline);
  }
  const double unit_left = x_of(bar.marks.size() - 1) + 14;
  const TextSize unit = canvas.draw_text(unit_left, top_left.y, bar.unit + " on the ground", small);
  return unit_left + unit.width - top_left.x;
}

void draw_north_arrow(Canvas& canvas, Point top_centre, double convergence_deg) {
  cairo_t* context = canvas.context();
  const double height = 24, half = 6;
  const Point tip = top_centre;
  const Point foot{tip.x, tip.y + height};
  cairo_move_to(context, tip.x, tip.y);
  cairo_line_to(context, tip.x + half, foot.y);
  cairo_line_to(context, foot.x, foot.y - 6);
  cairo_close_path(context);
  stroke_path(canvas, hairline);
  cairo_move_to(context, tip.x, tip.y);
  cairo_line_to(context, tip.x - half, foot.y);
  cairo_line_to(context, foot.x, foot.y - 6);
  cairo_close_path(context);
  canvas.set_colour({0.15, 0.15, 0.15, 1});
  cairo_fill(context);
  const std::string side = convergence_deg < 0 ? "W" : "E";
  const std::string text =
      fmt::format("grid north\ntrue north {:.1f}° {} of it", std::abs(convergence_deg), side);
  canvas.draw_text(tip.x + half + 6, tip.y + 2, text, small);
}

}  // namespace evendrip
