// SPDX-License-Identifier: Apache-2.0
#include "evidence_ages.hpp"

#include "evendrip/base/dates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

namespace evendrip {
namespace {

constexpr double change_in_a_year = 0.05;
constexpr double days_in_year = 365.25;
constexpr int of_one_time_days = 30;
constexpr double most_cut_share = 0.25;
constexpr std::size_t most_named = 4;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Whether an entry lies between two dates.
bool between(const std::string& date, const std::string& a, const std::string& b) {
  const auto from_a = days_between(a, date);
  const auto to_b = days_between(date, b);
  const auto forward = days_between(a, b);
  if (!from_a || !to_b || !forward || *forward == 0) return false;
  return *forward > 0 ? *from_a >= 0 && *to_b > 0 : *from_a < 0 && *to_b <= 0;
}

std::string named(const Field& field, const std::vector<int>& laterals) {
  std::string text;
  for (std::size_t i = 0; i < std::min(most_named, laterals.size()); ++i)
    text += (i > 0 ? ", " : "") + field.laterals[at(laterals[i])].id;
  if (laterals.size() > most_named)
    text += fmt::format(" and {} more", laterals.size() - most_named);
  return (laterals.size() == 1 ? "lateral " : "laterals ") + text;
}

/// What an entry touches in a zone: all (empty) or some of its laterals.
std::vector<int> laterals_in(const Field& field, const MaintenanceEntry& entry, int zone) {
  std::vector<int> laterals;
  for (const int lateral : entry.laterals)
    if (field.laterals[at(lateral)].zone == zone) laterals.push_back(lateral);
  return laterals;
}

bool works_in(const Field& field, const MaintenanceEntry& entry, int zone) {
  if (!entry.changes_emitters()) return false;
  return entry.laterals.empty() ? entry.touches(zone, -1)
                                : !laterals_in(field, entry, zone).empty();
}

std::string told_of(const Field& field, const MaintenanceEntry& entry, int zone) {
  const std::vector<int> laterals = laterals_in(field, entry, zone);
  return fmt::format("{} of {} ({})", entry.action, entry.date,
                     laterals.empty() ? "the whole zone" : named(field, laterals));
}

void add_words(const std::string& words, std::string& text) {
  text += (text.empty() ? "" : "; ") + words;
}

}  // namespace

LayerAge age_of(const Field& field, const Survey& survey, const SegmentGrid& grid,
                const std::string& date) {
  LayerAge age;
  age.rows_cut.assign(at(grid.rows()), false);
  const auto days = days_between(date, survey.date);
  if (!days) return age;
  std::string done;
  for (const MaintenanceEntry& entry : field.maintenance) {
    if (!works_in(field, entry, grid.zone) || !between(entry.date, date, survey.date)) continue;
    for (int row = 0; row < grid.rows(); ++row)
      if (entry.touches(grid.zone, grid.laterals[at(row)])) age.rows_cut[at(row)] = true;
    add_words(told_of(field, entry, grid.zone), done);
  }
  age.cut = std::all_of(age.rows_cut.begin(), age.rows_cut.end(), [](bool cut) { return cut; });
  if (!done.empty())
    add_words(fmt::format("between its date, {}, and that of the holes, {}, the log has {}: of "
                          "emitters that were worked on it says nothing now",
                          date, survey.date, done),
              age.told);
  if (age.cut || std::abs(*days) < of_one_time_days) return age;
  age.change_sd = change_in_a_year * std::sqrt(std::abs(*days) / days_in_year);
  add_words(fmt::format("{} days lie between it and the holes: a change of each lateral by {:.2f} "
                        "is allowed for",
                        std::abs(*days), age.change_sd),
            age.told);
  return age;
}

void leave_out_cut(const LayerAge& age, const SegmentGrid& grid, std::vector<CropDatum>& data) {
  if (std::none_of(age.rows_cut.begin(), age.rows_cut.end(), [](bool cut) { return cut; })) return;
  std::erase_if(data, [&](const CropDatum& datum) {
    double share = 0;
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      if (age.rows_cut[at(datum.segments[k] / grid.stations())]) share += datum.weights[k];
    return share > most_cut_share;
  });
}

std::string done_since(const Field& field, const Survey& survey, int zone) {
  std::string done;
  for (const MaintenanceEntry& entry : field.maintenance) {
    const auto days = days_between(survey.date, entry.date);
    if (!days || *days <= 0 || !works_in(field, entry, zone)) continue;
    add_words(told_of(field, entry, zone), done);
  }
  if (done.empty()) return "";
  return fmt::format("this is the state on {}; since then the log has {}", survey.date, done);
}

}  // namespace evendrip
