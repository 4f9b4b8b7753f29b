// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/zone_states.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace evendrip {
namespace {

/// Sizes of a change: the middle 90 % of a log-normal. Common practice, no source.
struct Size {
  double low = 0;
  double high = 0;
};
constexpr Size little{0.02, 0.12};
constexpr Size usual{0.05, 0.40};
constexpr Size great{0.10, 0.90};
constexpr Size open_ended{0.05, 3.00};  // an open valve or a cut manifold multiplies the flow

/// What a state says of one kind of evidence: shares of down, same and up, which sum to 1.
struct Cell {
  double down = 0;
  double same = 0;
  double up = 0;
  Size size = usual;
};
constexpr Cell down{1, 0, 0, usual};
constexpr Cell same{0, 1, 0, usual};
constexpr Cell up{0, 0, 1, usual};
constexpr Cell down_little{1, 0, 0, little};
constexpr Cell up_open{0, 0, 1, open_ended};
constexpr Cell up_little{0, 0, 1, little};
constexpr Cell down_far{1, 0, 0, great};
constexpr Cell same_or_down{0.5, 0.5, 0, usual};
constexpr Cell same_or_down_little{0.5, 0.5, 0, little};
constexpr Cell same_or_up_little{0, 0.5, 0.5, little};

/// A way in which a state shows. A state may have several; their prior shares add up. Gauges that
/// move together, as those before the zone do when the supply gives way, stand in one row.
struct Row {
  ScreenedState state;
  double prior;
  std::array<Cell, evidence_kinds> cells;
};

// Prior shares: common practice, no source. Cells: the rows of what gauge and meter changes mean,
// from memory. Flow and far ends stand there as read; in the form that is corrected for the inlet
// pressure they follow from the network: a lower supply leaves them as they were, and a leak in one
// line hardly shows at the ends of others.
// clang-format off
constexpr std::array<Row, 18> table{{
  // flow as metered, flow at pressure,
  // before filter, after filter, before valve, zone inlet,
  // far end as read, far end at inlet, weakest end
  {ScreenedState::sound, 0.49, {{
    same, same,
    same, same, same, same,
    same, same, same}}},
  // The supply holds its pressure, or rises as less is drawn.
  {ScreenedState::clogging, 0.06, {{
    down, down,
    same, same, same, same,
    same_or_up_little, same_or_up_little, same}}},
  {ScreenedState::clogging, 0.06, {{
    down, down,
    up_little, up_little, up_little, up_little,
    up_little, same_or_up_little, same}}},
  {ScreenedState::leak, 0.06, {{
    up_open, up_open,
    down, down, down, down,
    down, same_or_down, same_or_down}}},
  // What lies before the regulator holds, or gives a little.
  {ScreenedState::leak_behind_regulator, 0.015, {{
    up_open, up_open,
    same, same, same, same,
    down, same_or_down, same_or_down}}},
  {ScreenedState::leak_behind_regulator, 0.015, {{
    up_open, up_open,
    down_little, down_little, down_little, same,
    down, same_or_down, same_or_down}}},
  {ScreenedState::filter_blocked, 0.05, {{
    down, same,
    up, down, down, down,
    down, same, same}}},
  // Pump or source, and a valve or regulator between the gauges.
  {ScreenedState::supply_fault, 0.06, {{
    down, same,
    down, down, down, down,
    down, same, same}}},
  {ScreenedState::supply_fault, 0.04, {{
    down, same,
    same, same, same, down,
    down, same, same}}},
  // Pinched before the gauge at the zone inlet; behind it, with a supply that holds or rises.
  {ScreenedState::main_pinched, 0.01, {{
    down, same,
    up_little, up_little, up_little, down,
    down, same, same}}},
  {ScreenedState::main_pinched, 0.015, {{
    down, down,
    same, same, same, same,
    down, down, same_or_down}}},
  {ScreenedState::main_pinched, 0.015, {{
    down, down,
    up_little, up_little, up_little, up_little,
    down, down, same_or_down}}},
  {ScreenedState::regulator_high, 0.01, {{
    up, same,
    same, same, same, up,
    up, same, same}}},
  {ScreenedState::regulator_high, 0.01, {{
    up, same,
    down_little, down_little, down_little, up,
    up, same, same}}},
  // The gauges stand on lines that are broken, or only some of them do.
  {ScreenedState::local_break, 0.025, {{
    same, same,
    same, same, same, same,
    down_far, down_far, same}}},
  {ScreenedState::local_break, 0.025, {{
    same, same,
    same, same, same, same,
    same, same, down_far}}},
  {ScreenedState::wear, 0.02, {{
    up_little, up_little,
    same, same, same, same_or_down_little,
    down_little, same_or_down_little, same}}},
  {ScreenedState::meter_worn, 0.02, {{
    down, down,
    same, same, same, same,
    same, same, same}}},
}};
// clang-format on

/// Variation of a sound system from day to day, as a share; common practice, no source.
constexpr double day_to_day_sd = 0.02;
constexpr double least_sd = 0.005;
/// A blunder in reading: share of readings, and the scale of the Cauchy density by which they
/// scatter, so that no change is impossible for any state. Common practice, no source.
constexpr double blunder_share = 0.0005;
constexpr double blunder_scale = 0.5;

double cauchy_density(double distance, double scale) {
  constexpr double pi = 3.14159265358979323846;
  const double z = distance / scale;
  return 1 / (pi * scale * (1 + z * z));
}

double normal_density(double distance, double sd) {
  constexpr double root_of_two_pi = 2.5066282746310002;
  const double z = distance / sd;
  return std::exp(-0.5 * z * z) / (sd * root_of_two_pi);
}

/// Density of a size blurred by the error of measuring: log-normal, convolved on a fixed grid of
/// its logarithm.
double blurred_size(double value, const Size& size, double sd) {
  constexpr double z_95 = 1.6448536269514722;
  constexpr int steps = 240;
  constexpr double reach = 4.5;  // standard deviations of the logarithm
  const double middle = 0.5 * (std::log(size.low) + std::log(size.high));
  const double spread = 0.5 * (std::log(size.high) - std::log(size.low)) / z_95;
  const double step = 2 * reach / steps;
  double sum = 0;
  double weights = 0;
  for (int i = 0; i <= steps; ++i) {
    const double z = -reach + i * step;
    const double weight = std::exp(-0.5 * z * z);
    sum += weight * normal_density(value - std::exp(middle + spread * z), sd);
    weights += weight;
  }
  return sum / weights;
}

double likelihood(const Cell& cell, const Change& change) {
  const double sd = std::hypot(std::max(change.sd, least_sd), day_to_day_sd);
  double density = cell.same * normal_density(change.change, sd);
  if (cell.down > 0) density += cell.down * blurred_size(-change.change, cell.size, sd);
  if (cell.up > 0) density += cell.up * blurred_size(change.change, cell.size, sd);
  return (1 - blunder_share) * density +
         blunder_share * cauchy_density(change.change, std::hypot(blunder_scale, sd));
}

double row_weight(const Row& row, std::span<const Change> changes) {
  double weight = row.prior;
  for (const Change& change : changes) {
    if (!std::isfinite(change.change) || !std::isfinite(change.sd)) continue;
    weight *= likelihood(row.cells[static_cast<std::size_t>(change.evidence)], change);
  }
  return weight;
}

/// Shares of down, same and up that a state expects, over the ways in which it shows.
Cell mean_cell(ScreenedState state, std::size_t evidence) {
  Cell mean{0, 0, 0, usual};
  double weight = 0;
  for (const Row& row : table) {
    if (row.state != state) continue;
    mean.down += row.prior * row.cells[evidence].down;
    mean.same += row.prior * row.cells[evidence].same;
    mean.up += row.prior * row.cells[evidence].up;
    weight += row.prior;
  }
  return {mean.down / weight, mean.same / weight, mean.up / weight, usual};
}

struct StateWords {
  const char* code;
  const char* text;
  const char* check;
};

const StateWords& words_of(ScreenedState state) {
  static constexpr std::array<StateWords, zone_states> words{{
      {"sound", "sound", "Nothing urgent. Read the same gauges and the meter again next season."},
      {"clogging", "emitters clogging",
       "Time a known volume through the meter first, for a worn meter looks the same. Then flush "
       "the lines through a fine cloth: grains, slime or crust tell what clogs; and dig two or "
       "three emitters near the far ends. Before digging have buried utilities located; acid and "
       "chlorine only by label and law, never together, by somebody trained and licensed."},
      {"leak", "a leak or an open end",
       "Walk the zone while it runs: look for wet spots, an open flush valve or cap, chewed or "
       "broken lines. Shut the zone and relieve its pressure before opening or repairing a line, "
       "and have buried utilities located before digging."},
      {"leak_behind_regulator", "a leak behind the regulator",
       "The regulator holds the inlet and hides the leak: walk the zone while it runs, and look "
       "first at flush valves, end caps and lines whose far end reads lowest. Relieve the pressure "
       "before opening a line, and have buried utilities located before digging."},
      {"filter_blocked", "a blocked filter",
       "Read both filter gauges, then backflush or clean the filter. Stop the pump, lock its "
       "switch and relieve the pressure before opening a filter; an automatic one may start by "
       "itself."},
      {"supply_fault", "a supply, pump or valve fault",
       "Read the pump's gauge and water level, see that every valve on the way is fully open, that "
       "no other zone runs and that the regulator is set right. Pump wiring and rotating parts are "
       "work for a licensed electrician or pump fitter: lock the power off first."},
      {"main_pinched", "a pinched or blocked main or manifold",
       "Read a gauge before and after each stretch: the blocked one lies where the pressure falls. "
       "Look for half-shut valves, crushed pipe at crossings, collapsed or silted manifolds. "
       "Relieve the pressure before opening pipe, and have buried utilities located before "
       "digging."},
      {"regulator_high", "a regulator that fails high",
       "Shut the zone before the tape bursts, then check the regulator's set screw, diaphragm and "
       "pilot line. Relieve the pressure before opening it; stand aside from caps and gauges under "
       "pressure."},
      {"local_break", "a break or crimp in a few lines",
       "Open the far ends line by line, at low pressure, and look for those that run weak or "
       "dirty; then follow such a line back for wet or dry soil. Stand aside from an opening end, "
       "and have buried utilities located before digging."},
      {"wear", "worn emitters or many small leaks",
       "Compare with the last seasons: wear comes slowly. Dig two or three emitters and catch "
       "their flow; look for chewed tape and sand in the water. Before digging have buried "
       "utilities located."},
      {"meter_worn", "a worn or dirty meter",
       "Time a known volume through the meter: fill a tank, or compare with a meter that was just "
       "calibrated. Only then look for clogging. Relieve the pressure before taking a meter out."},
  }};
  return words[static_cast<std::size_t>(state)];
}

}  // namespace

std::string to_text(Evidence evidence) {
  static constexpr std::array<const char*, evidence_kinds> names{
      "flow",
      "flow at the measured pressure",
      "pressure before the filter",
      "pressure after the filter",
      "pressure before the valve",
      "pressure at the zone inlet",
      "pressure at the far ends",
      "pressure at the far ends, given the inlet",
      "weakest far end against the others"};
  return names[static_cast<std::size_t>(evidence)];
}

std::string to_text(Change::Against against) {
  switch (against) {
    case Change::Against::commissioning:
      return "commissioning record";
    case Change::Against::statement:
      return "stated in field.toml";
    case Change::Against::rating:
      return "emitters' rating";
    case Change::Against::rule:
      return "common practice";
    case Change::Against::model:
      return "clean system by calculation";
    case Change::Against::neighbours:
      return "other far ends";
  }
  return {};
}

std::string to_text(ScreenedState state) {
  return words_of(state).text;
}

std::string state_code(ScreenedState state) {
  return words_of(state).code;
}

std::string first_check(ScreenedState state) {
  return words_of(state).check;
}

double prior_share(ScreenedState state) {
  double share = 0;
  for (const Row& row : table) share += row.state == state ? row.prior : 0;
  return share;
}

std::vector<StateBelief> state_beliefs(std::span<const Change> changes) {
  std::array<double, zone_states> weights{};
  double total = 0;
  for (const Row& row : table) {
    const double weight = row_weight(row, changes);
    weights[static_cast<std::size_t>(row.state)] += weight;
    total += weight;
  }
  std::vector<StateBelief> beliefs;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    beliefs.push_back({static_cast<ScreenedState>(i), weights[i] / total});
  }
  std::stable_sort(beliefs.begin(), beliefs.end(), [](const StateBelief& a, const StateBelief& b) {
    return a.probability > b.probability;
  });
  return beliefs;
}

bool explains(ScreenedState state, Evidence evidence, double change) {
  return std::any_of(table.begin(), table.end(), [&](const Row& row) {
    const Cell& cell = row.cells[static_cast<std::size_t>(evidence)];
    return row.state == state && (change < 0 ? cell.down > 0 : cell.up > 0);
  });
}

std::optional<Evidence> deciding_evidence(ScreenedState one, ScreenedState other,
                                          std::span<const Change> known) {
  // One form of flow and of far ends: both are read with the inlet.
  constexpr std::array candidates{Evidence::zone_inlet,       Evidence::flow_at_pressure,
                                  Evidence::far_end_at_inlet, Evidence::weakest_end,
                                  Evidence::before_valve,     Evidence::before_filter,
                                  Evidence::after_filter};
  constexpr double least_difference = 0.3;
  std::optional<Evidence> best;
  double furthest = least_difference;
  for (const Evidence candidate : candidates) {
    const bool read = std::any_of(known.begin(), known.end(), [&](const Change& change) {
      return to_text(change.evidence).starts_with(to_text(candidate)) ||
             to_text(candidate).starts_with(to_text(change.evidence));
    });
    if (read) continue;
    const auto index = static_cast<std::size_t>(candidate);
    const Cell a = mean_cell(one, index);
    const Cell b = mean_cell(other, index);
    const double difference =
        0.5 * (std::abs(a.down - b.down) + std::abs(a.same - b.same) + std::abs(a.up - b.up));
    if (difference > furthest) {
      furthest = difference;
      best = candidate;
    }
  }
  return best;
}

}  // namespace evendrip
