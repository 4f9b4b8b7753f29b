// SPDX-License-Identifier: Apache-2.0
#include "doubt_places.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace evendrip {

Place layer_place(const Field& field, std::string_view role) {
  for (const auto& [name, file] : field.layer_files) {
    if (name != role) continue;
    const std::size_t bar = file.find('|');
    if (bar == std::string::npos) return {file, "", 0, ""};
    return {file.substr(0, bar), file.substr(bar + 1), 0, ""};
  }
  return {"field.toml", fmt::format("[layers] {}", role), 0, ""};
}

void tell_once(Doubts& doubts, Doubt doubt) {
  const bool told = std::any_of(doubts.begin(), doubts.end(), [&doubt](const Doubt& other) {
    return other.code == doubt.code && other.place == doubt.place && other.text == doubt.text;
  });
  if (!told) doubts.push_back(std::move(doubt));
}

std::string some_of(const std::vector<std::string>& names) {
  constexpr std::size_t shown = 5;
  std::string text;
  for (std::size_t i = 0; i < std::min(shown, names.size()); ++i)
    text += (i == 0 ? "" : ", ") + names[i];
  if (names.size() > shown) text += fmt::format(" and {} more", names.size() - shown);
  return text;
}

}  // namespace evendrip
