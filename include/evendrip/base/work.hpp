// SPDX-License-Identifier: Apache-2.0
// How long work is run: number of threads, a way to stop, a way to tell how far it is.
//
// A `Work` is passed by value to everything that may take more than a moment. Items are split into
// chunks of a size that never depends on the number of threads, so results do not either.
#pragma once

#include <cstddef>
#include <functional>
#include <stop_token>
#include <string>

namespace evendrip {

struct Work {
  int threads = 1;       ///< 1 or more
  std::stop_token stop;  ///< when stop is requested, `for_each_chunk` throws Interrupted
  /// Called with the share done, 0 to 1, from any thread but never from two at once. May be empty.
  std::function<void(double done_frac)> progress;
};

/// Calls body(begin, end, worker) for [0, items) in chunks of `chunk` items; worker is 0 to
/// threads - 1 and may index a workspace. The first exception thrown by a body is rethrown after
/// all threads have stopped. Throws Interrupted when work.stop is requested.
void for_each_chunk(
    const Work& work, std::size_t items, std::size_t chunk,
    const std::function<void(std::size_t begin, std::size_t end, int worker)>& body);

/// The same threads and stop, telling nothing: for a part of work whose whole tells its own
/// progress.
Work without_progress(Work work);

/// Number of hardware threads, at least 1.
int hardware_threads();

}  // namespace evendrip
