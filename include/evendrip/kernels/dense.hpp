// SPDX-License-Identifier: Apache-2.0
// Dense linear algebra that decides how fast maps are made: plain pointers across the boundary of a
// shared library that is built for two instruction sets. Column-major throughout, doubles.
#pragma once

namespace evendrip::kernels {

/// Name of the build the loader chose: "x86-64-v3" or "baseline".
[[gnu::visibility("default")]] const char* instruction_set() noexcept;

}  // namespace evendrip::kernels
