// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_zones = 3;        // beside the field on the first page
constexpr std::size_t zones_of_a_block = 4;  // on further pages; plots tell so many apart

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
}

double in_report_unit(const Field& field, double canonical, Dimension dimension) {
  return from_canonical(canonical, report_unit(dimension, field.report_units), dimension);
}

std::string titled(const Field& field, const std::string& name, Dimension dimension) {
  return fmt::format("{}, {}", name, report_unit(dimension, field.report_units));
}

/// Zones with figures of their own on the first page: where there are too many, the least even
/// ones.
std::vector<int> first_zones(const Evaluation& evaluation) {
  const std::size_t most = evaluation.selection ? most_zones - 1 : most_zones;
  std::vector<int> zones;
  for (const EvaluatedPart& zone : evaluation.zones) {
    if (evaluation.zones.size() <= most || zone.emitters.told) zones.push_back(zone.zone);
  }
  std::stable_sort(zones.begin(), zones.end(), [&](int a, int b) {
    return evaluation.zones[index(a)].emitters.low_quarter_frac <
           evaluation.zones[index(b)].emitters.low_quarter_frac;
  });
  if (zones.size() > most) zones.resize(most);
  std::sort(zones.begin(), zones.end());
  return zones;
}

/// The other zones on which anything was dug.
std::vector<int> further_zones(const Evaluation& evaluation) {
  const std::vector<int> first = first_zones(evaluation);
  std::vector<int> zones;
  for (const EvaluatedPart& zone : evaluation.zones) {
    const bool shown = std::find(first.begin(), first.end(), zone.zone) != first.end();
    const bool dug = zone.emitters.count + zone.damaged + zone.not_found > 0;
    if (!shown && dug) zones.push_back(zone.zone);
  }
  return zones;
}

/// A measured emitter as the plots see it.
struct Plotted {
  int zone = -1;
  double discharge = 0;  ///< report unit
  double station = std::numeric_limits<double>::quiet_NaN();
  double expected = std::numeric_limits<double>::quiet_NaN();
};

std::vector<Plotted> plotted(const Evaluation& evaluation) {
  std::vector<Plotted> all;
  const Survey& survey = evaluation.survey;
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    if (!emitter.usable() || emitter.site.zone < 0) continue;
    Plotted p;
    p.zone = emitter.site.zone;
    const double lph = emitter.state == EmitterState::none ? 0 : emitter.discharge_lph;
    p.discharge = in_report_unit(evaluation.field, lph, Dimension::discharge);
    if (emitter.site.lateral >= 0) {
      p.station = in_report_unit(evaluation.field, emitter.site.station_m, Dimension::length);
    }
    if (i < evaluation.expectation.emitters.size()) {
      p.expected = in_report_unit(evaluation.field, evaluation.expectation.emitters[i].expected_lph,
                                  Dimension::discharge);
    }
    all.push_back(p);
  }
  return all;
}

/// Mean expected discharge of a zone's laterals by station, report units.
std::vector<Point> expected_line(const Evaluation& evaluation, int zone) {
  constexpr int steps = 40;
  double longest = 0;
  const ExpectedZone* expected = nullptr;
  for (const ExpectedZone& candidate : evaluation.expectation.zones) {
    if (candidate.zone == zone && candidate.computed) expected = &candidate;
  }
  if (expected == nullptr) return {};
  for (const ExpectedLateral& lateral : expected->laterals) {
    if (!lateral.station_m.empty()) longest = std::max(longest, lateral.station_m.back());
  }
  std::vector<double> sums(steps, 0), stations(steps, 0);
  std::vector<int> counts(steps, 0);
  for (const ExpectedLateral& lateral : expected->laterals) {
    for (std::size_t i = 0; longest > 0 && i < lateral.station_m.size(); ++i) {
      const int bin = std::min(steps - 1, static_cast<int>(lateral.station_m[i] / longest * steps));
      sums[index(bin)] += lateral.discharge_lph[i];
      stations[index(bin)] += lateral.station_m[i];
      ++counts[index(bin)];
    }
  }
  std::vector<Point> line;
  for (std::size_t i = 0; i < sums.size(); ++i) {
    if (counts[i] == 0) continue;
    line.push_back({in_report_unit(evaluation.field, stations[i] / counts[i], Dimension::length),
                    in_report_unit(evaluation.field, sums[i] / counts[i], Dimension::discharge)});
  }
  return line;
}

Plot sorted_plot(const Evaluation& evaluation) {
  const Field& field = evaluation.field;
  const DepthResult& depth = evaluation.whole.depth;
  Plot plot;
  plot.title =
      evaluation.whole.depth_of == "plants" ? "What plants get, sorted" : "Discharges, sorted";
  plot.x = {"Share of the area, %", 0, 100};
  plot.y = {titled(field, "Discharge", Dimension::discharge), 0, std::nullopt};
  if (!depth.computed || depth.sorted.empty()) {
    plot.statement = depth.why_not.empty() ? "no emitter gives water" : depth.why_not;
    return plot;
  }
  PlotSeries measured = plot_look(0);
  measured.name = "measured";
  measured.mark = PlotMark::none;
  measured.width_pt = 1.3;
  PlotSeries fitted = plot_look(1);
  fitted.name = "fitted normal";
  fitted.mark = PlotMark::none;
  const double mean = in_report_unit(field, depth.mean_lph, Dimension::discharge);
  for (const SortedDischarge& step : depth.sorted) {
    const double q = in_report_unit(field, step.discharge_lph, Dimension::discharge);
    measured.points.push_back({100 * step.share_from_frac, q});
    measured.points.push_back({100 * step.share_to_frac, q});
    fitted.points.push_back(
        {50 * (step.share_from_frac + step.share_to_frac), mean * step.normal_relative});
  }
  // The fitted tail above every reading would only flatten the plot.
  const double most = 1.1 * measured.points.back().y;
  std::erase_if(fitted.points, [most](const Point& p) { return p.y > most; });
  plot.series = {measured, fitted};
  plot.guides = {{mean, "mean"}};
  return plot;
}

/// Which zones a plot shows, each with a look of its own.
struct ShownZones {
  std::vector<int> zones;
  bool others = false;  ///< the others too, together
};

template <class PointOf>
std::vector<PlotSeries> series_by_zone(const Evaluation& evaluation,
                                       const std::vector<Plotted>& emitters,
                                       const ShownZones& shown, const PointOf& point_of) {
  const std::vector<int>& zones = shown.zones;
  std::vector<PlotSeries> series;
  for (std::size_t i = 0; i < zones.size() + (shown.others ? 1 : 0); ++i) {
    PlotSeries of_zone = plot_look(i < zones.size() ? i : most_zones);
    of_zone.line = PlotLine::none;
    of_zone.name =
        i < zones.size() ? "zone " + evaluation.zones[index(zones[i])].name : "other zones";
    for (const Plotted& emitter : emitters) {
      const bool named = std::find(zones.begin(), zones.end(), emitter.zone) != zones.end();
      if (i < zones.size() ? emitter.zone != zones[i] : named) continue;
      const Point p = point_of(emitter);
      if (std::isfinite(p.x) && std::isfinite(p.y)) of_zone.points.push_back(p);
    }
    if (!of_zone.points.empty()) series.push_back(std::move(of_zone));
  }
  return series;
}

Plot station_plot(const Evaluation& evaluation, const std::vector<Plotted>& emitters,
                  const ShownZones& shown) {
  Plot plot;
  plot.title = "Along the laterals (lines: expected)";
  plot.x = {titled(evaluation.field, "From the supply end", Dimension::length), 0, std::nullopt};
  plot.y = {titled(evaluation.field, "Discharge", Dimension::discharge), 0, std::nullopt};
  const auto marks = series_by_zone(evaluation, emitters, shown, [](const Plotted& emitter) {
    return Point{emitter.station, emitter.discharge};
  });
  if (marks.empty()) {
    plot.statement = "no emitter has a known place on a lateral";
    return plot;
  }
  for (std::size_t i = 0; i < shown.zones.size(); ++i) {
    PlotSeries line = plot_look(i);
    line.mark = PlotMark::none;
    line.points = expected_line(evaluation, shown.zones[i]);
    if (!line.points.empty()) plot.series.push_back(std::move(line));
  }
  if (plot.series.empty()) plot.title = "Along the laterals";
  plot.series.insert(plot.series.end(), marks.begin(), marks.end());
  return plot;
}

/// Shares of what is expected, as lines across the plot.
std::vector<PlotSeries> share_lines(const Thresholds& thresholds, const PlotRange& range) {
  struct Level {
    double share;
    PlotLine line;
  };
  std::vector<PlotSeries> lines;
  for (const Level& level :
       {Level{1, PlotLine::solid}, Level{thresholds.low_below, PlotLine::dashed},
        Level{thresholds.clogged_below, PlotLine::dotted}}) {
    PlotSeries line;
    line.line = level.line;
    line.colour = {0.3, 0.3, 0.3, 1};
    line.name = fmt::format("{:.0f} %", 100 * level.share);
    line.points = {{range.low, level.share * range.low}, {range.high, level.share * range.high}};
    lines.push_back(std::move(line));
  }
  return lines;
}

Plot expected_plot(const Evaluation& evaluation, const std::vector<Plotted>& emitters,
                   const ShownZones& shown) {
  const Field& field = evaluation.field;
  Plot plot;
  plot.title = "Measured against expected";
  plot.x = {titled(field, "Expected of a clean system", Dimension::discharge), {}, {}};
  plot.y = {titled(field, "Measured", Dimension::discharge), 0, std::nullopt};
  auto marks = series_by_zone(evaluation, emitters, shown, [](const Plotted& emitter) {
    return Point{emitter.expected, emitter.discharge};
  });
  if (marks.empty()) {
    plot.statement = "no expected discharge is known; what is needed stands below";
    return plot;
  }
  plot.series = marks;
  const PlotRange range = plot_ranges(plot).x;
  plot.x.low = range.low;
  plot.x.high = range.high;
  plot.series = share_lines(field.thresholds, range);
  // Zones have their marks from the plot beside this one.
  for (PlotSeries& series : marks) series.name.clear();
  plot.series.insert(plot.series.end(), marks.begin(), marks.end());
  return plot;
}

std::string low_quarter_of(const EvaluatedPart& zone) {
  if (!zone.emitters.told) return "not told, " + zone.emitters.why_not;
  return percent_with_limits(zone.emitters.low_quarter_frac,
                             zone.emitters.limits_of(Measure::low_quarter));
}

/// Every zone in few words; where the rest of it is.
std::string zones_text(const Evaluation& evaluation) {
  std::string text, undug;
  for (const EvaluatedPart& zone : evaluation.zones) {
    if (zone.emitters.count == 0) {
      undug += (undug.empty() ? "" : ", ") + zone.name;
    } else {
      text +=
          fmt::format("{}Zone {}: {}", text.empty() ? "" : ". ", zone.name, low_quarter_of(zone));
    }
  }
  if (!text.empty()) text += ". ";
  if (!undug.empty()) text += fmt::format("No usable emitter in {}. ", undug);
  if (!further_zones(evaluation).empty()) {
    text += "The table below holds the least even zones, further pages the others. ";
  }
  return text;
}

std::string reading_of(const Evaluation& evaluation) {
  std::string text;
  if (evaluation.zones.size() > 1) text = zones_text(evaluation);
  if (evaluation.selection) {
    text += fmt::format("Selection: {}. ", low_quarter_of(*evaluation.selection));
  }
  const std::string& judged = evaluation.whole.low_quarter_sample.text;
  if (!judged.empty()) text += "Was enough dug? " + judged;
  if (!text.empty() && text.back() != '.' && text.back() != ' ') text += ".";
  return text;
}

/// Without what the table tells in figures. What is not computed stands among the first.
std::vector<std::string> conclusions_for_page(const Evaluation& evaluation) {
  constexpr std::ptrdiff_t place = 2;
  std::vector<std::string> texts = conclusions_of(evaluation, Conclusions::without_details);
  const auto missing = std::find_if(texts.begin(), texts.end(), [](const std::string& text) {
    return text.rfind("Not computed", 0) == 0;
  });
  if (missing != texts.end() && missing - texts.begin() > place) {
    std::rotate(texts.begin() + place, missing, missing + 1);
  }
  return texts;
}

/// A few zones each, with their own plots.
std::vector<EvaluationBlock> further_blocks(const Evaluation& evaluation,
                                            const std::vector<Plotted>& emitters) {
  const std::vector<int> zones = further_zones(evaluation);
  std::vector<EvaluationBlock> blocks;
  for (std::size_t from = 0; from < zones.size(); from += zones_of_a_block) {
    const std::size_t to = std::min(zones.size(), from + zones_of_a_block);
    const ShownZones shown{{zones.begin() + static_cast<std::ptrdiff_t>(from),
                            zones.begin() + static_cast<std::ptrdiff_t>(to)},
                           false};
    std::vector<const EvaluatedPart*> parts;
    parts.reserve(shown.zones.size());
    for (const int zone : shown.zones) parts.push_back(&evaluation.zones[index(zone)]);
    EvaluationTable table = evaluation_table(evaluation, parts);
    blocks.push_back(
        {std::move(table.columns),
         std::move(table.rows),
         {station_plot(evaluation, emitters, shown), expected_plot(evaluation, emitters, shown)}});
  }
  return blocks;
}

}  // namespace

EvaluationSheet evaluation_page(const Evaluation& evaluation, const MapResources& resources) {
  EvaluationSheet page;
  page.title = "Evaluation of emitter uniformity";
  page.field = evaluation.field.name;
  page.survey = "survey " + evaluation.survey.id;
  page.date = evaluation.survey.date;
  const bool one = evaluation.zones.size() == 1;
  page.verdict = verdict_of(evaluation, one ? evaluation.zones.front() : evaluation.whole) + ".";
  page.reading = reading_of(evaluation);
  page.facts = evaluation_facts(evaluation);
  const ShownZones shown{first_zones(evaluation), true};
  std::vector<const EvaluatedPart*> parts;
  if (!one) parts.push_back(&evaluation.whole);
  if (evaluation.selection) parts.push_back(&*evaluation.selection);
  for (const int zone : shown.zones) parts.push_back(&evaluation.zones[index(zone)]);
  EvaluationTable table = evaluation_table(evaluation, parts);
  page.columns = std::move(table.columns);
  page.rows = std::move(table.rows);
  const std::vector<Plotted> emitters = plotted(evaluation);
  page.plots = {sorted_plot(evaluation), station_plot(evaluation, emitters, shown),
                expected_plot(evaluation, emitters, shown)};
  page.further = further_blocks(evaluation, emitters);
  page.map = evaluation_map(evaluation.field, evaluation.survey, relative_discharges(evaluation),
                            resources);
  page.doubts = conclusions_for_page(evaluation);
  page.cautions = evaluation_cautions();
  page.foot = fmt::format(
      "evendrip {}; seed {}; hashes of the inputs, every figure and its method "
      "are in the JSON of the same evaluation.",
      evaluation.version, evaluation.options.seed);
  return page;
}

}  // namespace evendrip
