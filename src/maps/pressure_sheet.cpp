// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/pressure_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "sheet_parts.hpp"

namespace evendrip {

namespace {

constexpr const char* pressure_caution =
    "Lines are under pressure while water runs: let the pressure go before opening a port or cap. "
    "Before digging, have buried utilities located. Local codes and licensed practice come first.";

std::string pressure_unit(const Field& field) {
  return std::string(report_unit(Dimension::pressure, field.report_units));
}

std::vector<PortComparison> comparisons_at(const std::vector<ExpectedZone>& zones, int port) {
  std::vector<PortComparison> found;
  for (const ExpectedZone& zone : zones) {
    for (const PortComparison& comparison : zone.gauges.ports) {
      if (zone.computed && comparison.port == port) found.push_back(comparison);
    }
  }
  return found;
}

/// "98 / 101"; nothing where there is nothing to compare, as at the filter and the pump, whose
/// gauges stand close together and are in the tables.
std::string port_label(const Field& field, const std::vector<PortComparison>& comparisons) {
  const int decimals = field.report_units == UnitSystem::metric ? 0 : 1;
  std::string label;
  for (const PortComparison& comparison : comparisons) {
    if (!label.empty()) label += "; ";
    label += fmt::format(
        "{:.{}f} / {:.{}f}", in_report_unit(field, comparison.measured_kpa, Dimension::pressure),
        decimals, in_report_unit(field, comparison.modelled_kpa, Dimension::pressure), decimals);
  }
  return label;
}

PointsDrawing ports(const Field& field, const std::vector<ExpectedZone>& zones,
                    const MapResources& resources) {
  PointsDrawing drawing;
  drawing.style = style_of(resources, "ports");
  drawing.style.title += ", measured / modelled, " + pressure_unit(field);
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    const auto comparisons = comparisons_at(zones, static_cast<int>(i));
    drawing.points.push_back(field.ports[i].place);
    drawing.classes.push_back(port_class(comparisons));
    drawing.labels.push_back(port_label(field, comparisons));
  }
  return drawing;
}

std::string zone_note(const Field& field, const ExpectedZone& zone) {
  const std::string& id = field.zones[static_cast<std::size_t>(zone.zone)].id;
  if (!zone.computed) return fmt::format("Zone {} is not computed: {}.", id, zone.why_not);
  const Estimate& inlet = zone.gauges.inlet_kpa;
  return fmt::format("Zone {}: inlet {:.1f} ± {:.1f} {} ({}).", id,
                     in_report_unit(field, inlet.value, Dimension::pressure),
                     in_report_unit(field, inlet.sd, Dimension::pressure), pressure_unit(field),
                     zone.gauges.inlet_source);
}

void add_zone_notes(Sheet& sheet, const Field& field, const std::vector<ExpectedZone>& zones) {
  constexpr std::size_t most = 6;
  for (std::size_t i = 0; i < std::min(most, zones.size()); ++i) {
    sheet.notes.push_back(zone_note(field, zones[i]));
  }
  if (zones.size() > most) {
    sheet.notes.push_back(fmt::format("and {} more zones, in the tables", zones.size() - most));
  }
}

}  // namespace

std::optional<double> irrigating_reading_kpa(const Survey& survey, int port) {
  double sum = 0;
  int readings = 0;
  for (const PressureReading& reading : survey.pressures) {
    if (reading.port != port || reading.running == "flushing") continue;
    sum += reading.pressure_kpa;
    ++readings;
  }
  if (readings == 0) return std::nullopt;
  return sum / readings;
}

Style pressure_style(const Raster& pressure_kpa, const MapResources& resources) {
  return stretched_style(resources, "pressure", pressure_kpa);
}

std::string port_class(std::span<const PortComparison> comparisons) {
  if (comparisons.empty()) return "not_compared";
  const bool flagged = std::any_of(comparisons.begin(), comparisons.end(),
                                   [](const PortComparison& port) { return port.flagged; });
  return flagged ? "disagrees" : "agrees";
}

Sheet pressure_sheet(const Field& field, const Survey& survey, const Raster& pressure_kpa,
                     const std::vector<ExpectedZone>& zones, const SheetContext& context,
                     const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Pressure");
  const Raster shown = in_report_unit(field, pressure_kpa, Dimension::pressure);
  sheet.drawings.emplace_back(
      raster_drawing(field, shown, pressure_style(shown, resources),
                     "Pressure of a clean system, " + pressure_unit(field)));
  add_lines(sheet, field, resources);
  if (!field.ports.empty()) sheet.drawings.emplace_back(ports(field, zones, resources));
  add_zone_notes(sheet, field, zones);
  sheet.notes.emplace_back(
      "The map is of a clean system at the measured inlet pressure, along the nearest lateral. At "
      "the ports: gauge, at the height of the line, / model with friction and wear as gauges and "
      "holes say.");
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  sheet.caution = pressure_caution;
  return sheet;
}

}  // namespace evendrip
