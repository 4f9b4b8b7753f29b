// SPDX-License-Identifier: Apache-2.0
#include "condition_why.hpp"

#include "condition_figures.hpp"
#include "table_cells.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

constexpr double told_company = 0.005;  ///< of performance, from which it is worth a word

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

using Within = std::function<bool(int row, int station)>;

void add_segments(const ZoneState& zone, const Within& within, Moved& moved) {
  WaterParts& sum = moved.parts;
  for (const SegmentCondition& one : zone.segments) {
    if (!within(one.row, one.station)) continue;
    const WaterParts parts = parts_at(zone, one.row, one.station);
    sum.level += parts.level;
    sum.station += parts.station;
    sum.lateral += parts.lateral;
    sum.group += parts.group;
    sum.local += parts.local;
    sum.company += parts.company;
    sum.network += parts.network;
    sum.by_holes += parts.by_holes;
    sum.by_crop += parts.by_crop;
    sum.by_meter += parts.by_meter;
    sum.by_spread += parts.by_spread;
    moved.performance += one.performance.value;
    moved.delivery += one.delivery.value;
    ++moved.segments;
  }
  if (moved.segments == 0) return;
  for (double* mean : {&sum.level, &sum.station, &sum.lateral, &sum.group, &sum.local, &sum.company,
                       &sum.network, &sum.by_holes, &sum.by_crop, &sum.by_meter, &sum.by_spread,
                       &moved.performance, &moved.delivery})
    *mean /= moved.segments;
}

void add_holes(const std::vector<ConditionHole>& holes, const Within& within, Moved& moved) {
  double sum = 0;
  for (const ConditionHole& hole : holes) {
    if (!within(hole.row, hole.station)) continue;
    ++moved.holes;
    sum += hole.value;
    moved.plugged += hole.plugged;
  }
  moved.caught = moved.holes > 0 ? sum / moved.holes : nan;
}

std::string told(const Moved& moved) {
  std::string text = fmt::format(
      "Performance {:.2f}: 1 {:+.2f} (zone) {:+.2f} (along the laterals alike) {:+.2f} "
      "(lateral) {:+.2f} (its group) {:+.2f} (this place){}; faults in the network change delivery "
      "by {:+.2f}, to "
      "{:.2f}",
      moved.performance, moved.parts.level, moved.parts.station, moved.parts.lateral,
      moved.parts.group, moved.parts.local,
      moved.parts.company < -told_company
          ? fmt::format(" {:+.2f} (emitters plugged in company)", moved.parts.company)
          : "",
      moved.parts.network, moved.delivery);
  text += fmt::format(
      "; of what is not the network's, the holes moved {:+.2f}, the crop {:+.2f}, the meter "
      "{:+.2f} "
      "and what else the parameters may be {:+.2f}",
      moved.parts.by_holes, moved.parts.by_crop, moved.parts.by_meter, moved.parts.by_spread);
  if (moved.holes == 0) return text + "; no hole here: told by its likes and by the crop.";
  text += fmt::format("; {} hole{} here, mean {:.2f}", moved.holes, moved.holes == 1 ? "" : "s",
                      moved.caught);
  if (std::isfinite(moved.plugged) && moved.plugged >= 0.05)
    text += fmt::format(", of them {:.1f} taken as plugged", moved.plugged);
  return text + ".";
}

std::optional<Moved> moved_within(const ZoneState& zone, const std::vector<ConditionHole>& holes,
                                  std::string place, bool finding, const Within& within) {
  Moved moved;
  moved.place = std::move(place);
  moved.finding = finding;
  moved.zone = zone.grid.zone;
  add_segments(zone, within, moved);
  if (moved.segments == 0) return std::nullopt;
  add_holes(holes, within, moved);
  moved.told = told(moved);
  return moved;
}

/// Middles of the segments, which a finding holds or not.
std::optional<Moved> moved_in_finding(const Story& story, const ZoneState& zone,
                                      const std::vector<ConditionHole>& holes,
                                      const Finding& finding) {
  const Extent extent = extent_of(finding.outline);
  return moved_within(zone, holes, finding.id, true, [&](int row, int station) {
    const Point middle = place_on_lateral(story.field, zone.grid.laterals[at(row)],
                                          zone.grid.stations_m[at(station)]);
    return extent.contains(middle) && contains(finding.outline, middle);
  });
}

}  // namespace

std::vector<Moved> what_moved(const Story& story) {
  std::vector<Moved> out;
  if (story.condition.zones.empty()) return out;
  std::vector<std::vector<ConditionHole>> holes;
  const auto add = [&out](std::optional<Moved> moved) {
    if (moved) out.push_back(std::move(*moved));
  };
  for (const ZoneState& zone : story.condition.zones) {
    holes.push_back(zone.judged ? holes_of(story, zone) : std::vector<ConditionHole>{});
    for (int row = 0; row < zone.grid.rows(); ++row) {
      const bool dug = std::any_of(holes.back().begin(), holes.back().end(),
                                   [row](const auto& hole) { return hole.row == row; });
      if (!dug) continue;
      add(moved_within(zone, holes.back(), story.field.laterals[at(zone.grid.laterals[at(row)])].id,
                       false, [row](int r, int) { return r == row; }));
    }
  }
  for (const Finding& finding : story.findings.list) {
    const auto zone = at(finding.zone);
    if (finding.zone < 0 || zone >= holes.size() || !story.condition.zones[zone].judged) continue;
    add(moved_in_finding(story, story.condition.zones[zone], holes[zone], finding));
  }
  return out;
}

ResultLayer condition_why_layer(const Story& story) {
  ResultLayer layer{
      "condition_why",
      "What moved the estimate on each dug lateral and in each low place",
      ResultLayer::Shape::none,
      {text("place", "lateral or finding"),
       text("kind", "lateral, finding"),
       text("zone", "zone"),
       integer("segments", "segments in it"),
       number("level", "part of performance: of the whole zone"),
       number("station", "part of performance: along the laterals alike"),
       number("lateral_part", "part of performance: of its lateral alone"),
       number("group_part", "part of performance: of its lateral with its neighbours"),
       number("local", "part of performance: of this place"),
       number("company", "part of performance: emitters plugged in company"),
       number("network", "change of delivery by the faults found"),
       number("from_holes",
              "what the holes moved, in sum with the next three the parts but network"),
       number("from_crop", "what the crop moved"),
       number("from_meter", "what the meter moved"),
       number("from_spread", "what other parameters that fit nearly as well moved"),
       number("performance", "mean performance"),
       number("delivery", "mean delivery"),
       integer("holes", "dug emitters in it"),
       number("caught", "their mean relative discharge"),
       number("plugged", "of them, taken as plugged"),
       text("told", "in words")},
      {}};
  for (const Moved& one : what_moved(story)) {
    const WaterParts& parts = one.parts;
    layer.rows.push_back({{},
                          {CellValue{one.place},
                           CellValue{std::string(one.finding ? "finding" : "lateral")},
                           id_of(story.field.zones, one.zone),
                           cell(one.segments),
                           cell(parts.level),
                           cell(parts.station),
                           cell(parts.lateral),
                           cell(parts.group),
                           cell(parts.local),
                           cell(parts.company),
                           cell(parts.network),
                           cell(parts.by_holes),
                           cell(parts.by_crop),
                           cell(parts.by_meter),
                           cell(parts.by_spread),
                           cell(one.performance),
                           cell(one.delivery),
                           cell(one.holes),
                           cell(one.caught),
                           one.holes > 0 ? cell(one.plugged) : CellValue{},
                           CellValue{one.told}}});
  }
  return layer;
}

}  // namespace evendrip
