// SPDX-License-Identifier: Apache-2.0
// The table of an evaluation sheet: groups of rows with their heading beside them.
#include "evaluation_layout.hpp"

#include <algorithm>

namespace evendrip::evaluation_layout {
namespace {

constexpr double group_width = 82;
constexpr double label_width = 132;
constexpr double cell_gap = 5;
constexpr double head_height = 11;
constexpr double cells_left = left + group_width + cell_gap + label_width + cell_gap;
constexpr double usual_pt = 6.8, smallest_pt = 5.8;

struct TableShape {
  double text_pt = usual_pt;
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

double groups_height(Canvas& canvas, const std::vector<RowGroup>& groups, const TableShape& shape) {
  double height = head_height;
  for (const RowGroup& group : groups) height += group_height(canvas, group, shape);
  return height;
}

TableShape shape_of(const TableText& table) {
  TableShape shape;
  const auto columns = static_cast<double>(std::max<std::size_t>(1, table.columns.size()));
  shape.cell_width = (right - cells_left + cell_gap) / columns - cell_gap;
  return shape;
}

double cell_left(std::size_t column, const TableShape& shape) {
  return cells_left + static_cast<double>(column) * (shape.cell_width + cell_gap);
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

/// As many rows as have room above `height`, at least one.
RowGroup parted(Canvas& canvas, const RowGroup& group, double height, const TableShape& shape) {
  std::size_t rows = 0;
  for (double used = 0; rows < group.rows.size(); ++rows) {
    used += row_height(canvas, group.rows[rows], shape);
    if (rows > 0 && used > height) break;
  }
  return {group.heading, group.rows.first(rows)};
}

void keep(const RowGroup& group, std::size_t from, std::vector<EvaluationRow>& rest) {
  if (!group.heading.empty()) rest.push_back({group.heading, {}});
  rest.insert(rest.end(), group.rows.begin() + static_cast<std::ptrdiff_t>(from), group.rows.end());
}

}  // namespace

void line_across(const Canvas& canvas, double y, double from, double to,
                 const StrokeStyle& stroke) {
  cairo_move_to(canvas.context(), from, y);
  cairo_line_to(canvas.context(), to, y);
  stroke_path(canvas, stroke);
}

double table_height(Canvas& canvas, const TableText& table, TableType type) {
  TableShape shape = shape_of(table);
  if (type == TableType::smallest) shape.text_pt = smallest_pt;
  return groups_height(canvas, groups_of(table.rows), shape);
}

DrawnTable draw_table(Canvas& canvas, const TableText& table, double top, double bottom,
                      TablePlace place) {
  const std::vector<RowGroup> groups = groups_of(table.rows);
  TableShape shape = shape_of(table);
  while (shape.text_pt > smallest_pt && groups_height(canvas, groups, shape) > bottom - top) {
    shape.text_pt -= 0.1;
  }
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    TextStyle head = bold(7, shape.cell_width);
    head.height_pt = 1;
    canvas.draw_text(cell_left(i, shape), top, table.columns[i], head);
  }
  DrawnTable drawn{top + head_height, {}};
  for (std::size_t i = 0; i < groups.size(); ++i) {
    const RowGroup& group = groups[i];
    const double room = bottom - drawn.bottom;
    const bool fits = group_height(canvas, group, shape) <= room;
    if (!drawn.rest.empty() || (!fits && !(i == 0 && place == TablePlace::first_on_page))) {
      keep(group, 0, drawn.rest);
      continue;
    }
    const RowGroup now = fits ? group : parted(canvas, group, room, shape);
    line_across(canvas, drawn.bottom - 0.6, left, right);
    draw_group(canvas, now, drawn.bottom, shape);
    drawn.bottom += group_height(canvas, now, shape);
    if (now.rows.size() < group.rows.size()) keep(group, now.rows.size(), drawn.rest);
  }
  line_across(canvas, drawn.bottom - 0.6, left, right);
  return drawn;
}

}  // namespace evendrip::evaluation_layout
