// SPDX-License-Identifier: Apache-2.0
// Block sizes of Eigen follow from cache sizes; fixed ones keep results the same on every machine.
#pragma once

#include <Eigen/Core>

#include <cstddef>

namespace evendrip::kernels {

inline void fix_cache_sizes() {
  static const bool done = [] {
    constexpr std::ptrdiff_t kib = 1024;
    Eigen::setCpuCacheSizes(32 * kib, 512 * kib, 8192 * kib);
    return true;
  }();
  static_cast<void>(done);
}

}  // namespace evendrip::kernels
