// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/season_checks.hpp"

namespace evendrip {

std::vector<std::string> season_start_checks() {
  return {
      "Walk mains, valves, filters and flush ends: animal damage, frost, crushed or cut pipe.",
      "Pump and power: guards, wiring and starters are work for licensed people; lock power off "
      "before touching them.",
      "Clean or backflush the filters; note both filter gauges when they are clean.",
      "See that backflow prevention and air vents work before anything is injected; the law on "
      "chemigation comes first.",
      "Compare every gauge with one that is known to be good, and the meter with a timed volume.",
      "Flush mains, then submains, then laterals, a few lines at once, until the water has run "
      "clear for some minutes (order and 0.3 m/s or 1 ft/s at the ends: University of California, "
      "Maintenance of Microirrigation Systems). Stand aside from opening ends.",
      "Zone by zone, when pressures are steady: read the inlet, the far ends and the meter.",
      "Run evendrip screen on these readings; when all is sound and there is no record yet, keep "
      "them with --commission.",
      "Have the water tested: pH, hardness, iron, manganese, sulphide, suspended solids, bacteria.",
      "Check the injector's rate against a measured volume (at least twice a season).",
  };
}

std::vector<std::string> season_end_checks() {
  return {
      "Read the inlet, the far ends and the meter of every zone once more, at the same settings as "
      "in spring.",
      "Flush mains, submains and laterals; look at what comes out through a fine cloth: grains, "
      "slime, crust or rust tell next season's trouble.",
      "Treat with chlorine or acid only where tests call for it, by label and law, and never both "
      "together: acid on chlorine sets free a poisonous gas. Add acid to water, never water to "
      "acid. Rinse the lines before they stand.",
      "Repair what was marked in the season; mark buried repairs on the map. Have buried utilities "
      "located before digging.",
      "Drain filters, pumps, meters and what lies above frost depth; leave drains open.",
      "Look for burrows and chewed lines; keep the soil from cracking open over the tape.",
      "Service valves, regulators and gauges; renew rubber parts about every two years.",
      "Lock the power off and label it; secure chemicals and injection points.",
  };
}

}  // namespace evendrip
