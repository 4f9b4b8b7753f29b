// SPDX-License-Identifier: Apache-2.0
#include "legend.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evendrip/maps/rulers.hpp"
#include "symbols.hpp"

namespace evendrip {

namespace {

constexpr double swatch_width = 20;
constexpr double text_left = swatch_width + 6;
constexpr double row_gap = 3.5;
constexpr double block_gap = 8;
constexpr double ramp_height = 70;

const TextStyle heading{.size_pt = 8.5, .weight = Weight::bold, .colour = {}};
const TextStyle entry{.size_pt = 8, .colour = {}};

/// The pen that goes down the column.
struct Pen {
  Canvas& canvas;
  double left, y, width;

  void title(const std::string& text) {
    if (text.empty()) return;
    TextStyle style = heading;
    style.width_pt = width;
    y += canvas.draw_text(left, y, text, style).height + row_gap;
  }
  /// One row: a swatch drawn by `draw_symbol(box)` and its text, wrapped.
  template <class Draw>
  void row(const std::string& text, const Draw& draw_symbol) {
    TextStyle style = entry;
    style.width_pt = width - text_left;
    const TextSize size = canvas.text_size(text, style);
    const double height = std::max(size.height, 11.0);
    draw_symbol(PaperBox{left, y, left + swatch_width, y + 11});
    canvas.draw_text(left + text_left, y + std::max(0.0, (11 - size.height) / 2), text, style);
    y += height + row_gap;
  }
};

void outline_box(const Canvas& canvas, const PaperBox& box) {
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  stroke_path(canvas, {{0.25, 0.25, 0.25, 1}, 0.7, {}});
}

void fill_box(const Canvas& canvas, const PaperBox& box, const Colour& colour) {
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  canvas.set_colour(colour);
  cairo_fill(canvas.context());
}

void draw_classes(Pen& pen, const RasterDrawing& drawing, const ColourMap& map) {
  const auto& stops = map.stops;
  for (std::size_t k = stops.size(); k-- > 0;) {  // high values on top, as on a ramp
    std::string text = stops[k].label;
    if (k < drawing.class_notes.size() && !drawing.class_notes[k].empty()) {
      text += " (" + drawing.class_notes[k] + ")";
    }
    pen.row(text, [&](const PaperBox& box) {
      Colour colour = stops[k].colour;
      colour.alpha *= drawing.opacity;
      fill_box(pen.canvas, box, colour);
      outline_box(pen.canvas, box);
    });
  }
}

void draw_ramp(Pen& pen, const RasterDrawing& drawing, const ColourMap& map) {
  const double low = map.stops.front().value, high = map.stops.back().value;
  const PaperBox bar{pen.left, pen.y + 4, pen.left + swatch_width, pen.y + 4 + ramp_height};
  const auto y_of = [&](double value) {
    return bar.bottom - (value - low) / (high - low) * ramp_height;
  };
  cairo_pattern_t* ramp = cairo_pattern_create_linear(0, bar.bottom, 0, bar.top);
  for (const ColourStop& stop : map.stops) {
    cairo_pattern_add_color_stop_rgba(ramp, (stop.value - low) / (high - low), stop.colour.red,
                                      stop.colour.green, stop.colour.blue,
                                      stop.colour.alpha * drawing.opacity);
  }
  cairo_rectangle(pen.canvas.context(), bar.left, bar.top, swatch_width, ramp_height);
  cairo_set_source(pen.canvas.context(), ramp);
  cairo_fill(pen.canvas.context());
  cairo_pattern_destroy(ramp);
  outline_box(pen.canvas, bar);
  const double step = round_step(high - low, 6);
  for (const double value : multiples_within(low, high, step)) {
    const double y = y_of(value);
    cairo_move_to(pen.canvas.context(), bar.right, y);
    cairo_line_to(pen.canvas.context(), bar.right + 3, y);
    stroke_path(pen.canvas, {{0.25, 0.25, 0.25, 1}, 0.7, {}});
    const std::string text = fmt::format("{:.{}f}", value, decimals_of(step));
    const TextSize size = pen.canvas.text_size(text, entry);
    pen.canvas.draw_text(bar.right + 6, y - size.height / 2, text, entry);
  }
  pen.y = bar.bottom + 4 + row_gap;
}

/// True for a cell that would be on the map if it had a value.
bool is_missing(const RasterDrawing& drawing, int row, int column) {
  const Raster& raster = drawing.raster;
  const Reason reason = raster.reasons[raster.grid.index(row, column)];
  if (carries_value(reason) || reason == Reason::outside_zones) return false;
  const auto& within = drawing.shown_within;
  const Point centre = raster.grid.centre(row, column);
  return within.empty() ||
         std::any_of(within.begin(), within.end(),
                     [&](const MultiPolygon& shape) { return contains(shape, centre); });
}

void draw_missing(Pen& pen, const RasterDrawing& drawing) {
  for (int row = 0; row < drawing.raster.grid.rows; ++row) {
    for (int column = 0; column < drawing.raster.grid.columns; ++column) {
      if (!is_missing(drawing, row, column)) continue;
      pen.row("no value", [&](const PaperBox& box) { outline_box(pen.canvas, box); });
      return;
    }
  }
}

void draw_block(Pen& pen, const RasterDrawing& drawing) {
  const auto& map = drawing.style.colour_map;
  if (!map || map->stops.empty()) return;
  pen.title(drawing.legend_title);
  if (map->classes) {
    draw_classes(pen, drawing, *map);
  } else {
    draw_ramp(pen, drawing, *map);
  }
  if (drawing.missing_told) draw_missing(pen, drawing);
  pen.y += block_gap;
}

void draw_block(Pen& pen, const LinesDrawing& drawing) {
  if (drawing.lines.empty() || !drawing.style.line) return;
  StyleRule line_alone = drawing.style;
  line_alone.fill.reset();
  line_alone.mark.reset();
  pen.row(drawing.style.title,
          [&](const PaperBox& box) { draw_swatch(pen.canvas, box, line_alone); });
}

std::size_t count_of(const std::vector<std::string>& classes, const StyleRule& rule,
                     std::size_t features) {
  if (rule.property.empty()) return features;
  return static_cast<std::size_t>(std::count(classes.begin(), classes.end(), rule.equals));
}

/// Only the classes that are on the map, each with its number if they are counted.
template <class DrawSymbol>
void draw_rules(Pen& pen, const Style& style, const std::vector<std::string>& classes,
                std::size_t features, Counted counted, const DrawSymbol& draw_symbol) {
  if (features == 0) return;
  pen.title(style.title);
  for (const StyleRule& rule : style.rules) {
    const std::size_t count = count_of(classes, rule, features);
    if (count == 0) continue;
    const std::string title = rule.title.empty() ? rule.name : rule.title;
    pen.row(counted == Counted::no ? title : fmt::format("{} (n = {})", title, count),
            [&](const PaperBox& box) { draw_symbol(box, rule); });
  }
  pen.y += block_gap;
}

void draw_block(Pen& pen, const ShapesDrawing& drawing) {
  draw_rules(
      pen, drawing.style, drawing.classes, drawing.shapes.size(), drawing.counted,
      [&pen](const PaperBox& box, const StyleRule& rule) { draw_swatch(pen.canvas, box, rule); });
}

bool has_circle(const PointsDrawing& drawing, const StyleRule& rule) {
  for (std::size_t i = 0; i < std::min(drawing.radius_m.size(), drawing.classes.size()); ++i) {
    if (drawing.radius_m[i] > 0 && drawing.classes[i] == rule.equals) return true;
  }
  return false;
}

void draw_block(Pen& pen, const PointsDrawing& drawing) {
  const auto symbol = [&](const PaperBox& box, const StyleRule& rule) {
    if (has_circle(drawing, rule) && rule.mark && rule.mark->stroke) {
      cairo_new_path(pen.canvas.context());
      cairo_arc(pen.canvas.context(), (box.left + box.right) / 2, (box.top + box.bottom) / 2, 5, 0,
                2 * std::numbers::pi);
      stroke_path(pen.canvas, *rule.mark->stroke);
    }
    draw_swatch(pen.canvas, box, rule);
  };
  draw_rules(pen, drawing.style, drawing.classes, drawing.points.size(), Counted::yes, symbol);
}

}  // namespace

double draw_legend(Canvas& canvas, const std::vector<Drawing>& drawings, Point top_left,
                   double width) {
  Pen pen{canvas, top_left.x, top_left.y, width};
  for (std::size_t i = 0; i < drawings.size(); ++i) {
    std::visit([&](const auto& drawing) { draw_block(pen, drawing); }, drawings[i]);
    const bool lines_end =
        std::holds_alternative<LinesDrawing>(drawings[i]) &&
        (i + 1 == drawings.size() || !std::holds_alternative<LinesDrawing>(drawings[i + 1]));
    if (lines_end) pen.y += block_gap;
  }
  return pen.y;
}

}  // namespace evendrip
