// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/commissioning.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/io/csv.hpp"

namespace evendrip {
namespace {

template <typename Items>
int index_of(const Items& items, const std::string& id) {
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (items[i].id == id) return static_cast<int>(i);
  }
  return -1;
}

template <typename Items>
std::string ids_of(const Items& items) {
  std::string text;
  for (const auto& item : items) text += (text.empty() ? "" : ", ") + item.id;
  return text.empty() ? "an id, but the field has none" : text;
}

/// The columns of the table, one value for each row.
struct Columns {
  int date = -1, what = -1, id = -1, zones = -1;
  NumberColumn pressure, flow, accuracy;
};

class RecordReader {
 public:
  RecordReader(const Field& field, const FileRef& file, Doubts& doubts)
      : field_(field),
        doubts_(doubts),
        table_(read_csv(file.path, file.as_written, field.columns)) {
    doubts_.insert(doubts_.end(), table_.doubts.begin(), table_.doubts.end());
  }

  Commissioning read() {
    columns_.what = table_.required_column("what");
    columns_.id = table_.required_column("id");
    columns_.date = table_.column("date");
    columns_.zones = table_.column("zones");
    columns_.pressure = number_column(table_, "pressure", Dimension::pressure, doubts_);
    columns_.flow = number_column(table_, "flow", Dimension::discharge, doubts_);
    columns_.accuracy = plain_number_column(table_, "accuracy", doubts_);
    Commissioning record;
    for (std::size_t row = 0; row < table_.rows(); ++row) {
      if (record.date.empty()) record.date = table_.cell_if_any(row, columns_.date);
      read_row(row, record);
    }
    return record;
  }

 private:
  void problem(std::size_t row, std::string column, const char* code, std::string said,
               std::string found, std::string expected, std::string remedy) {
    doubts_.push_back({code,
                       Severity::problem,
                       {table_.file, "", table_.lines[row], std::move(column)},
                       std::move(said),
                       std::move(found),
                       std::move(expected),
                       std::move(remedy)});
  }

  void read_row(std::size_t row, Commissioning& record) {
    const std::string what = table_.cell_if_any(row, columns_.what);
    const std::string id = table_.cell_if_any(row, columns_.id);
    const std::vector<int> zones = zones_of(row);
    if (what == "port") {
      read_port(row, id, zones, record);
    } else if (what == "meter") {
      read_meter(row, id, zones, record);
    } else {
      problem(row, "what", "unknown_kind", "a row is of a port or of a meter", what,
              "port or meter", "Correct the cell");
    }
  }

  void read_port(std::size_t row, const std::string& id, const std::vector<int>& zones,
                 Commissioning& record) {
    const int port = index_of(field_.ports, id);
    if (port < 0) {
      problem(row, "id", "unknown_port", "there is no such port", id, ids_of(field_.ports),
              "Correct the cell, or the ids in [layers] ports");
    }
    const auto pressure_kpa = above_zero(row, columns_.pressure, "pressure_kpa", "pressure");
    if (port < 0 || !pressure_kpa) return;
    record.pressures.push_back(
        {port, zones, *pressure_kpa, accuracy(row, columns_.pressure, Dimension::pressure)});
  }

  void read_meter(std::size_t row, const std::string& id, const std::vector<int>& zones,
                  Commissioning& record) {
    if (zones.empty() && table_.cell_if_any(row, columns_.zones).empty()) {
      problem(row, "zones", "zones_missing", "the row does not say which zones ran", "",
              ids_of(field_.zones), "Name the zones that ran together, separated by ';'");
    }
    const auto flow_lph = above_zero(row, columns_.flow, "flow_m3_h", "flow");
    if (zones.empty() || !flow_lph) return;
    record.flows.push_back(
        {id, zones, *flow_lph, accuracy(row, columns_.flow, Dimension::discharge)});
  }

  std::vector<int> zones_of(std::size_t row) {
    std::vector<int> found;
    std::string id;
    for (const char character : table_.cell_if_any(row, columns_.zones) + ";") {
      if (character != ';' && character != ' ' && character != ',') {
        id += character;
        continue;
      }
      if (id.empty()) continue;
      const int zone = index_of(field_.zones, id);
      if (zone < 0) {
        problem(row, "zones", "unknown_zone", "there is no zone of that name", id,
                ids_of(field_.zones), "Correct the cell");
      } else if (std::find(found.begin(), found.end(), zone) == found.end()) {
        found.push_back(zone);
      }
      id.clear();
    }
    return found;
  }

  std::optional<double> above_zero(std::size_t row, const NumberColumn& column, const char* heading,
                                   const char* quantity) {
    const double value = column.values[row];
    const std::string name = column.column < 0 ? std::string(heading) : column.heading;
    if (value > 0) return value;
    if (std::isnan(value)) {
      problem(row, name, "value_missing", fmt::format("the row has no {}", quantity), "",
              "a number", "Fill in the cell, or remove the row");
    } else {
      problem(row, name, "value_not_above_zero",
              fmt::format("a {} of a running system is above 0", quantity),
              table_.cell_if_any(row, column.column), "above 0",
              "Correct the cell, or remove the row");
    }
    return std::nullopt;
  }

  /// The accuracy stands in the unit of the value's own column; 0 where it is not stated.
  double accuracy(std::size_t row, const NumberColumn& of, Dimension dimension) {
    const double stated = columns_.accuracy.values[row];
    if (std::isnan(stated)) return 0;
    if (stated < 0) {
      problem(row, "accuracy", "accuracy_negative", "an accuracy cannot be negative",
              table_.cell_if_any(row, columns_.accuracy.column),
              "0 or more, in the unit of the value", "Correct the cell");
      return 0;
    }
    const std::string stem = dimension == Dimension::pressure ? "pressure" : "flow";
    return to_canonical(stated, parse_heading(of.heading, stem, dimension).unit, dimension);
  }

  const Field& field_;
  Doubts& doubts_;
  Table table_;
  Columns columns_;
};

/// The shortest number that reads back as `canonical` when given in `unit`.
std::string shortest(double canonical, const char* unit, Dimension dimension) {
  const double value = from_canonical(canonical, unit, dimension);
  for (int digits = 4; digits < 17; ++digits) {
    std::string text = fmt::format("{:.{}g}", value, digits);
    if (to_canonical(std::stod(text), unit, dimension) == canonical) return text;
  }
  return fmt::format("{:.17g}", value);
}

std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",;\"\n\r") == std::string::npos) return text;
  std::string out = "\"";
  for (const char character : text) {
    out += character;
    if (character == '"') out += '"';
  }
  return out + '"';
}

std::string zone_list(const Field& field, const std::vector<int>& zones) {
  std::string text;
  for (const int zone : zones) {
    text += (text.empty() ? "" : ";") + field.zones[static_cast<std::size_t>(zone)].id;
  }
  return csv_cell(text);
}

}  // namespace

std::optional<Commissioning> read_commissioning(const Field& field, Doubts& doubts) {
  const auto there = std::filesystem::symlink_status(field.folder / commissioning_file);
  if (!std::filesystem::exists(there)) return std::nullopt;
  try {
    const FileRef file = resolve(field.folder, commissioning_file, "the commissioning record");
    return RecordReader(field, file, doubts).read();
  } catch (const InputError& error) {
    doubts.insert(doubts.end(), error.problems().begin(), error.problems().end());
    return std::nullopt;
  }
}

std::string commissioning_table(const Field& field, const Commissioning& record) {
  std::string out = "date,what,id,zones,pressure_kpa,flow_m3_h,accuracy\n";
  const auto accuracy = [](double canonical, const char* unit, Dimension dimension) {
    return canonical > 0 ? shortest(canonical, unit, dimension) : std::string();
  };
  for (const CommissioningPressure& p : record.pressures) {
    out +=
        fmt::format("{},port,{},{},{},,{}\n", record.date,
                    csv_cell(field.ports[static_cast<std::size_t>(p.port)].id),
                    zone_list(field, p.zones), shortest(p.pressure_kpa, "kPa", Dimension::pressure),
                    accuracy(p.accuracy_kpa, "kPa", Dimension::pressure));
  }
  for (const CommissioningFlow& f : record.flows) {
    out +=
        fmt::format("{},meter,{},{},,{},{}\n", record.date, csv_cell(f.meter),
                    zone_list(field, f.zones), shortest(f.flow_lph, "m3/h", Dimension::discharge),
                    accuracy(f.accuracy_lph, "m3/h", Dimension::discharge));
  }
  return out;
}

}  // namespace evendrip
