// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

std::uint64_t mixed(std::uint64_t z) {
  z += 0x9e3779b97f4a7c15ULL;
  z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31U);
}

}  // namespace

std::uint64_t item_seed(std::uint64_t seed, std::initializer_list<std::uint64_t> item) {
  std::uint64_t state = mixed(seed);
  for (const std::uint64_t index : item) state = mixed(state ^ mixed(index));
  return state;
}

std::mt19937_64 item_stream(std::uint64_t seed, std::initializer_list<std::uint64_t> item) {
  return std::mt19937_64(item_seed(seed, item));
}

}  // namespace evendrip
