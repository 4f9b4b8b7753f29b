// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/toml.hpp"

#include <algorithm>
#include <sstream>
#include <utility>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "text_encoding.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

TomlTable converted(const toml::table& table);

template <typename Node>
TomlDate date_of(const Node& node) {
  std::ostringstream text;
  text << node.get();
  return {text.str()};
}

TomlArray converted(const toml::array& array);

TomlValue converted(const toml::node& node) {
  TomlValue value;
  value.line = node.source().begin.line;
  value.column = node.source().begin.column;
  if (const auto* table = node.as_table()) {
    value.value = converted(*table);
  } else if (const auto* array = node.as_array()) {
    value.value = converted(*array);
  } else if (const auto* text = node.as_string()) {
    value.value = text->get();
  } else if (const auto* integer = node.as_integer()) {
    value.value = integer->get();
  } else if (const auto* number = node.as_floating_point()) {
    value.value = number->get();
  } else if (const auto* flag = node.as_boolean()) {
    value.value = flag->get();
  } else if (const auto* date = node.as_date()) {
    value.value = date_of(*date);
  } else if (const auto* time = node.as_time()) {
    value.value = date_of(*time);
  } else if (const auto* moment = node.as_date_time()) {
    value.value = date_of(*moment);
  }
  return value;
}

TomlArray converted(const toml::array& array) {
  TomlArray values;
  values.reserve(array.size());
  for (const toml::node& node : array) values.push_back(converted(node));
  return values;
}

TomlTable converted(const toml::table& table) {
  struct Placed {
    toml::source_position at;
    TomlEntry entry;
  };
  std::vector<Placed> placed;
  for (const auto& [key, node] : table) {
    const toml::source_position at = key.source().begin;
    TomlValue value = converted(node);
    if (value.line == 0) {
      value.line = at.line;
      value.column = at.column;
    }
    placed.push_back({at, {std::string(key.str()), std::move(value)}});
  }
  std::stable_sort(placed.begin(), placed.end(),
                   [](const Placed& a, const Placed& b) { return a.at < b.at; });
  TomlTable entries;
  entries.reserve(placed.size());
  for (Placed& one : placed) entries.push_back(std::move(one.entry));
  return entries;
}

}  // namespace

TomlTable read_toml(const std::filesystem::path& file, const std::string& as_written) {
  const std::string bytes = read_bytes(file, as_written);
  if (bytes.find('\0') != std::string::npos)
    throw InputError(Doubt{"binary_file",
                           Severity::problem,
                           {as_written, "", 1, ""},
                           "the file is not text",
                           "",
                           "TOML text in UTF-8",
                           "Save it as plain text"});
  try {
    return converted(toml::parse(bytes, as_written));
  } catch (const toml::parse_error& error) {
    const toml::source_position at = error.source().begin;
    throw InputError(Doubt{"toml_syntax",
                           Severity::problem,
                           {as_written, "", at.line, std::to_string(at.column)},
                           std::string(error.description()),
                           "",
                           "",
                           "Correct this line of the file"});
  }
}

}  // namespace evendrip
