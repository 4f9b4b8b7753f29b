// SPDX-License-Identifier: Apache-2.0
#include "symbols.hpp"

#include <cmath>
#include <numbers>
#include <vector>

namespace evendrip {

namespace {

/// Parallel lines across a box, their distance measured at right angles, multiples of the spacing
/// from the page's origin.
void add_parallels(cairo_t* context, const PaperBox& box, double angle, double spacing) {
  const double dx = std::cos(angle), dy = std::sin(angle);
  double low = INFINITY, high = -INFINITY;
  double first = INFINITY, last = -INFINITY;
  for (const double x : {box.left, box.right}) {
    for (const double y : {box.top, box.bottom}) {
      const double across = x * -dy + y * dx;
      const double along = x * dx + y * dy;
      low = std::min(low, across);
      high = std::max(high, across);
      first = std::min(first, along);
      last = std::max(last, along);
    }
  }
  for (double k = std::floor(low / spacing); k * spacing <= high; k += 1) {
    const double across = k * spacing;
    cairo_move_to(context, first * dx - across * dy, first * dy + across * dx);
    cairo_line_to(context, last * dx - across * dy, last * dy + across * dx);
  }
}

std::vector<double> angles_of(const std::string& name) {
  constexpr double quarter = std::numbers::pi / 4;
  if (name == "shape://slash") return {-quarter};
  if (name == "shape://backslash") return {quarter};
  if (name == "shape://horline") return {0};
  if (name == "shape://vertline") return {2 * quarter};
  if (name == "shape://plus") return {0, 2 * quarter};
  return {-quarter, quarter};  // shape://times
}

void add_polygon_path(cairo_t* context, Point centre, double radius, int corners, double inner) {
  const int points = inner > 0 ? 2 * corners : corners;
  for (int i = 0; i < points; ++i) {
    const double r = inner > 0 && i % 2 == 1 ? radius * inner : radius;
    const double angle = 2 * std::numbers::pi * i / points - std::numbers::pi / 2;
    cairo_line_to(context, centre.x + r * std::cos(angle), centre.y + r * std::sin(angle));
  }
  cairo_close_path(context);
}

void add_bars(cairo_t* context, Point c, double r, double turn) {
  for (const double angle : {turn, turn + std::numbers::pi / 2}) {
    cairo_move_to(context, c.x - r * std::cos(angle), c.y - r * std::sin(angle));
    cairo_line_to(context, c.x + r * std::cos(angle), c.y + r * std::sin(angle));
  }
}

void add_mark_path(cairo_t* context, Point c, const std::string& name, double r) {
  if (name == "circle") {
    cairo_arc(context, c.x, c.y, r, 0, 2 * std::numbers::pi);
    cairo_close_path(context);
  } else if (name == "square") {
    const double half = r * 0.9;
    cairo_rectangle(context, c.x - half, c.y - half, 2 * half, 2 * half);
  } else if (name == "triangle") {
    add_polygon_path(context, c, r * 1.15, 3, 0);
  } else if (name == "star") {
    add_polygon_path(context, c, r * 1.2, 5, 0.45);
  } else {
    add_bars(context, c, r, name == "x" ? std::numbers::pi / 4 : 0);
  }
}

bool is_open(const std::string& name) {
  return name == "cross" || name == "x";
}

}  // namespace

void stroke_path(const Canvas& canvas, const StrokeStyle& style) {
  cairo_t* context = canvas.context();
  std::vector<double> dashes = style.dashes_px;
  for (double& dash : dashes) dash *= points_per_px;
  const Saved saved(canvas);
  cairo_set_dash(context, dashes.data(), static_cast<int>(dashes.size()), 0);
  if (!dashes.empty()) cairo_set_line_cap(context, CAIRO_LINE_CAP_BUTT);
  cairo_set_line_width(context, style.width_px * points_per_px);
  canvas.set_colour(style.colour);
  cairo_stroke(context);
}

void stroke_path_with_rim(const Canvas& canvas, const StrokeStyle& style) {
  cairo_path_t* path = cairo_copy_path(canvas.context());
  StrokeStyle rim{{1, 1, 1, 0.85}, style.width_px + 2, {}};
  stroke_path(canvas, rim);
  cairo_append_path(canvas.context(), path);
  cairo_path_destroy(path);
  stroke_path(canvas, style);
}

void fill_path(const Canvas& canvas, const FillStyle& style) {
  cairo_t* context = canvas.context();
  cairo_set_fill_rule(context, CAIRO_FILL_RULE_EVEN_ODD);
  if (style.colour) {
    canvas.set_colour(*style.colour);
    cairo_fill_preserve(context);
  }
  if (!style.hatch) return;
  cairo_path_t* path = cairo_copy_path(context);
  {
    const Saved saved(canvas);
    PaperBox box;
    cairo_path_extents(context, &box.left, &box.top, &box.right, &box.bottom);
    cairo_clip(context);
    for (const double angle : angles_of(style.hatch->well_known_name)) {
      add_parallels(context, box, angle, style.hatch->spacing_px * points_per_px);
    }
    stroke_path(canvas, style.hatch->stroke);
  }
  cairo_new_path(context);
  cairo_append_path(context, path);
  cairo_path_destroy(path);
}

void draw_mark(const Canvas& canvas, Point centre, const MarkStyle& style) {
  cairo_t* context = canvas.context();
  const double radius = style.size_px * points_per_px / 2;
  add_mark_path(context, centre, style.well_known_name, radius);
  if (style.fill && !is_open(style.well_known_name)) fill_path(canvas, *style.fill);
  if (style.stroke && is_open(style.well_known_name)) {
    stroke_path_with_rim(canvas, *style.stroke);
  } else if (style.stroke) {
    stroke_path(canvas, *style.stroke);
  }
  cairo_new_path(context);
}

void draw_swatch(const Canvas& canvas, const PaperBox& box, const StyleRule& rule) {
  cairo_t* context = canvas.context();
  const Point centre{(box.left + box.right) / 2, (box.top + box.bottom) / 2};
  if (rule.fill || rule.outline) {
    cairo_rectangle(context, box.left, box.top, box.right - box.left, box.bottom - box.top);
    if (rule.fill) fill_path(canvas, *rule.fill);
    if (rule.outline) stroke_path(canvas, *rule.outline);
    cairo_new_path(context);
  }
  if (rule.line) {
    cairo_move_to(context, box.left, centre.y);
    cairo_line_to(context, box.right, centre.y);
    stroke_path(canvas, *rule.line);
  }
  if (rule.mark) draw_mark(canvas, centre, *rule.mark);
}

}  // namespace evendrip
