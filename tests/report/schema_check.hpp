// SPDX-License-Identifier: Apache-2.0
// Checks JSON against the part of JSON Schema (draft 2020-12) that our schemas use. A keyword that
// it does not know is an error, so that nothing passes unchecked.
#pragma once

#include <nlohmann/json.hpp>

#include <algorithm>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip::test {

using Json = nlohmann::json;

class SchemaCheck {
 public:
  explicit SchemaCheck(Json schema) : root_(std::move(schema)) {}

  /// What is wrong, with its place; empty if nothing is.
  std::vector<std::string> errors_of(const Json& value) const {
    std::vector<std::string> errors;
    check(root_, value, "", errors);
    return errors;
  }

 private:
  static bool is_of(const std::string& type, const Json& value) {
    if (type == "null") return value.is_null();
    if (type == "string") return value.is_string();
    if (type == "boolean") return value.is_boolean();
    if (type == "integer") return value.is_number_integer();
    if (type == "number") return value.is_number();
    if (type == "array") return value.is_array();
    if (type == "object") return value.is_object();
    throw std::logic_error("unknown type " + type);
  }

  static bool is_of_any(const Json& types, const Json& value) {
    if (types.is_string()) return is_of(types.get<std::string>(), value);
    return std::any_of(types.begin(), types.end(), [&value](const Json& type) {
      return is_of(type.get<std::string>(), value);
    });
  }

  const Json& resolved(const std::string& reference) const {
    return root_.at(Json::json_pointer(reference.substr(1)));
  }

  void check(const Json& schema, const Json& value, const std::string& place,
             std::vector<std::string>& errors) const {
    for (const auto& [keyword, wanted] : schema.items()) {
      if (!holds(keyword, wanted, schema, value, place, errors))
        errors.push_back(place + ": " + keyword);
    }
  }

  /// Errors inside the value are added; whether the keyword itself holds is returned.
  bool holds(const std::string& keyword, const Json& wanted, const Json& schema, const Json& value,
             const std::string& place, std::vector<std::string>& errors) const {
    static const std::set<std::string> notes = {"$schema", "$id", "title", "description", "$defs"};
    if (notes.count(keyword) > 0) return true;
    if (keyword == "type") return is_of_any(wanted, value);
    if (keyword == "const") return value == wanted;
    if (keyword == "enum") return std::find(wanted.begin(), wanted.end(), value) != wanted.end();
    if (keyword == "minimum") return !value.is_number() || value >= wanted;
    if (keyword == "minItems") return value.size() >= wanted.get<std::size_t>();
    if (keyword == "maxItems") return value.size() <= wanted.get<std::size_t>();
    if (keyword == "oneOf") return fitting(wanted, value) == 1;
    if (keyword == "$ref") {
      check(resolved(wanted.get<std::string>()), value, place, errors);
      return true;
    }
    if (keyword == "items") {
      for (std::size_t i = 0; value.is_array() && i < value.size(); ++i)
        check(wanted, value[i], place + "/" + std::to_string(i), errors);
      return true;
    }
    if (keyword == "properties") {
      for (const auto& [name, one] : wanted.items())
        if (value.is_object() && value.contains(name))
          check(one, value[name], place + "/" + name, errors);
      return true;
    }
    if (keyword == "required")
      return std::all_of(wanted.begin(), wanted.end(), [&value](const Json& name) {
        return value.is_object() && value.contains(name.get<std::string>());
      });
    if (keyword == "additionalProperties") {
      for (const auto& [name, one] : value.items())
        if (!schema.at("properties").contains(name)) return false;
      return true;
    }
    throw std::logic_error("unknown keyword " + keyword);
  }

  int fitting(const Json& schemas, const Json& value) const {
    int count = 0;
    for (const Json& one : schemas) {
      std::vector<std::string> errors;
      check(one, value, "", errors);
      count += errors.empty() ? 1 : 0;
    }
    return count;
  }

  Json root_;
};

}  // namespace evendrip::test
