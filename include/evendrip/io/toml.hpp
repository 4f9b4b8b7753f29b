// SPDX-License-Identifier: Apache-2.0
// TOML documents with the line and column of every value (toml++ reads them).
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

struct TomlValue;
struct TomlEntry;
using TomlArray = std::vector<TomlValue>;
using TomlTable = std::vector<TomlEntry>;  ///< in the order of the file

/// A date or date-time is held as ISO 8601 text in `TomlDate`.
struct TomlDate {
  std::string iso;
};

struct TomlValue {
  std::variant<bool, std::int64_t, double, std::string, TomlDate, TomlArray, TomlTable> value;
  std::size_t line = 0;
  std::size_t column = 0;
};
struct TomlEntry {
  std::string key;
  TomlValue value;
};

/// Throws InputError with line and column of a syntax error; FileError if it cannot be read.
TomlTable read_toml(const std::filesystem::path& file, const std::string& as_written);

/// Reads one table key by key and remembers which keys were asked for: `finish` lists the others as
/// unknown, with the nearest known key. All problems go to `doubts`, none is thrown.
class TomlReader {
 public:
  TomlReader(const TomlTable& table, std::string file, std::string path, Doubts& doubts);

  bool has(std::string_view key) const;
  std::optional<std::string> text(std::string_view key);
  std::optional<double> number(std::string_view key);
  std::optional<std::int64_t> integer(std::string_view key);
  std::optional<bool> flag(std::string_view key);
  std::optional<std::string> date(std::string_view key);  ///< ISO 8601 "2026-05-12"
  std::vector<std::string> texts(std::string_view key);   ///< one text or an array of texts
  std::vector<double> quantities(std::string_view key, Dimension dimension);
  /// "key" as text with its unit, or "key_<unit>" as a number; canonical unit.
  std::optional<double> quantity(std::string_view key, Dimension dimension);
  const TomlTable* table(std::string_view key);
  std::vector<const TomlTable*> tables(std::string_view key);  ///< [[key]] or one [key]
  /// All entries as (key, text), for [columns].
  std::vector<std::pair<std::string, std::string>> text_pairs();
  Place place_of(std::string_view key) const;
  void problem(std::string_view key, std::string code, std::string text, std::string found,
               std::string expected, std::string remedy = "");
  void required(std::string_view key, std::string_view what);
  /// Adds a problem for each key never asked for.
  void finish();

 private:
  const TomlTable* table_;
  std::string file_;
  std::string path_;
  Doubts* doubts_;
  std::vector<std::string> asked_;
};

}  // namespace evendrip
