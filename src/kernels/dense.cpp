// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/dense.hpp"

namespace evendrip::kernels {

const char* instruction_set() noexcept {
#ifdef __AVX2__
  return "x86-64-v3";
#else
  return "baseline";
#endif
}

}  // namespace evendrip::kernels
