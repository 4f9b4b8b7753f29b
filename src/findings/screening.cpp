// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/screening.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "compared.hpp"

namespace evendrip {
namespace {

/// Variation of a sound system from day to day, and how far beyond all errors a change has to lie
/// to be told; common practice, no source.
constexpr double day_to_day_sd = 0.02;
constexpr double told_beyond_sd = 2;
constexpr double clear_beyond_sd = 3;
/// A zone is called sound only from this probability on, and faulty only where that of being sound
/// is below the other; common practice, no source.
constexpr double sound_from = 0.75;
constexpr double faulty_below = 0.15;
/// One fault is named alone only with this lead over the next; common practice, no source.
constexpr double clear_lead = 0.15;
/// A reference this much rougher than the instruments of today decides what can be told.
constexpr double rough_reference = 1.5;
/// The weakest of the ends that were read stands for so large a part of the zone's lines.
constexpr double lines_of_weakest_end = 0.25;

bool beyond(const Change& change, double sd) {
  return std::abs(change.change) > told_beyond_sd * std::hypot(sd, day_to_day_sd);
}

bool beyond_all_errors(const std::vector<Change>& changes) {
  return std::any_of(changes.begin(), changes.end(),
                     [](const Change& c) { return beyond(c, c.sd); });
}

/// The first change that today's instruments see but the reference is too rough to judge, as the
/// rating of the emitters is.
const Change* within_reference_only(const std::vector<Change>& changes) {
  const auto found = std::find_if(changes.begin(), changes.end(), [](const Change& c) {
    return c.sd > rough_reference * c.instrument_sd && beyond(c, c.instrument_sd) &&
           !beyond(c, c.sd);
  });
  return found == changes.end() ? nullptr : &*found;
}

double probability_of(ScreenedState state, const std::vector<StateBelief>& beliefs) {
  for (const StateBelief& belief : beliefs) {
    if (belief.state == state) return belief.probability;
  }
  return 0;
}

/// A flow that was good once, and not only by a rating, was compared.
bool flow_recorded(const std::vector<Change>& changes) {
  return std::any_of(changes.begin(), changes.end(), [](const Change& c) {
    return c.dimension == Dimension::discharge && c.against == Change::Against::commissioning;
  });
}

bool looks_sound(const ScreenedZone& zone) {
  const StateBelief& best = zone.beliefs.front();
  return best.state == ScreenedState::sound && best.probability >= sound_from &&
         !beyond_all_errors(zone.changes) && within_reference_only(zone.changes) == nullptr;
}

bool is_not_told(const ScreenedZone& zone) {
  if (zone.changes.empty()) return true;
  if (zone.beliefs.front().state != ScreenedState::sound) {
    return !beyond_all_errors(zone.changes) ||
           probability_of(ScreenedState::sound, zone.beliefs) > faulty_below;
  }
  return !looks_sound(zone) || !flow_recorded(zone.changes);
}

std::string how_sure(double probability) {
  if (probability > 0.99) return "over 99 %";
  if (probability < 0.01) return "under 1 %";
  return fmt::format("{:.0f} %", 100 * probability);
}

std::string named(const StateBelief& belief) {
  return fmt::format("{} ({})", to_text(belief.state), how_sure(belief.probability));
}

/// The most probable state that is not sound.
const StateBelief& best_fault(const ScreenedZone& zone) {
  return zone.beliefs[zone.beliefs.front().state == ScreenedState::sound ? 1 : 0];
}

std::string off_by(const Change& change) {
  return fmt::format("{} is {:.0f} % {}", to_text(change.evidence), 100 * std::abs(change.change),
                     change.change < 0 ? "down" : "up");
}

double errors_away(const Change& change) {
  return std::abs(change.change) / std::hypot(change.sd, day_to_day_sd);
}

const Change& furthest(const std::vector<Change>& changes) {
  return *std::max_element(changes.begin(), changes.end(), [](const Change& a, const Change& b) {
    return errors_away(a) < errors_away(b);
  });
}

/// What a sound zone could still hide: a fall of flow within two errors.
std::string hidden_clogging(const std::vector<Change>& changes) {
  for (const Change& change : changes) {
    if (change.dimension != Dimension::discharge) continue;
    return fmt::format("clogging that takes less than {:.0f} % of the flow would not show",
                       100 * told_beyond_sd * std::hypot(change.sd, day_to_day_sd));
  }
  return "clogging would not show, for the flow was not metered";
}

std::string why_not_told(const Zone& spec, const ScreenedZone& zone) {
  if (zone.changes.empty()) {
    return "Not told: no reading of this zone can be compared with anything.";
  }
  if (looks_sound(zone)) {
    return fmt::format(
        "Not told from its rating: nothing stands out ({} sound), but without a "
        "commissioning record {}.",
        how_sure(zone.beliefs.front().probability), hidden_clogging(zone.changes));
  }
  const std::string guess = fmt::format("; if anything, {}", named(best_fault(zone)));
  if (beyond_all_errors(zone.changes)) {
    const Change& change = furthest(zone.changes);
    return fmt::format("Not told: {}, {}{}.", off_by(change),
                       errors_away(change) < clear_beyond_sd
                           ? "at the edge of what its error allows"
                           : "but the other readings do not bear that out",
                       guess);
  }
  const Change* change = within_reference_only(zone.changes);
  if (change == nullptr) {
    return fmt::format("Not told: no change stands out from the error of measuring{}.", guess);
  }
  if (change->dimension == Dimension::discharge) {
    return fmt::format(
        "Not told: {}, within the emitters' rated tolerance ({:.0f} %) and what soil and pipes "
        "leave open{}.",
        off_by(*change), 100 * spec.emitter.rated_tolerance_frac, guess);
  }
  return fmt::format("Not told: {}, which the reference is too rough to judge{}.", off_by(*change),
                     guess);
}

/// A second fault: a clear change that the best state does not bring.
std::string not_explained(const ScreenedZone& zone) {
  for (const Change& change : zone.changes) {
    if (errors_away(change) < clear_beyond_sd) continue;
    if (explains(zone.beliefs.front().state, change.evidence, change.change)) continue;
    return fmt::format(
        " The most likely fault alone does not explain why {}: there may be a second one.",
        off_by(change));
  }
  return "";
}

std::string verdict_of(const Zone& spec, const ScreenedZone& zone) {
  if (zone.not_told) return why_not_told(spec, zone);
  const StateBelief& best = zone.beliefs[0];
  const StateBelief& next = zone.beliefs[1];
  if (best.state == ScreenedState::sound) {
    return fmt::format("Sound as far as gauges and meter tell ({}); {}.",
                       how_sure(best.probability), hidden_clogging(zone.changes));
  }
  if (best.probability < 0.5 || best.probability - next.probability < clear_lead) {
    return fmt::format("Something is wrong, but not clearly one thing: {} or {}.", named(best),
                       named(next)) +
           not_explained(zone);
  }
  return fmt::format("Most likely {}; next {}.", named(best), named(next)) + not_explained(zone);
}

/// What to read next to tell the two best states apart, where the second is worth a thought.
std::string deciding_reading(const ScreenedZone& zone) {
  constexpr double worth_a_thought = 0.1;  // common practice, no source
  const StateBelief& next = zone.beliefs[1];
  if (next.probability < worth_a_thought) return "";
  const auto evidence = deciding_evidence(zone.beliefs[0].state, next.state, zone.changes);
  if (!evidence) return "";
  return fmt::format(" Reading the {} as well would best tell it from {}.", to_text(*evidence),
                     to_text(next.state));
}

std::string check_of(const ScreenedZone& zone) {
  if (zone.changes.empty()) {
    return "Read the meter, the zone's inlet and some far ends while it runs. Gauges before the "
           "zone "
           "tell only against a commissioning record.";
  }
  if (!zone.not_told) {
    return first_check(zone.beliefs.front().state) + deciding_reading(zone);
  }
  if (looks_sound(zone)) {
    return "Nothing urgent. A commissioning record, kept on a day when all is known to be good, "
           "would make the next reading sharper.";
  }
  const bool recorded = std::any_of(zone.changes.begin(), zone.changes.end(), [](const Change& c) {
    return c.against == Change::Against::commissioning;
  });
  const std::string sharper = recorded ? "" : "; a commissioning record would make it sharper";
  return "Read again, with finer instruments and at more far ends" + sharper + ". " +
         first_check(best_fault(zone).state);
}

/// How much of a zone's water a change of a gauge or meter speaks of.
double water_share(const Zone& spec, const Change& change) {
  if (change.dimension == Dimension::discharge) return std::min(1.0, std::abs(change.change));
  const double left = std::max(0.0, 1 + change.change);
  const double share = std::min(1.0, std::abs(1 - std::pow(left, spec.emitter.exponent)));
  return change.evidence == Evidence::weakest_end ? lines_of_weakest_end * share : share;
}

double rated_flow_lph(const Field& field, int zone) {
  double emitters = 0;
  for (const Lateral& lateral : field.laterals) {
    if (lateral.zone == zone) emitters += lateral.emitters;
  }
  return emitters * field.zones[static_cast<std::size_t>(zone)].emitter.discharge_lph;
}

double urgency_of(const Field& field, const ScreenedZone& zone, double whole_flow_lph) {
  if (zone.changes.empty()) return 0;
  const Zone& spec = field.zones[static_cast<std::size_t>(zone.zone)];
  double share = 0;
  for (const Change& change : zone.changes) share = std::max(share, water_share(spec, change));
  const double wrong = 1 - probability_of(ScreenedState::sound, zone.beliefs);
  const double of_field =
      whole_flow_lph > 0 ? rated_flow_lph(field, zone.zone) / whole_flow_lph : 1.0;
  return wrong * share * of_field;
}

}  // namespace

Screening screen_zones(const Field& field, const Survey& survey, const Expectation& expectation,
                       const std::vector<MeterComparison>& meter,
                       const std::optional<Commissioning>& commissioning) {
  const ScreeningInput input{field, survey, expectation, meter,
                             commissioning ? &*commissioning : nullptr};
  double whole_flow = 0;
  for (std::size_t i = 0; i < field.zones.size(); ++i) {
    whole_flow += rated_flow_lph(field, static_cast<int>(i));
  }
  Screening screening;
  for (std::size_t i = 0; i < field.zones.size(); ++i) {
    const Zone& spec = field.zones[i];
    ScreenedZone zone;
    zone.zone = static_cast<int>(i);
    zone.changes = zone_changes(input, zone.zone, screening.doubts);
    zone.beliefs = state_beliefs(zone.changes);
    zone.not_told = is_not_told(zone);
    zone.verdict = verdict_of(spec, zone);
    zone.check_first = check_of(zone);
    zone.urgency = urgency_of(field, zone, whole_flow);
    if (zone.changes.empty()) {
      screening.doubts.push_back(
          {"zone_not_read",
           Severity::note,
           {},
           fmt::format("zone {} has no reading that can be compared", spec.id),
           "",
           "a meter reading, or gauges with an inlet_pressure, a commissioning record or pipes",
           "Read the meter, the inlet and some far ends while the zone runs"});
    }
    screening.zones.push_back(std::move(zone));
  }
  std::stable_sort(
      screening.zones.begin(), screening.zones.end(),
      [](const ScreenedZone& a, const ScreenedZone& b) { return a.urgency > b.urgency; });
  return screening;
}

}  // namespace evendrip
