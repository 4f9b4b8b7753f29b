// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include <fmt/format.h>

#include "evaluation_parts.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

constexpr std::size_t label_width = 48;
constexpr std::size_t cell_width = 24;

std::string row_text(const EvaluationRow& row) {
  if (row.cells.empty()) return "\n" + row.label + "\n";
  std::vector<std::vector<std::string>> cells;
  std::size_t height = 1;
  for (const std::string& cell : row.cells) {
    cells.push_back(lines_of(cell, cell_width));
    height = std::max(height, cells.back().size());
  }
  std::string out;
  for (std::size_t i = 0; i < height; ++i) {
    std::string line = "  " + padded(i == 0 ? row.label : "", label_width);
    for (const auto& cell : cells) line += padded(i < cell.size() ? cell[i] : "", cell_width + 2);
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + "\n";
  }
  return out;
}

/// Three parts stand side by side on a terminal; the rest follow below.
std::string tables(const Evaluation& evaluation) {
  constexpr std::size_t side_by_side = 3;
  std::vector<const EvaluatedPart*> all;
  if (evaluation.zones.size() > 1) all.push_back(&evaluation.whole);
  if (evaluation.selection) all.push_back(&*evaluation.selection);
  for (const EvaluatedPart& zone : evaluation.zones) all.push_back(&zone);
  std::string out;
  for (std::size_t from = 0; from < all.size(); from += side_by_side) {
    const std::size_t to = std::min(all.size(), from + side_by_side);
    const EvaluationTable table = evaluation_table(evaluation,
                                                   {all.begin() + static_cast<std::ptrdiff_t>(from),
                                                    all.begin() + static_cast<std::ptrdiff_t>(to)},
                                                   TableDetail::full);
    out += "\n" + std::string(label_width + 2, ' ');
    for (const std::string& column : table.columns) out += padded(column, cell_width + 2);
    out.erase(out.find_last_not_of(' ') + 1);
    out += "\n";
    for (const EvaluationRow& row : table.rows) out += row_text(row);
  }
  return out;
}

}  // namespace

std::string evaluation_text(const Evaluation& evaluation) {
  std::string out =
      fmt::format("{}, evaluation of survey {}{}\n\n", evaluation.field.name, evaluation.survey.id,
                  evaluation.survey.date.empty() ? std::string() : " of " + evaluation.survey.date);
  if (evaluation.zones.size() != 1) {
    out += wrapped("", verdict_of(evaluation, evaluation.whole) + ".");
  }
  for (const EvaluatedPart& zone : evaluation.zones) {
    out += wrapped("  ", verdict_of(evaluation, zone) + ".");
  }
  if (evaluation.selection) {
    out += wrapped("  ", verdict_of(evaluation, *evaluation.selection) + ".");
  }
  out += "\n";
  for (const auto& [name, text] : evaluation_facts(evaluation)) {
    out += wrapped("  " + padded(name, 10), text + ".");
  }
  out += tables(evaluation);
  out += "\nWhat can and cannot be concluded\n";
  for (const std::string& text : conclusions_of(evaluation)) out += wrapped("  - ", text);
  out += "\nCautions\n";
  for (const std::string& text : evaluation_cautions()) out += wrapped("  - ", text);
  return out;
}

}  // namespace evendrip
