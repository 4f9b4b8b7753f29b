// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/work.hpp"

#include "evendrip/base/error.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace evendrip {
namespace {

/// What the threads of one call share.
struct Queue {
  std::atomic<std::size_t> next{0};
  std::size_t done = 0;
  std::exception_ptr failure;
  std::mutex mutex;
};

}  // namespace

Work without_progress(Work work) {
  work.progress = nullptr;
  return work;
}

int hardware_threads() {
  return std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

void for_each_chunk(const Work& work, std::size_t items, std::size_t chunk,
                    const std::function<void(std::size_t, std::size_t, int)>& body) {
  const std::size_t step = std::max<std::size_t>(1, chunk);
  const std::size_t chunks = (items + step - 1) / step;
  Queue queue;
  const auto fail = [&queue, chunks](std::exception_ptr failure) {
    const std::scoped_lock lock(queue.mutex);
    if (!queue.failure) queue.failure = std::move(failure);
    queue.next = chunks;
  };
  const auto run = [&](int worker) {
    for (std::size_t i = queue.next++; i < chunks; i = queue.next++) {
      try {
        if (work.stop.stop_requested()) throw Interrupted();
        body(i * step, std::min(items, (i + 1) * step), worker);
        const std::scoped_lock lock(queue.mutex);
        ++queue.done;
        if (work.progress)
          work.progress(static_cast<double>(queue.done) / static_cast<double>(chunks));
      } catch (...) {
        fail(std::current_exception());
      }
    }
  };
  {
    const int helpers = static_cast<int>(std::min<std::size_t>(
                            chunks, static_cast<std::size_t>(std::max(1, work.threads)))) -
                        1;
    std::vector<std::jthread> threads;
    for (int worker = 1; worker <= helpers; ++worker) threads.emplace_back(run, worker);
    run(0);
  }
  if (queue.failure) std::rethrow_exception(queue.failure);
}

}  // namespace evendrip
