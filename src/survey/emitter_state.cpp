// SPDX-License-Identifier: Apache-2.0
#include "evendrip/survey/survey.hpp"

#include <algorithm>
#include <array>
#include <cctype>

namespace evendrip {
namespace {

struct Word {
  EmitterState state;
  std::string_view text;
};
constexpr std::array<Word, 6> words = {{{EmitterState::runs, "runs"},
                                        {EmitterState::drips, "drips"},
                                        {EmitterState::none, "none"},
                                        {EmitterState::dug_damage, "dug_damage"},
                                        {EmitterState::leak, "leak"},
                                        {EmitterState::not_found, "not_found"}}};

bool same_letters(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
    return std::tolower(static_cast<unsigned char>(x)) ==
           std::tolower(static_cast<unsigned char>(y));
  });
}

}  // namespace

std::string to_text(EmitterState state) {
  const auto* word =
      std::find_if(words.begin(), words.end(), [state](const Word& w) { return w.state == state; });
  return std::string(word->text);
}

std::optional<EmitterState> emitter_state_of(std::string_view text) {
  const auto* word = std::find_if(words.begin(), words.end(),
                                  [text](const Word& w) { return same_letters(w.text, text); });
  if (word == words.end()) return std::nullopt;
  return word->state;
}

}  // namespace evendrip
