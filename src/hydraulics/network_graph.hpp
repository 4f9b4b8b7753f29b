// SPDX-License-Identifier: Apache-2.0
// Which nodes of a network the water reaches, and by which pipes.
#pragma once

#include <vector>

#include "evendrip/hydraulics/network.hpp"

namespace evendrip {

/// Trees that grow from the fixed heads, breadth first.
struct FeedingForest {
  std::vector<int> order;         ///< nodes reached, each after the one that feeds it
  std::vector<int> feeding_pipe;  ///< of each node; -1 for a fixed head or a node not reached
  std::vector<char> reached;      ///< each node
};

enum class ShutPipes { pass, stop };

class NetworkGraph {
 public:
  /// Pipes whose ends are nodes.
  explicit NetworkGraph(const Network& network);
  FeedingForest forest(const Network& network, ShutPipes shut) const;

 private:
  std::vector<int> first_;  ///< of each node, into pipes_; one more at the end
  std::vector<int> pipes_;
};

/// Throws InputError "bad_network" for the first index, length, diameter or value that makes no
/// sense.
void check_network(const Network& network);

}  // namespace evendrip
