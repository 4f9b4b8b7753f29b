// SPDX-License-Identifier: Apache-2.0
// Seeds of random streams. A stream belongs to an item (a lateral, an emitter, a draw), never to a
// thread, so that results do not depend on the number of threads.
//
// Mixing: SplitMix64 finaliser, Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
// generators", OOPSLA, doi:10.1145/2660193.2660195. Use the result to seed std::mt19937_64, and
// Boost.Random distributions on it (their output is one implementation everywhere).
#pragma once

#include <cstdint>
#include <initializer_list>
#include <random>

namespace evendrip {

/// Mixes a seed and the item's indices into a seed of its own.
std::uint64_t item_seed(std::uint64_t seed, std::initializer_list<std::uint64_t> item);

/// A generator seeded with item_seed.
std::mt19937_64 item_stream(std::uint64_t seed, std::initializer_list<std::uint64_t> item);

}  // namespace evendrip
