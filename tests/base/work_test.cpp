// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/work.hpp"

#include "evendrip/base/error.hpp"

#include <gtest/gtest.h>
#include <algorithm>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

TEST(ForEachChunk, VisitsEveryItemOnceForAnyNumberOfThreads) {
  for (const int threads : {1, 2, 7}) {
    std::vector<int> visits(1001, 0);
    Work work;
    work.threads = threads;
    for_each_chunk(work, visits.size(), 10, [&](std::size_t begin, std::size_t end, int worker) {
      EXPECT_LT(worker, threads);
      for (std::size_t i = begin; i < end; ++i) ++visits[i];
    });
    for (const int v : visits) EXPECT_EQ(v, 1);
  }
}

TEST(ForEachChunk, DoesNothingForNoItems) {
  for_each_chunk({}, 0, 8, [](std::size_t, std::size_t, int) { FAIL(); });
}

TEST(ForEachChunk, RethrowsWhatABodyThrows) {
  Work work;
  work.threads = 3;
  EXPECT_THROW(for_each_chunk(work, 100, 1,
                              [](std::size_t begin, std::size_t, int) {
                                if (begin == 50) throw std::runtime_error("here");
                              }),
               std::runtime_error);
}

TEST(ForEachChunk, StopsWhenAsked) {
  std::stop_source source;
  Work work;
  work.stop = source.get_token();
  std::size_t done = 0;
  EXPECT_THROW(for_each_chunk(work, 100, 1,
                              [&](std::size_t, std::size_t, int) {
                                if (++done == 3) source.request_stop();
                              }),
               Interrupted);
  EXPECT_EQ(done, 3U);
}

TEST(ForEachChunk, TellsProgressThatEndsAtOne) {
  std::vector<double> told;
  Work work;
  work.threads = 2;
  work.progress = [&](double done_frac) { told.push_back(done_frac); };
  for_each_chunk(work, 40, 4, [](std::size_t, std::size_t, int) {});
  ASSERT_EQ(told.size(), 10U);
  EXPECT_DOUBLE_EQ(told.back(), 1.0);
  EXPECT_TRUE(std::is_sorted(told.begin(), told.end()));
}

TEST(WithoutProgress, KeepsThreadsAndStopAndTellsNothing) {
  std::stop_source source;
  bool told = false;
  Work work;
  work.threads = 3;
  work.stop = source.get_token();
  work.progress = [&told](double) { told = true; };
  const Work silent = without_progress(work);
  for_each_chunk(silent, 5, 1, [](std::size_t, std::size_t, int) {});
  EXPECT_FALSE(told);
  EXPECT_EQ(silent.threads, 3);
  source.request_stop();
  EXPECT_TRUE(silent.stop.stop_requested());
  EXPECT_TRUE(work.progress) << "the work it was taken from still tells";
}

}  // namespace
}  // namespace evendrip
