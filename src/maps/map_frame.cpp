// SPDX-License-Identifier: Apache-2.0
#include "map_frame.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

#include "symbols.hpp"

namespace evendrip {

namespace {

std::uint32_t premultiplied(const Colour& c) {
  const auto byte = [](double share) {
    return static_cast<std::uint32_t>(std::lround(std::clamp(share, 0.0, 1.0) * 255));
  };
  return byte(c.alpha) << 24 | byte(c.red * c.alpha) << 16 | byte(c.green * c.alpha) << 8 |
         byte(c.blue * c.alpha);
}

void add_path(const Canvas& canvas, const MapFrame& frame, const std::vector<Point>& points) {
  cairo_new_sub_path(canvas.context());
  for (const Point& point : points) {
    const Point p = frame.to_paper(point);
    cairo_line_to(canvas.context(), p.x, p.y);
  }
}

void add_shape_path(const Canvas& canvas, const MapFrame& frame, const MultiPolygon& shape) {
  for (const Polygon& polygon : shape) {
    add_path(canvas, frame, polygon.outer);
    cairo_close_path(canvas.context());
    for (const Ring& hole : polygon.holes) {
      add_path(canvas, frame, hole);
      cairo_close_path(canvas.context());
    }
  }
}

cairo_surface_t* image_of(const RasterDrawing& drawing, const ColourMap& map) {
  const Raster& raster = drawing.raster;
  cairo_surface_t* image =
      cairo_image_surface_create(CAIRO_FORMAT_ARGB32, raster.grid.columns, raster.grid.rows);
  unsigned char* bytes = cairo_image_surface_get_data(image);
  const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(image));
  for (int row = 0; bytes != nullptr && row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const std::size_t i = raster.grid.index(row, column);
      if (!raster.has_value(i)) continue;
      const std::uint32_t pixel = premultiplied(map.at(raster.values[i]));
      std::memcpy(
          bytes + static_cast<std::size_t>(row) * stride + 4 * static_cast<std::size_t>(column),
          &pixel, sizeof pixel);
    }
  }
  cairo_surface_mark_dirty(image);
  return image;
}

void paint(const Canvas& canvas, const MapFrame& frame, const RasterDrawing& drawing,
           cairo_surface_t* image) {
  const Grid& grid = drawing.raster.grid;
  const Point corner = frame.to_paper({grid.x_left, grid.y_top});
  const Point next = frame.to_paper({grid.x_left + grid.cell_m, grid.y_top - grid.cell_m});
  cairo_translate(canvas.context(), corner.x, corner.y);
  cairo_scale(canvas.context(), next.x - corner.x, next.y - corner.y);
  cairo_set_source_surface(canvas.context(), image, 0, 0);
  cairo_pattern_set_filter(cairo_get_source(canvas.context()), CAIRO_FILTER_NEAREST);
  cairo_paint_with_alpha(canvas.context(), drawing.opacity);
}

void draw(const Canvas& canvas, const MapFrame& frame, const RasterDrawing& drawing) {
  const auto& map = drawing.style.colour_map;
  if (!map || drawing.raster.grid.cells() == 0) return;
  cairo_surface_t* image = image_of(drawing, *map);
  if (drawing.shown_within.empty()) {
    const Saved saved(canvas);
    paint(canvas, frame, drawing, image);
  }
  for (const MultiPolygon& shape : drawing.shown_within) {
    const Saved saved(canvas);
    add_shape_path(canvas, frame, shape);
    cairo_set_fill_rule(canvas.context(), CAIRO_FILL_RULE_EVEN_ODD);
    cairo_clip(canvas.context());
    paint(canvas, frame, drawing, image);
  }
  cairo_surface_destroy(image);
}

void draw(const Canvas& canvas, const MapFrame& frame, const LinesDrawing& drawing) {
  if (!drawing.style.line) return;
  for (const Line& line : drawing.lines) {
    add_path(canvas, frame, line);
    stroke_path(canvas, *drawing.style.line);
  }
}

void draw(const Canvas& canvas, const MapFrame& frame, const ShapesDrawing& drawing) {
  for (std::size_t i = 0; i < drawing.shapes.size(); ++i) {
    const StyleRule* rule =
        rule_for(drawing.style, i < drawing.classes.size() ? drawing.classes[i] : std::string());
    if (rule == nullptr) continue;
    add_shape_path(canvas, frame, drawing.shapes[i]);
    if (rule->fill) fill_path(canvas, *rule->fill);
    if (rule->outline && drawing.rim == Rim::white) {
      stroke_path_with_rim(canvas, *rule->outline);
    } else if (rule->outline) {
      stroke_path(canvas, *rule->outline);
    }
    cairo_new_path(canvas.context());
  }
}

const StyleRule* rule_of_point(const PointsDrawing& drawing, std::size_t i) {
  return rule_for(drawing.style, i < drawing.classes.size() ? drawing.classes[i] : std::string());
}

/// Radius on paper of a circle that is true to scale; 0 where there is none.
double circle_radius(const MapFrame& frame, const PointsDrawing& drawing, std::size_t i) {
  return i < drawing.radius_m.size() ? drawing.radius_m[i] * frame.points_per_m() : 0;
}

void draw(const Canvas& canvas, const MapFrame& frame, const PointsDrawing& drawing) {
  for (std::size_t i = 0; i < drawing.points.size(); ++i) {
    const StyleRule* rule = rule_of_point(drawing, i);
    if (rule == nullptr || !rule->mark) continue;
    const Point p = frame.to_paper(drawing.points[i]);
    const double radius = circle_radius(frame, drawing, i);
    if (radius > 0) {
      cairo_new_path(canvas.context());
      cairo_arc(canvas.context(), p.x, p.y, radius, 0, 2 * std::numbers::pi);
      cairo_close_path(canvas.context());
      stroke_path_with_rim(
          canvas, rule->outline ? *rule->outline : rule->mark->stroke.value_or(StrokeStyle{}));
    }
    draw_mark(canvas, p, *rule->mark);
  }
}

/// A text that wants a place, with all that is needed to draw it once it has one.
struct Label {
  LabelWish wish;
  std::string text;
  TextStyle style;
};

constexpr double halo_pt = 1.3;

Label make_label(Canvas& canvas, Point p, const std::string& text, TextStyle style,
                 double clearance) {
  style.halo_pt = halo_pt;
  const TextSize size = canvas.text_size(text, style);
  return {{p, size.width, size.height, clearance}, text, style};
}

void collect(Canvas& canvas, const MapFrame& frame, const ShapesDrawing& drawing,
             std::vector<Label>& labels) {
  for (std::size_t i = 0; i < std::min(drawing.shapes.size(), drawing.labels.size()); ++i) {
    if (drawing.labels[i].empty() || drawing.shapes[i].empty()) continue;
    const Point p = frame.to_paper(label_point(drawing.shapes[i]));
    labels.push_back(make_label(canvas, p, drawing.labels[i],
                                {.size_pt = 8.5, .weight = Weight::bold, .colour = {}}, 0));
  }
}

void collect(Canvas& canvas, const MapFrame& frame, const PointsDrawing& drawing,
             std::vector<Label>& labels) {
  for (std::size_t i = 0; i < std::min(drawing.points.size(), drawing.labels.size()); ++i) {
    const StyleRule* rule = rule_of_point(drawing, i);
    if (drawing.labels[i].empty() || rule == nullptr || !rule->mark) continue;
    const double clearance =
        1.5 + std::max(rule->mark->size_px * points_per_px / 2, circle_radius(frame, drawing, i));
    labels.push_back(make_label(canvas, frame.to_paper(drawing.points[i]), drawing.labels[i],
                                {.size_pt = 6.5, .colour = {}}, clearance));
  }
}

double paper_length(const MapFrame& frame, const Line& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) {
    length += distance_m(frame.to_paper(line[i - 1]), frame.to_paper(line[i]));
  }
  return length;
}

/// Level labels stand upright on their line; lines too short to carry one have none.
void collect(Canvas& canvas, const MapFrame& frame, const LinesDrawing& drawing,
             std::vector<Label>& labels) {
  for (std::size_t i = 0; i < std::min(drawing.lines.size(), drawing.labels.size()); ++i) {
    const Line& line = drawing.lines[i];
    if (drawing.labels[i].empty() || line.empty()) continue;
    TextStyle style{.size_pt = 7, .weight = Weight::bold, .colour = {}};
    if (drawing.style.line) style.colour = drawing.style.line->colour;
    const Label label =
        make_label(canvas, frame.to_paper(line[line.size() / 2]), drawing.labels[i], style, 0);
    if (paper_length(frame, line) > 3 * label.wish.width) labels.push_back(label);
  }
}

void collect(Canvas&, const MapFrame&, const RasterDrawing&, std::vector<Label>&) {}

/// Marks that no label may cover.
std::vector<PaperBox> marks_of(const MapFrame& frame, const std::vector<Drawing>& drawings) {
  std::vector<PaperBox> boxes;
  for (const Drawing& drawing : drawings) {
    const auto* points = std::get_if<PointsDrawing>(&drawing);
    if (points == nullptr) continue;
    for (std::size_t i = 0; i < points->points.size(); ++i) {
      const StyleRule* rule = rule_of_point(*points, i);
      if (rule == nullptr || !rule->mark) continue;
      const Point p = frame.to_paper(points->points[i]);
      const double half = rule->mark->size_px * points_per_px / 2;
      boxes.push_back({p.x - half, p.y - half, p.x + half, p.y + half});
    }
  }
  return boxes;
}

int draw_labels(Canvas& canvas, const MapFrame& frame, const std::vector<Drawing>& drawings) {
  std::vector<Label> labels;
  const auto gather = [&](auto keep) {
    // What is drawn later lies on top and is more important.
    for (auto drawing = drawings.rbegin(); drawing != drawings.rend(); ++drawing) {
      std::visit([&](const auto& d) { keep(d) ? collect(canvas, frame, d, labels) : void(); },
                 *drawing);
    }
  };
  // Names of places come before values, values before levels of isolines.
  gather([]<class T>(const T&) { return std::is_same_v<T, ShapesDrawing>; });
  gather([]<class T>(const T&) { return std::is_same_v<T, PointsDrawing>; });
  gather([]<class T>(const T&) { return std::is_same_v<T, LinesDrawing>; });
  std::vector<LabelWish> wishes;
  wishes.reserve(labels.size());
  for (const Label& label : labels) wishes.push_back(label.wish);
  const auto places = place_labels(wishes, marks_of(frame, drawings), frame.paper);
  int left_out = 0;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const auto& place = places[i];
    if (place) {
      canvas.draw_text(place->x, place->y, labels[i].text, labels[i].style);
    } else {
      ++left_out;
    }
  }
  return left_out;
}

}  // namespace

int draw_map(Canvas& canvas, const MapFrame& frame, const std::vector<Drawing>& drawings) {
  const Saved saved(canvas);
  cairo_rectangle(canvas.context(), frame.paper.left, frame.paper.top,
                  frame.paper.right - frame.paper.left, frame.paper.bottom - frame.paper.top);
  cairo_clip(canvas.context());
  for (const Drawing& drawing : drawings) {
    std::visit([&](const auto& d) { draw(canvas, frame, d); }, drawing);
  }
  return draw_labels(canvas, frame, drawings);
}

}  // namespace evendrip
