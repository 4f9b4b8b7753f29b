// SPDX-License-Identifier: Apache-2.0
// An evaluation sheet of the invented field with made-up words and figures.
#pragma once

#include <string>
#include <vector>

#include "evendrip/maps/evaluation_sheet.hpp"
#include "example_field.hpp"

namespace evendrip::example {

inline EvaluationSheet made_sheet() {
  const auto e = make_example();
  EvaluationSheet sheet;
  sheet.title = "Evaluation of emitter uniformity";
  sheet.field = e.field.name;
  sheet.survey = "survey 2026-spring";
  sheet.date = e.survey.date;
  sheet.verdict =
      "Low-quarter distribution uniformity of the field: 78 % (66 to 86, 95 % limits): good; fair "
      "cannot be excluded.";
  sheet.reading = "Zone Z1: 81 % (70 to 88). Zone Z2: 74 % (58 to 84).";
  for (const char* name : {"System", "Emitters", "Measured", "Counts", "Expected", "Limits"}) {
    sheet.facts.emplace_back(name, "some words about the " + std::string(name) +
                                       " that take more than a single line of their column");
  }
  sheet.columns = {"Field, by area", "Zone Z1", "Zone Z2"};
  for (int i = 0; i < 24; ++i) {
    if (i % 8 == 0) sheet.rows.push_back({"A heading", {}});
    sheet.rows.push_back({"A measure, number " + std::to_string(i),
                          {"78 % (66 to 86)", "81 % (70 to 88)", "good; fair cannot be excluded"}});
  }
  for (const char* title : {"Sorted", "Along the laterals", "Measured against expected"}) {
    Plot plot;
    plot.title = title;
    plot.series = {plot_look(0)};
    plot.series[0].points = {{0, 1}, {1, 0.9}, {2, 0.4}};
    sheet.plots.push_back(plot);
  }
  sheet.map = evaluation_map(e.field, e.survey, std::vector<double>(e.survey.emitters.size(), 0.95),
                             find_map_resources());
  sheet.doubts = {"Z1: fewer than six laterals: these limits rest on the model."};
  sheet.cautions = {"Before digging have buried utilities located."};
  sheet.foot = "evendrip";
  return sheet;
}

}  // namespace evendrip::example
