// SPDX-License-Identifier: Apache-2.0
// The evaluation sheet, ISO A4 upright: what it says is a value of ready texts, plots and a map;
// here it is laid out and drawn so that nothing overlaps and nothing is left out. The first page is
// signed; what finds no room there follows on further pages. Marks are told apart by shape and
// shade, so that the page prints in grey.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/maps/plots.hpp"
#include "evendrip/maps/sheet.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// A line of the table; one without cells is a heading, which stands beside the lines that follow.
struct EvaluationRow {
  std::string label;
  std::vector<std::string> cells;  ///< one for each column; wrapped where needed
};

using LabelledText = std::pair<std::string, std::string>;

/// A table of its own with plots below it.
struct EvaluationBlock {
  std::vector<std::string> columns;
  std::vector<EvaluationRow> rows;
  std::vector<Plot> plots;  ///< side by side
};

struct EvaluationSheet {
  std::string title;
  std::string field;
  std::string survey;                ///< "survey 2026-spring"
  std::string date;                  ///< ISO 8601, for the file's metadata too
  std::string verdict;               ///< in large type
  std::string reading;               ///< what the verdict rests on, in small type below it
  std::vector<LabelledText> facts;   ///< system, method, counts
  std::vector<std::string> columns;  ///< heads of the table
  std::vector<EvaluationRow> rows;
  std::vector<Plot> plots;   ///< side by side
  std::optional<Sheet> map;  ///< drawings of the inset with their extent
  std::vector<std::string> doubts;
  std::vector<std::string> cautions;
  std::string foot;                      ///< version, seed
  std::vector<EvaluationBlock> further;  ///< on the pages after the first
};

struct DrawnEvaluation {
  int pages = 0;
  int foreign_characters = 0;
};
DrawnEvaluation draw_evaluation_pdf(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file);
DrawnEvaluation draw_evaluation_png(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file, double dots_per_inch = 150,
                                    int page = 1);

/// Class of a measured emitter in styles/evaluated_emitters.sld. `relative`: its discharge over
/// what is expected there; NaN where nothing is. An emitter that is not usable is "not_counted".
std::string evaluated_class(const MeasuredEmitter& emitter, double relative,
                            const Thresholds& thresholds);

/// The inset: buried lines, zones, and every measured emitter by its class. `relative`: one for
/// each of Survey::emitters.
Sheet evaluation_map(const Field& field, const Survey& survey, std::span<const double> relative,
                     const MapResources& resources);

}  // namespace evendrip
