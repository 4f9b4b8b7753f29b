// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/evaluation_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "canvas.hpp"
#include "furniture.hpp"
#include "map_frame.hpp"
#include "sheet_parts.hpp"
#include "symbols.hpp"

namespace evendrip {
namespace {

constexpr TextSize a4{595.276, 841.890};
constexpr double margin = 28;
constexpr double left = margin;
constexpr double right = 595.276 - margin;
constexpr double width = right - left;
constexpr double foot_height = 38;  ///< signature and version
constexpr double facts_width = 250;
constexpr double gap = 10;
constexpr double plot_height = 118;
constexpr double group_width = 82;
constexpr double label_width = 132;
constexpr double cell_gap = 5;
const Colour ink{0.08, 0.08, 0.08, 1};
const Colour soft{0.32, 0.32, 0.32, 1};
const Colour band{0.925, 0.935, 0.945, 1};
const StrokeStyle rule_stroke{{0.55, 0.55, 0.55, 1}, 0.6, {}};
const StrokeStyle hair_stroke{{0.82, 0.82, 0.82, 1}, 0.5, {}};

TextStyle plain(double size_pt, double width_pt = 0) {
  TextStyle style{.size_pt = size_pt, .colour = ink};
  style.width_pt = width_pt;
  return style;
}

TextStyle bold(double size_pt, double width_pt = 0) {
  TextStyle style = plain(size_pt, width_pt);
  style.weight = Weight::bold;
  return style;
}

void fill(const Canvas& canvas, const PaperBox& box, const Colour& colour) {
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  canvas.set_colour(colour);
  cairo_fill(canvas.context());
}

void line_across(const Canvas& canvas, double y, double from, double to,
                 const StrokeStyle& stroke = rule_stroke) {
  cairo_move_to(canvas.context(), from, y);
  cairo_line_to(canvas.context(), to, y);
  stroke_path(canvas, stroke);
}

/// Returns where the next part may begin.
double draw_head(Canvas& canvas, const EvaluationSheet& sheet) {
  TextStyle title = bold(14, width);
  title.height_pt = 1;
  canvas.draw_text(left, margin - 8, sheet.title, title);
  TextStyle name = plain(9.5, width);
  name.height_pt = 1;
  name.colour = soft;
  std::string under = sheet.field;
  if (!sheet.survey.empty()) under += ", " + sheet.survey;
  if (!sheet.date.empty()) under += ", " + sheet.date;
  canvas.draw_text(left, margin + 10, under, name);

  const double top = margin + 25;
  TextStyle verdict = bold(10, width - 16);
  TextStyle reading = plain(7.2, width - 16);
  const double height =
      canvas.text_size(sheet.verdict, verdict).height +
      (sheet.reading.empty() ? 0 : canvas.text_size(sheet.reading, reading).height + 2) + 10;
  fill(canvas, {left, top, right, top + height}, band);
  fill(canvas, {left, top, left + 3, top + height}, {0.03, 0.25, 0.50, 1});
  const double below =
      top + 5 + canvas.draw_text(left + 10, top + 5, sheet.verdict, verdict).height;
  if (!sheet.reading.empty()) canvas.draw_text(left + 10, below + 2, sheet.reading, reading);
  return top + height + 7;
}

double draw_facts(Canvas& canvas, const EvaluationSheet& sheet, double top, double within) {
  constexpr double name_width = 56;
  double y = top;
  for (const auto& [name, text] : sheet.facts) {
    TextStyle label = plain(6.8, name_width);
    label.colour = soft;
    const TextStyle value = plain(6.8, within - name_width - 4);
    const double a = canvas.draw_text(left, y, name, label).height;
    const double b = canvas.draw_text(left + name_width + 4, y, text, value).height;
    y += std::max(a, b) + 1.6;
  }
  return y;
}

/// What must be seen, centred in the box.
MapFrame inset_frame(const Sheet& map, const PaperBox& box) {
  MapFrame frame;
  frame.paper = box;
  const double box_width = box.right - box.left, box_height = box.bottom - box.top;
  const double per_point = std::max(std::max(map.extent.width(), 1.0) * 1.08 / box_width,
                                    std::max(map.extent.height(), 1.0) * 1.08 / box_height);
  const Point centre{(map.extent.x_min + map.extent.x_max) / 2,
                     (map.extent.y_min + map.extent.y_max) / 2};
  frame.world = {centre.x - box_width * per_point / 2, centre.y - box_height * per_point / 2,
                 centre.x + box_width * per_point / 2, centre.y + box_height * per_point / 2};
  return frame;
}

/// Marks of the classes that are on the map, in rows; returns the height used.
double draw_map_key(Canvas& canvas, const Sheet& map, const PaperBox& box) {
  constexpr double row = 9.5, swatch = 10;
  double x = box.left, y = box.top;
  for (const Drawing& drawing : map.drawings) {
    const auto* points = std::get_if<PointsDrawing>(&drawing);
    if (points == nullptr || points->classes.empty()) continue;
    for (const StyleRule& rule : points->style.rules) {
      const auto shown = std::count(points->classes.begin(), points->classes.end(), rule.name);
      if (shown == 0 || !rule.mark) continue;
      const std::string text = fmt::format("{} ({})", rule.title, shown);
      const double wide = swatch + canvas.text_size(text, plain(6.4)).width + 9;
      if (x > box.left && x + wide - 9 > box.right) {
        x = box.left;
        y += row;
      }
      draw_mark(canvas, {x + swatch / 2 - 1, y + row / 2}, *rule.mark);
      canvas.draw_text(x + swatch, y + 0.8, text, plain(6.4));
      x += wide;
    }
  }
  return y + row - box.top;
}

void draw_inset(Canvas& canvas, const Sheet& map, const PaperBox& box) {
  constexpr double below = 48;
  const MapFrame frame = inset_frame(map, {box.left, box.top, box.right, box.bottom - below});
  draw_map(canvas, frame, map.drawings);
  cairo_rectangle(canvas.context(), frame.paper.left, frame.paper.top,
                  frame.paper.right - frame.paper.left, frame.paper.bottom - frame.paper.top);
  stroke_path(canvas, rule_stroke);
  const double key = draw_map_key(
      canvas, map, {box.left, frame.paper.bottom + 3, box.right, frame.paper.bottom + 24});
  const double y = frame.paper.bottom + 3 + key + 1;
  draw_scale_bar(canvas, frame, {box.left + 5, y}, 96, map);
  draw_north_arrow(canvas, {box.right - 92, y + 1}, map.convergence_deg);
}

/// Facts at the left, map at the right.
double draw_upper(Canvas& canvas, const EvaluationSheet& sheet, double top) {
  if (!sheet.map) return draw_facts(canvas, sheet, top, width) + 5;
  const double bottom = std::max(draw_facts(canvas, sheet, top, facts_width), top + 160);
  draw_inset(canvas, *sheet.map, {left + facts_width + gap, top, right, bottom});
  return bottom + 5;
}

struct TableShape {
  double text_pt = 6.8;
  double cell_width = 0;
};

/// A heading and the rows below it, which stand beside it.
struct RowGroup {
  std::string heading;
  std::span<const EvaluationRow> rows;
};

std::vector<RowGroup> groups_of(const std::vector<EvaluationRow>& rows) {
  std::vector<RowGroup> groups;
  std::size_t from = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].cells.empty()) {
      groups.push_back({rows[i].label, {}});
      from = i + 1;
      continue;
    }
    if (groups.empty()) groups.emplace_back();
    groups.back().rows = {rows.data() + from, i + 1 - from};
  }
  return groups;
}

double row_height(Canvas& canvas, const EvaluationRow& row, const TableShape& shape) {
  double height = canvas.text_size(row.label, plain(shape.text_pt, label_width)).height;
  for (const std::string& cell : row.cells) {
    height =
        std::max(height, canvas.text_size(cell, plain(shape.text_pt, shape.cell_width)).height);
  }
  return height + 0.9;
}

double group_height(Canvas& canvas, const RowGroup& group, const TableShape& shape) {
  double height = 0;
  for (const EvaluationRow& row : group.rows) height += row_height(canvas, row, shape);
  return std::max(height,
                  canvas.text_size(group.heading, bold(shape.text_pt, group_width)).height) +
         2.2;
}

double table_height(Canvas& canvas, const std::vector<RowGroup>& groups, const TableShape& shape) {
  double height = 11;
  for (const RowGroup& group : groups) height += group_height(canvas, group, shape);
  return height;
}

double cell_left(std::size_t column, const TableShape& shape) {
  return left + group_width + cell_gap + label_width + cell_gap +
         static_cast<double>(column) * (shape.cell_width + cell_gap);
}

void draw_group(Canvas& canvas, const RowGroup& group, double top, const TableShape& shape) {
  const double label_left = left + group_width + cell_gap;
  canvas.draw_text(left, top + 0.8, group.heading, bold(shape.text_pt, group_width));
  double y = top + 0.8;
  for (const EvaluationRow& row : group.rows) {
    const double height = row_height(canvas, row, shape);
    if (&row != group.rows.data()) line_across(canvas, y - 0.3, label_left, right, hair_stroke);
    canvas.draw_text(label_left, y, row.label, plain(shape.text_pt, label_width));
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      canvas.draw_text(cell_left(i, shape), y, row.cells[i],
                       plain(shape.text_pt, shape.cell_width));
    }
    y += height;
  }
}

struct Used {
  double bottom = 0;
  int left_out = 0;
};

/// In the largest type in which all rows have room above `bottom`.
Used draw_table(Canvas& canvas, const EvaluationSheet& sheet, double top, double bottom) {
  const std::vector<RowGroup> groups = groups_of(sheet.rows);
  TableShape shape;
  const auto columns = static_cast<double>(std::max<std::size_t>(1, sheet.columns.size()));
  shape.cell_width = (right - cell_left(0, shape) + cell_gap) / columns - cell_gap;
  while (shape.text_pt > 5.8 && table_height(canvas, groups, shape) > bottom - top) {
    shape.text_pt -= 0.1;
  }
  for (std::size_t i = 0; i < sheet.columns.size(); ++i) {
    TextStyle head = bold(7, shape.cell_width);
    head.height_pt = 1;
    canvas.draw_text(cell_left(i, shape), top, sheet.columns[i], head);
  }
  Used used{top + 11, 0};
  for (const RowGroup& group : groups) {
    const double height = group_height(canvas, group, shape);
    if (used.left_out > 0 || used.bottom + height > bottom) {
      used.left_out += static_cast<int>(group.rows.size());
      continue;
    }
    line_across(canvas, used.bottom - 0.6, left, right);
    draw_group(canvas, group, used.bottom, shape);
    used.bottom += height;
  }
  line_across(canvas, used.bottom - 0.6, left, right);
  return used;
}

double draw_plots(Canvas& canvas, const EvaluationSheet& sheet, double top) {
  if (sheet.plots.empty()) return top;
  const auto count = static_cast<double>(sheet.plots.size());
  const double each = (width - gap * (count - 1)) / count;
  for (std::size_t i = 0; i < sheet.plots.size(); ++i) {
    const double x = left + static_cast<double>(i) * (each + gap);
    draw_plot(canvas, {x, top, x + each, top + plot_height}, sheet.plots[i]);
  }
  return top + plot_height + 5;
}

double texts_height(Canvas& canvas, const std::vector<std::string>& texts, const TextStyle& style) {
  double height = 0;
  for (const std::string& text : texts) height += canvas.text_size(text, style).height + 1.2;
  return height;
}

/// A heading and its texts in one column; returns how many found no room.
int draw_texts(Canvas& canvas, const std::string& heading, const std::vector<std::string>& texts,
               const PaperBox& box) {
  if (texts.empty()) return 0;
  double y = box.top + canvas.draw_text(box.left, box.top, heading, bold(7.2)).height + 1;
  TextStyle style = plain(6.6, box.right - box.left - 7);
  while (style.size_pt > 5.7 && texts_height(canvas, texts, style) > box.bottom - y) {
    style.size_pt -= 0.1;
  }
  const double told = 1.25 * style.size_pt;  // room for the line that counts what is left out
  const bool all = texts_height(canvas, texts, style) <= box.bottom - y;
  int left_out = 0;
  for (const std::string& text : texts) {
    const double height = canvas.text_size(text, style).height + 1.2;
    if (left_out > 0 || (!all && y + height > box.bottom - told)) {
      ++left_out;
      continue;
    }
    canvas.draw_text(box.left, y, "–", style);
    canvas.draw_text(box.left + 7, y, text, style);
    y += height;
  }
  if (left_out > 0) {
    canvas.draw_text(box.left, y, fmt::format("and {} more, in the text and the JSON", left_out),
                     style);
  }
  return left_out;
}

void draw_foot(Canvas& canvas, const EvaluationSheet& sheet) {
  const double y = a4.height - margin - 18;
  struct Place {
    const char* what;
    double from, to;
  };
  for (const Place& place : {Place{"Evaluated by (name, signature)", left, left + 230},
                             Place{"Licence or certificate", left + 245, left + 400},
                             Place{"Date", left + 415, right}}) {
    line_across(canvas, y, place.from, place.to);
    TextStyle label = plain(6.4);
    label.colour = soft;
    canvas.draw_text(place.from, y + 2, place.what, label);
  }
  TextStyle version = plain(5.8, width);
  version.colour = soft;
  version.height_pt = 1;
  canvas.draw_text(left, a4.height - margin + 2, sheet.foot, version);
}

DrawnEvaluation draw_page(Canvas& canvas, const EvaluationSheet& sheet) {
  canvas.set_colour({1, 1, 1, 1});
  cairo_paint(canvas.context());
  const double bottom = a4.height - margin - foot_height;
  double y = draw_head(canvas, sheet);
  y = draw_upper(canvas, sheet, y);
  // Texts need a column of their own height below table and plots; the table gets the rest.
  const double least_texts = 72;
  const double plots = sheet.plots.empty() ? 0 : plot_height + 5;
  const Used table = draw_table(canvas, sheet, y, bottom - least_texts - plots - 6);
  y = draw_plots(canvas, sheet, table.bottom + 6);
  const double middle = left + width * 0.69;
  DrawnEvaluation drawn;
  drawn.rows_left_out = table.left_out;
  drawn.doubts_left_out =
      draw_texts(canvas, "What can and cannot be concluded", sheet.doubts,
                 {left, y, sheet.cautions.empty() ? right : middle - gap, bottom});
  drawn.doubts_left_out +=
      draw_texts(canvas, "Cautions", sheet.cautions, {middle, y, right, bottom});
  draw_foot(canvas, sheet);
  drawn.foreign_characters = canvas.foreign_characters();
  return drawn;
}

}  // namespace

DrawnEvaluation draw_evaluation_pdf(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file) {
  Canvas canvas = Canvas::pdf(a4, sheet.title + ": " + sheet.field, "surveyed " + sheet.date,
                              creation_date(sheet.date), resources);
  const DrawnEvaluation drawn = draw_page(canvas, sheet);
  canvas.finish_pdf(file);
  return drawn;
}

DrawnEvaluation draw_evaluation_png(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file, double dots_per_inch) {
  const auto pixels = [&](double points) {
    return static_cast<int>(std::lround(points / 72 * dots_per_inch));
  };
  Canvas canvas = Canvas::picture(pixels(a4.width), pixels(a4.height), a4, resources);
  const DrawnEvaluation drawn = draw_page(canvas, sheet);
  canvas.finish_png(file);
  return drawn;
}

}  // namespace evendrip
