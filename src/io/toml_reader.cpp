// SPDX-License-Identifier: Apache-2.0
// One table of a TOML document, read key by key.
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/dates.hpp"
#include "evendrip/io/toml.hpp"
#include "text_encoding.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

const TomlEntry* entry_of(const TomlTable& table, std::string_view key) {
  const auto found = std::find_if(table.begin(), table.end(),
                                  [key](const TomlEntry& entry) { return entry.key == key; });
  return found == table.end() ? nullptr : &*found;
}

/// What a value is, and what stands there, for messages.
std::string shown(const TomlValue& value) {
  struct {
    std::string operator()(bool flag) const { return flag ? "true" : "false"; }
    std::string operator()(std::int64_t number) const { return std::to_string(number); }
    std::string operator()(double number) const { return fmt::format("{}", number); }
    std::string operator()(const std::string& text) const { return shortened(text); }
    std::string operator()(const TomlDate& date) const { return date.iso; }
    std::string operator()(const TomlArray&) const { return "an array"; }
    std::string operator()(const TomlTable&) const { return "a table"; }
  } show;
  return std::visit(show, value.value);
}

std::optional<double> number_in(const TomlValue& value) {
  if (const auto* integer = std::get_if<std::int64_t>(&value.value))
    return static_cast<double>(*integer);
  if (const auto* number = std::get_if<double>(&value.value))
    if (std::isfinite(*number)) return *number;
  return std::nullopt;
}

Heading heading_of(const std::string& key, std::string_view stem, Dimension dimension) {
  return key == stem ? Heading{} : parse_heading(lower_case(key), stem, dimension);
}

/// True if the key is the stem with a unit of whatever dimension.
bool is_stem_with_unit(const std::string& key, std::string_view stem) {
  for (int d = 0; d <= static_cast<int>(Dimension::fraction); ++d)
    if (!heading_of(key, stem, static_cast<Dimension>(d)).unit.empty()) return true;
  return false;
}

}  // namespace

TomlReader::TomlReader(const TomlTable& table, std::string file, std::string path, Doubts& doubts)
    : table_(&table), file_(std::move(file)), path_(std::move(path)), doubts_(&doubts) {}

bool TomlReader::has(std::string_view key) const {
  return entry_of(*table_, key) != nullptr;
}

Place TomlReader::place_of(std::string_view key) const {
  const TomlEntry* entry = entry_of(*table_, key);
  return {file_, path_, entry != nullptr ? entry->value.line : 0, std::string(key)};
}

void TomlReader::problem(std::string_view key, std::string code, std::string text,
                         std::string found, std::string expected, std::string remedy) {
  doubts_->push_back({std::move(code), Severity::problem, place_of(key), std::move(text),
                      std::move(found), std::move(expected), std::move(remedy)});
}

void TomlReader::required(std::string_view key, std::string_view what) {
  asked_.emplace_back(key);
  const bool there = std::any_of(table_->begin(), table_->end(), [&](const TomlEntry& entry) {
    return entry.key == key || is_stem_with_unit(entry.key, key);
  });
  if (!there) problem(key, "missing_key", "the key is missing", "", std::string(what), "Add it");
}

std::optional<std::string> TomlReader::text(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return std::nullopt;
  if (const auto* text = std::get_if<std::string>(&entry->value.value)) return *text;
  problem(key, "wrong_type", "the value has the wrong type", shown(entry->value),
          "text in quotation marks");
  return std::nullopt;
}

std::optional<double> TomlReader::number(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return std::nullopt;
  const std::optional<double> value = number_in(entry->value);
  if (!value)
    problem(key, "wrong_type", "the value has the wrong type", shown(entry->value),
            "a number without quotation marks");
  return value;
}

std::optional<std::int64_t> TomlReader::integer(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return std::nullopt;
  if (const auto* value = std::get_if<std::int64_t>(&entry->value.value)) return *value;
  problem(key, "wrong_type", "the value has the wrong type", shown(entry->value),
          "a whole number without quotation marks");
  return std::nullopt;
}

std::optional<bool> TomlReader::flag(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return std::nullopt;
  if (const auto* value = std::get_if<bool>(&entry->value.value)) return *value;
  problem(key, "wrong_type", "the value has the wrong type", shown(entry->value), "true or false");
  return std::nullopt;
}

std::optional<std::string> TomlReader::date(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return std::nullopt;
  std::string iso;
  if (const auto* value = std::get_if<TomlDate>(&entry->value.value)) iso = value->iso;
  if (const auto* value = std::get_if<std::string>(&entry->value.value)) iso = *value;
  if (iso.size() > 10 && (iso[10] == 'T' || iso[10] == ' ')) iso.resize(10);
  if (day_number(iso)) return iso;
  problem(key, "bad_date", "the value is no date", shown(entry->value),
          "a date as year-month-day, for example 2026-05-12");
  return std::nullopt;
}

std::vector<std::string> TomlReader::texts(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return {};
  if (const auto* one = std::get_if<std::string>(&entry->value.value)) return {*one};
  std::vector<std::string> result;
  const auto* array = std::get_if<TomlArray>(&entry->value.value);
  const auto refuse = [&](const TomlValue& value) {
    problem(key, "wrong_type", "the value has the wrong type", shown(value),
            "text, or an array of texts");
  };
  if (array == nullptr) {
    refuse(entry->value);
    return {};
  }
  for (const TomlValue& item : *array) {
    if (const auto* text = std::get_if<std::string>(&item.value)) {
      result.push_back(*text);
    } else {
      refuse(item);
    }
  }
  return result;
}

std::vector<double> TomlReader::quantities(std::string_view key, Dimension dimension) {
  asked_.emplace_back(key);
  std::vector<double> result;
  const auto read = [&](const TomlEntry& entry, const TomlValue& value, std::string_view unit) {
    const std::optional<double> number = number_in(value);
    const auto* text = std::get_if<std::string>(&value.value);
    try {
      if (text != nullptr && unit.empty()) {
        result.push_back(parse_quantity(*text, dimension));
      } else if (number && !unit.empty()) {
        result.push_back(to_canonical(*number, unit, dimension));
      } else if (number && dimension == Dimension::fraction) {
        result.push_back(*number);
      } else if (unit.empty()) {
        std::vector<std::string> units;
        for (const std::string_view accepted : accepted_units(dimension))
          units.emplace_back(accepted);
        problem(entry.key, "bad_quantity", "the value is no quantity", shown(value),
                fmt::format("a number with its unit in quotation marks, unit one of {}",
                            listed(units)));
      } else {
        problem(entry.key, "wrong_type", "the key names a unit, so the value is a plain number",
                shown(value), "a number without quotation marks");
      }
    } catch (const InputError& error) {
      for (const Doubt& doubt : error.problems())
        problem(entry.key, doubt.code, doubt.text, doubt.found.empty() ? shown(value) : doubt.found,
                doubt.expected, doubt.remedy);
    }
  };
  const TomlEntry* chosen = nullptr;
  for (const TomlEntry& entry : *table_) {
    const Heading heading = heading_of(entry.key, key, dimension);
    if (entry.key != key && heading.unit.empty()) continue;
    asked_.push_back(entry.key);
    if (chosen != nullptr) {
      problem(entry.key, "given_twice", "the same quantity stands here twice", entry.key,
              fmt::format("only one of {} and {}", chosen->key, entry.key), "Remove one of them");
      continue;
    }
    chosen = &entry;
    if (const auto* array = std::get_if<TomlArray>(&entry.value.value)) {
      for (const TomlValue& item : *array) read(entry, item, heading.unit);
    } else {
      read(entry, entry.value, heading.unit);
    }
  }
  return result;
}

std::optional<double> TomlReader::quantity(std::string_view key, Dimension dimension) {
  for (const TomlEntry& entry : *table_) {
    const bool is_it = entry.key == key || !heading_of(entry.key, key, dimension).unit.empty();
    if (!is_it || !std::holds_alternative<TomlArray>(entry.value.value)) continue;
    asked_.emplace_back(key);
    asked_.push_back(entry.key);
    problem(entry.key, "wrong_type", "the value has the wrong type", "an array", "one quantity");
    return std::nullopt;
  }
  const std::vector<double> values = quantities(key, dimension);
  return values.empty() ? std::nullopt : std::optional<double>(values.front());
}

const TomlTable* TomlReader::table(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return nullptr;
  if (const auto* table = std::get_if<TomlTable>(&entry->value.value)) return table;
  problem(key, "wrong_type", "the value has the wrong type", shown(entry->value),
          fmt::format("one section [{}]", key));
  return nullptr;
}

std::vector<const TomlTable*> TomlReader::tables(std::string_view key) {
  asked_.emplace_back(key);
  const TomlEntry* entry = entry_of(*table_, key);
  if (entry == nullptr) return {};
  if (const auto* table = std::get_if<TomlTable>(&entry->value.value)) return {table};
  std::vector<const TomlTable*> result;
  const auto refuse = [&](const TomlValue& value) {
    problem(key, "wrong_type", "the value has the wrong type", shown(value),
            fmt::format("sections [[{}]]", key));
  };
  const auto* array = std::get_if<TomlArray>(&entry->value.value);
  if (array == nullptr) {
    refuse(entry->value);
    return {};
  }
  for (const TomlValue& item : *array) {
    if (const auto* table = std::get_if<TomlTable>(&item.value)) {
      result.push_back(table);
    } else {
      refuse(item);
    }
  }
  return result;
}

std::vector<std::pair<std::string, std::string>> TomlReader::text_pairs() {
  std::vector<std::pair<std::string, std::string>> pairs;
  for (const TomlEntry& entry : *table_)
    if (const std::optional<std::string> value = text(entry.key))
      pairs.emplace_back(entry.key, *value);
  return pairs;
}

void TomlReader::finish() {
  std::vector<std::string> known = asked_;
  std::sort(known.begin(), known.end());
  known.erase(std::unique(known.begin(), known.end()), known.end());
  for (const TomlEntry& entry : *table_) {
    if (std::binary_search(known.begin(), known.end(), entry.key)) continue;
    const std::string nearest = nearest_word(entry.key, known);
    problem(entry.key, "unknown_key", "there is no such key here", entry.key,
            nearest.empty() ? "one of " + listed(known) : nearest,
            nearest.empty() ? "Remove it" : fmt::format("Did you mean \"{}\"?", nearest));
  }
}

}  // namespace evendrip
