// SPDX-License-Identifier: Apache-2.0
#include "time_log.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
constexpr double degrees_per_unit = 1e-7;
constexpr int not_logged = -1;

InputError bad_header(const std::string& name, std::string text, std::string found,
                      std::string expected) {
  return InputError(Doubt{"bad_log_header",
                          Severity::problem,
                          {name, "", 0, ""},
                          std::move(text),
                          std::move(found),
                          std::move(expected),
                          "Export the task data again"});
}

/// An empty attribute says that the value stands in each record.
LogField field_of(const pugi::xml_node& node, const char* attribute, const std::string& name) {
  const pugi::xml_attribute found = node.attribute(attribute);
  if (!found) return {};
  const std::string_view text = found.value();
  if (text.empty()) return {LogField::In::record, 0};
  LogField field{LogField::In::header, 0};
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), field.value);
  if (error != std::errc() || stop != text.data() + text.size()) {
    throw bad_header(name, fmt::format("attribute {} of PTN is no number", attribute),
                     std::string(text.substr(0, 40)), "a number, or nothing");
  }
  return field;
}

std::size_t bytes_in_record(const pugi::xml_node& node, const char* attribute, std::size_t bytes) {
  const pugi::xml_attribute found = node.attribute(attribute);
  return found && *found.value() == '\0' ? bytes : 0;
}

LoggedQuantity quantity_of(const pugi::xml_node& node, const std::string& name) {
  LoggedQuantity quantity;
  const std::string_view text = node.attribute("A").value();
  const auto [stop, error] =
      std::from_chars(text.data(), text.data() + text.size(), quantity.ddi, 16);
  if (error != std::errc() || stop != text.data() + text.size() || quantity.ddi < 0 ||
      quantity.ddi > 0xFFFF) {
    throw bad_header(name, "a logged value has no data dictionary identifier",
                     std::string(text.substr(0, 40)), "four hexadecimal digits in A of DLV");
  }
  quantity.device_element = node.attribute("C").value();
  return quantity;
}

/// Takes little-endian numbers off a record; `enough` is false once one was not there in full.
class ByteReader {
 public:
  ByteReader(std::string_view bytes, std::size_t at) : bytes_(bytes), at_(at) {}

  std::size_t at() const { return at_; }
  bool enough() const { return enough_; }

  std::uint32_t take(std::size_t size) {
    if (bytes_.size() - at_ < size) {
      enough_ = false;
      return 0;
    }
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < size; ++i) {
      value |= std::uint32_t{static_cast<unsigned char>(bytes_[at_ + i])} << (8 * i);
    }
    at_ += size;
    return value;
  }

  std::int32_t take_signed() { return static_cast<std::int32_t>(take(4)); }

  void skip(std::size_t size) {
    if (bytes_.size() - at_ < size) {
      enough_ = false;
    } else {
      at_ += size;
    }
  }

 private:
  std::string_view bytes_;
  std::size_t at_;
  bool enough_ = true;
};

double degrees_in(ByteReader& reader, const LogField& field) {
  if (field.in == LogField::In::record) return degrees_per_unit * reader.take_signed();
  return field.in == LogField::In::header ? field.value : no_number;
}

/// NaN where the record has no position.
Point judged_place(Point lonlat, int status) {
  const bool in_range = std::abs(lonlat.y) <= 90 && std::abs(lonlat.x) <= 180;
  const bool nowhere = lonlat.x == 0 && lonlat.y == 0;
  const bool no_fix = status == 0 || status == 14 || status == 15;
  return in_range && !nowhere && !no_fix ? lonlat : Point{no_number, no_number};
}

struct Record {
  double time_s = 0;
  Point lonlat;
  int status = not_logged;
};

/// What stands in a record before its values.
Record record_start(ByteReader& reader, const LogHeader& header) {
  Record record;
  const double since_midnight_s = 0.001 * reader.take(4);
  record.time_s = 86'400.0 * reader.take(2) + since_midnight_s;
  record.lonlat.y = degrees_in(reader, header.north);
  record.lonlat.x = degrees_in(reader, header.east);
  reader.skip(header.bytes_before_status);
  if (header.status.in == LogField::In::record) {
    record.status = static_cast<int>(reader.take(1));
  } else if (header.status.in == LogField::In::header) {
    record.status = static_cast<int>(header.status.value);
  }
  reader.skip(header.bytes_after_status);
  return record;
}

constexpr int not_kept = -1;

/// Takes the values of a record into `latest`; false if an index names no value of the header.
bool take_values(ByteReader& reader, const std::vector<int>& slots, std::vector<double>& latest) {
  const std::uint32_t count = reader.take(1);
  for (std::uint32_t i = 0; i < count && reader.enough(); ++i) {
    const std::uint32_t index = reader.take(1);
    const std::int32_t value = reader.take_signed();
    if (!reader.enough()) break;
    if (index >= slots.size()) return false;
    const int slot = slots[index];
    if (slot != not_kept) latest[static_cast<std::size_t>(slot)] = value;
  }
  return true;
}

void tell_end(const TimeLog& log, std::size_t left_over, bool damaged, const std::string& name,
              Doubts& doubts) {
  if (left_over == 0) return;
  doubts.push_back({damaged ? "log_damaged" : "log_truncated",
                    Severity::doubt,
                    {name, "", log.records() + 1, ""},
                    fmt::format("{}; the {} whole records before it are read, {} bytes are not",
                                damaged ? "this record names a value that the header does not"
                                        : "the log ends within this record",
                                log.records(), left_over),
                    "",
                    "a whole log",
                    "Copy the log from the machine again"});
}

/// For each value of the header its place among those kept.
std::vector<int> slots_of(const LogHeader& header, const std::vector<std::size_t>& wanted) {
  std::vector<int> slots(header.quantities.size(), not_kept);
  for (std::size_t i = 0; i < wanted.size(); ++i) slots[wanted[i]] = static_cast<int>(i);
  return slots;
}

void require_room(std::size_t values, std::size_t most_values, const std::string& name) {
  if (values <= most_values) return;
  throw InputError(Doubt{"too_large",
                         Severity::problem,
                         {name, "", 0, ""},
                         "the time logs hold too many values",
                         "",
                         "fewer records, or fewer values in a record",
                         "Give each log its own folder and its own [[crop]]"});
}

}  // namespace

LogHeader log_header(const pugi::xml_document& header, const std::string& name) {
  const pugi::xml_node time = header.child("TIM");
  if (!time) throw bad_header(name, "the header has no time", "", "an element TIM");
  const pugi::xml_node position = time.child("PTN");
  LogHeader layout;
  layout.north = field_of(position, "A", name);
  layout.east = field_of(position, "B", name);
  layout.status = field_of(position, "D", name);
  if (layout.north.in == LogField::In::nowhere || layout.east.in == LogField::In::nowhere) {
    throw bad_header(name, "the header has no position", "", "an element PTN with A and B");
  }
  if (!(layout.status.value >= 0 && layout.status.value <= 255)) {
    throw bad_header(name, "the status of the position is no status",
                     fmt::format("{:g}", layout.status.value), "0 to 15 in D of PTN");
  }
  layout.bytes_before_status = bytes_in_record(position, "C", 4);
  constexpr std::array<std::pair<const char*, std::size_t>, 5> after = {
      {{"E", 2}, {"F", 2}, {"G", 1}, {"H", 4}, {"I", 2}}};
  for (const auto& [attribute, bytes] : after) {
    layout.bytes_after_status += bytes_in_record(position, attribute, bytes);
  }
  for (const pugi::xml_node& value : time.children("DLV")) {
    layout.quantities.push_back(quantity_of(value, name));
  }
  if (layout.quantities.size() > 256) {
    throw bad_header(name, "the header lists more values than a record can name",
                     fmt::format("{}", layout.quantities.size()), "at most 256");
  }
  return layout;
}

TimeLog decode_time_log(std::string_view bytes, const LogHeader& header,
                        const std::vector<std::size_t>& wanted, std::size_t most_values,
                        const std::string& name, Doubts& doubts) {
  TimeLog log;
  for (const std::size_t i : wanted) log.quantities.push_back(header.quantities[i]);
  const std::vector<int> slots = slots_of(header, wanted);
  std::vector<double> latest(wanted.size(), no_number);
  std::size_t at = 0;
  bool damaged = false;
  while (at < bytes.size()) {
    ByteReader reader(bytes, at);
    const Record record = record_start(reader, header);
    damaged = !take_values(reader, slots, latest);
    if (damaged || !reader.enough()) break;
    require_room((log.records() + 1) * (latest.size() + 4), most_values, name);
    log.time_s.push_back(record.time_s);
    log.lonlat.push_back(judged_place(record.lonlat, record.status));
    log.status.push_back(record.status);
    log.values.insert(log.values.end(), latest.begin(), latest.end());
    at = reader.at();
  }
  tell_end(log, bytes.size() - at, damaged, name, doubts);
  return log;
}

}  // namespace evendrip
