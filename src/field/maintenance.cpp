// SPDX-License-Identifier: Apache-2.0
#include "maintenance.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "evendrip/base/dates.hpp"
#include "evendrip/io/csv.hpp"

namespace evendrip {
namespace {

constexpr std::array<std::string_view, 7> mere_looking = {
    "inspection", "inspected", "inspect", "check", "checked", "reading", "note"};

class LogReader {
 public:
  LogReader(const Field& field, const FileRef& file, Doubts& doubts)
      : field_(field),
        doubts_(doubts),
        table_(read_csv(file.path, file.as_written, field.columns)) {
    doubts_.insert(doubts_.end(), table_.doubts.begin(), table_.doubts.end());
  }

  std::vector<MaintenanceEntry> read() {
    date_ = table_.required_column("date");
    action_ = table_.required_column("action");
    zone_ = table_.column("zone");
    laterals_ = table_.column("laterals");
    std::vector<MaintenanceEntry> entries;
    for (std::size_t row = 0; row < table_.rows(); ++row)
      if (auto entry = read_row(row)) entries.push_back(*std::move(entry));
    return entries;
  }

 private:
  void problem(std::size_t row, const char* column, const char* code, const char* said,
               std::string found, const char* expected) {
    doubts_.push_back({code,
                       Severity::problem,
                       {table_.file, "", table_.lines[row], column},
                       said,
                       std::move(found),
                       expected,
                       "Correct the cell, or remove the row"});
  }

  std::optional<MaintenanceEntry> read_row(std::size_t row) {
    MaintenanceEntry entry;
    entry.row = table_.lines[row];
    entry.date = table_.cell_if_any(row, date_);
    entry.action = table_.cell_if_any(row, action_);
    bool sound = true;
    if (!day_number(entry.date)) {
      problem(row, "date", "bad_date", "the value is no date", entry.date,
              "a date as year-month-day, for example 2026-05-12");
      sound = false;
    }
    if (entry.action.empty()) {
      problem(row, "action", "value_missing", "the row does not say what was done", "",
              "a word, for example repair, flush or acid");
      sound = false;
    }
    return read_place(row, entry) && sound ? std::optional(std::move(entry)) : std::nullopt;
  }

  bool read_place(std::size_t row, MaintenanceEntry& entry) {
    const std::string zone = table_.cell_if_any(row, zone_);
    for (std::size_t z = 0; z < field_.zones.size(); ++z)
      if (field_.zones[z].id == zone) entry.zone = static_cast<int>(z);
    if (!zone.empty() && entry.zone < 0) {
      problem(row, "zone", "unknown_zone", "there is no zone of that name", zone,
              "an id of [layers] zones, or nothing for the whole field");
      return false;
    }
    bool sound = true;
    std::string id;
    for (const char character : table_.cell_if_any(row, laterals_) + ";") {
      if (character != ';') {
        id += character;
        continue;
      }
      sound = add_lateral(row, trimmed(id), entry) && sound;
      id.clear();
    }
    return sound;
  }

  static std::string trimmed(const std::string& word) {
    const auto first = word.find_first_not_of(' ');
    if (first == std::string::npos) return "";
    return word.substr(first, word.find_last_not_of(' ') - first + 1);
  }

  /// Ids of laterals may stand in several zones: all of them count, unless a zone is named.
  bool add_lateral(std::size_t row, const std::string& id, MaintenanceEntry& entry) {
    if (id.empty()) return true;
    bool found = false;
    for (std::size_t i = 0; i < field_.laterals.size(); ++i) {
      const Lateral& lateral = field_.laterals[i];
      if (lateral.id != id || (entry.zone >= 0 && lateral.zone != entry.zone)) continue;
      entry.laterals.push_back(static_cast<int>(i));
      found = true;
    }
    if (!found)
      problem(row, "laterals", "unknown_lateral", "there is no lateral of that name there", id,
              "ids of [layers] laterals, separated by ';', or nothing for all of the zone");
    return found;
  }

  const Field& field_;
  Doubts& doubts_;
  Table table_;
  int date_ = -1, action_ = -1, zone_ = -1, laterals_ = -1;
};

}  // namespace

bool MaintenanceEntry::changes_emitters() const {
  std::string word;
  for (const char character : action)
    word += static_cast<char>(std::tolower(static_cast<unsigned char>(character)));
  return std::find(mere_looking.begin(), mere_looking.end(), word) == mere_looking.end();
}

bool MaintenanceEntry::touches(int zone_of_lateral, int lateral) const {
  if (!laterals.empty())
    return std::find(laterals.begin(), laterals.end(), lateral) != laterals.end();
  return zone < 0 || zone == zone_of_lateral;
}

std::vector<MaintenanceEntry> maintenance_from(const Field& field, Doubts& doubts) {
  if (!field.maintenance_log) return {};
  try {
    return LogReader(field, *field.maintenance_log, doubts).read();
  } catch (const InputError& error) {
    doubts.insert(doubts.end(), error.problems().begin(), error.problems().end());
    return {};
  }
}

}  // namespace evendrip
