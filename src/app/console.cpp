// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/console.hpp"

#include "evendrip/report/story.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <utility>

#include <unistd.h>

namespace evendrip {
namespace {

constexpr int bar_width = 30;

}  // namespace

Console::Console(Loudness loudness)
    : terminal_(isatty(STDERR_FILENO) == 1), quiet_(loudness == Loudness::quiet) {}

void Console::stage(const std::string& name) {
  finish();
  stage_ = name;
  if (terminal_ && !quiet_) draw(0);
}

Work Console::with_progress(Work work) {
  if (terminal_ && !quiet_) work.progress = [this](double done_frac) { draw(done_frac); };
  return work;
}

void Console::draw(double done_frac) {
  const int percent = static_cast<int>(100 * done_frac);
  if (percent == drawn_percent_) return;
  drawn_percent_ = percent;
  const auto filled = static_cast<std::size_t>(percent * bar_width / 100);
  fmt::print(stderr, "\r\033[K{:<36} [{}{}] {:3d} %", stage_, std::string(filled, '='),
             std::string(bar_width - filled, ' '), percent);
  std::fflush(stderr);
}

void Console::finish() {
  if (drawn_percent_ >= 0) fmt::print(stderr, "\r\033[K");
  drawn_percent_ = -1;
}

void Console::message(const std::string& text) {
  finish();
  fmt::print(stderr, "{}\n", text);
}

void Console::tell(const Doubts& doubts) {
  if (quiet_) return;
  for (const Doubt& doubt : summarised(doubts)) {
    message(fmt::format("{}: {}", to_text(doubt.severity), to_text(doubt)));
  }
}

}  // namespace evendrip
