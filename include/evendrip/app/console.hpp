// SPDX-License-Identifier: Apache-2.0
// What a person sees while the program works: messages and a progress bar on stderr, the bar on a
// terminal only. Results alone go to stdout.
#pragma once

#include <string>

#include "evendrip/base/error.hpp"
#include "evendrip/base/work.hpp"

namespace evendrip {

class Console {
 public:
  enum class Loudness { quiet, normal };
  explicit Console(Loudness loudness);

  /// Names the stage that begins; on a terminal the bar starts again.
  void stage(const std::string& name);
  /// A Work whose progress moves the bar.
  Work with_progress(Work work);
  /// Ends the bar's line, if one stands.
  void finish();
  /// One line on stderr, even when quiet.
  void message(const std::string& text);
  /// Doubts, each kind told once with its number.
  void tell(const Doubts& doubts);

 private:
  void draw(double done_frac);

  bool terminal_;
  bool quiet_;
  std::string stage_;
  int drawn_percent_ = -1;
};

}  // namespace evendrip
