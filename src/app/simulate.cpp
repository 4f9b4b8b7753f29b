// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/simulate.hpp"
#include "evendrip/app/commands.hpp"

namespace evendrip {

CommandResult simulate(const SimulateOptions& options) {
  SimulationPlan plan = options.plan ? read_plan(*options.plan) : SimulationPlan{};
  if (options.seed) plan.seed = *options.seed;
  simulate_field(plan, options.folder);
  return {"Wrote " + options.folder.string() +
              ", a made-up field; its truth is in truth/. Try: evendrip run " +
              options.folder.string() + "\n",
          ExitCode::done};
}

}  // namespace evendrip
