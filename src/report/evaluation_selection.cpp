// SPDX-License-Identifier: Apache-2.0
// Which emitters a selection holds, and how much of the field.
#include <algorithm>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

bool among(const std::vector<int>& wanted, int index) {
  return wanted.empty() || std::find(wanted.begin(), wanted.end(), index) != wanted.end();
}

[[noreturn]] void refuse(const char* option, const std::string& text, const std::string& found,
                         const std::string& expected) {
  throw InputError(Doubt{"bad_selection",
                         Severity::problem,
                         {option, "", 0, ""},
                         text,
                         found,
                         expected,
                         "Choose by the ids of the field's layers"});
}

template <class Item>
int index_of(const std::vector<Item>& items, const char* option, const char* what,
             const std::string& id) {
  constexpr std::size_t most_named = 12;
  const auto at =
      std::find_if(items.begin(), items.end(), [&](const Item& item) { return item.id == id; });
  if (at != items.end()) return static_cast<int>(at - items.begin());
  std::string known;
  for (std::size_t i = 0; i < std::min(items.size(), most_named); ++i) {
    known += (known.empty() ? "" : ", ") + items[i].id;
  }
  if (items.size() > most_named) known += fmt::format(", ... ({} in all)", items.size());
  refuse(option, fmt::format("the field has no such {}", what), id, known);
}

/// One id, or all from one to another of the same zone.
void add_laterals(const Field& field, const std::string& text, std::vector<int>& laterals) {
  constexpr const char* option = "--laterals";
  const std::size_t dots = text.find("..");
  if (dots == std::string::npos) {
    laterals.push_back(index_of(field.laterals, option, "lateral", text));
    return;
  }
  const int first = index_of(field.laterals, option, "lateral", text.substr(0, dots));
  const int last = index_of(field.laterals, option, "lateral", text.substr(dots + 2));
  const auto at = [&field](int i) -> const Lateral& {
    return field.laterals[static_cast<std::size_t>(i)];
  };
  if (at(first).zone != at(last).zone || first > last) {
    refuse(option, "a range runs forwards, from one lateral to another of the same zone", text,
           "FIRST..LAST in the order of the laterals' layer");
  }
  for (int i = first; i <= last; ++i) {
    if (at(i).zone == at(first).zone) laterals.push_back(i);
  }
}

std::string joined(const std::vector<std::string>& texts) {
  return fmt::format("{}", fmt::join(texts, ", "));
}

std::string told(const Field& field, const std::vector<std::string>& zones,
                 const std::vector<std::string>& laterals,
                 const std::optional<StationRange>& stations) {
  std::vector<std::string> parts;
  if (!zones.empty()) parts.push_back((zones.size() == 1 ? "zone " : "zones ") + joined(zones));
  if (!laterals.empty()) parts.push_back("laterals " + joined(laterals));
  if (stations) {
    parts.push_back(
        fmt::format("{} to {} from the supply end",
                    format_quantity(stations->from_m, Dimension::length, field.report_units, 4),
                    format_quantity(stations->to_m, Dimension::length, field.report_units, 4)));
  }
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace

bool Selection::holds(const Site& site) const {
  if (!among(zones, site.zone) || !among(laterals, site.lateral)) return false;
  if (!stations) return true;
  return site.lateral >= 0 && site.station_m >= stations->from_m &&
         site.station_m <= stations->to_m;
}

Selection selected(const Field& field, const std::vector<std::string>& zones,
                   const std::vector<std::string>& laterals,
                   const std::optional<StationRange>& stations) {
  Selection selection;
  selection.text = told(field, zones, laterals, stations);
  selection.stations = stations;
  for (const std::string& id : zones) {
    selection.zones.push_back(index_of(field.zones, "--zones", "zone", id));
  }
  for (const std::string& text : laterals) add_laterals(field, text, selection.laterals);
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    if (selected_share(field, selection, static_cast<int>(i)) > 0) return selection;
  }
  refuse("--zones, --laterals, --stations", "together they hold no part of any lateral",
         selection.text, "at least a part of one lateral");
}

double selected_share(const Field& field, const Selection& selection, int lateral) {
  const Lateral& of = field.laterals[static_cast<std::size_t>(lateral)];
  if (!among(selection.zones, of.zone) || !among(selection.laterals, lateral)) return 0;
  if (!selection.stations) return 1;
  if (!(of.length_m > 0)) return 0;
  const double from_m = std::max(0.0, selection.stations->from_m);
  const double to_m = std::min(of.length_m, selection.stations->to_m);
  return std::max(0.0, to_m - from_m) / of.length_m;
}

double selected_area_ha(const Field& field, const Selection& selection, int zone) {
  const double area_ha = field.zone_area_ha(zone);
  if (selection.laterals.empty() && !selection.stations) {
    return among(selection.zones, zone) ? area_ha : 0;
  }
  double all_m = 0, selected_m = 0;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone != zone) continue;
    all_m += lateral.length_m;
    selected_m += lateral.length_m * selected_share(field, selection, static_cast<int>(i));
  }
  return all_m > 0 ? area_ha * selected_m / all_m : 0;
}

}  // namespace evendrip
