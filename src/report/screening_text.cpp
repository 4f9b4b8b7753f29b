// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/screening_text.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "evendrip/findings/zone_changes.hpp"
#include "look_first.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

/// "+8", "-12"; "0" for what rounds to nothing.
std::string signed_percent(double share) {
  const double percent = std::round(100 * share);
  return percent == 0 ? "0" : fmt::format("{:+.0f}", percent);
}

class Told {
 public:
  explicit Told(const ScreeningStory& story)
      : story_(story), field_(story.field), units_(story.field.report_units) {}

  std::string text() const {
    return head() + zones() + crops() + design() + not_computed() + season() + footer() + written();
  }

 private:
  std::string pressure(double kpa) const {
    return format_quantity(kpa, Dimension::pressure, units_, 3);
  }
  std::string velocity(double m_s) const {
    return format_quantity(m_s, Dimension::velocity, units_, 2);
  }
  std::string flow(double lph) const { return zone_flow_text(lph, units_); }
  std::string length(double m) const { return format_quantity(m, Dimension::length, units_, 3); }
  const Zone& zone(int index) const { return field_.zones[static_cast<std::size_t>(index)]; }
  std::string lateral(int index) const {
    return index < 0 ? "none" : field_.laterals[static_cast<std::size_t>(index)].id;
  }

  std::string head() const {
    std::string out = fmt::format("{}, screened by gauges and meter, survey {} of {}\n",
                                  field_.name, story_.survey.id, story_.survey.date);
    if (story_.commissioning) {
      const std::string& date = story_.commissioning->date;
      return out + wrapped("", fmt::format("Compared with {}{}.", commissioning_file,
                                           date.empty() ? "" : ", the record of " + date));
    }
    return out + wrapped("",
                         "There is no commissioning record: readings are compared with the clean "
                         "system by calculation and with field.toml, whose tolerances are wide. "
                         "When all is known to be good, evendrip screen FIELD --commission keeps "
                         "the day's readings as the record.");
  }

  std::string evidence(const ScreenedZone& screened) const {
    if (screened.changes.empty()) return "";
    std::string out =
        fmt::format("    {:<45}{:>7}{:>8}  {}\n", "evidence", "change", "error", "against");
    for (const Change& change : screened.changes) {
      out += fmt::format("    {:<45}{:>5} %{:>6.1f} %  {}\n", to_text(change.evidence),
                         signed_percent(change.change), 100 * change.sd, to_text(change.against));
      out += wrapped("      ", change.told);
    }
    return out;
  }

  std::string zones() const {
    std::string out =
        "\nZones, most urgent first (error: one standard deviation, reference included)\n";
    int rank = 0;
    for (const ScreenedZone& screened : story_.screening.zones) {
      out += wrapped(fmt::format("{:>2}. {}  ", ++rank, zone(screened.zone).id), screened.verdict);
      out += evidence(screened);
      out += wrapped("    Check first: ", screened.check_first);
    }
    return out;
  }

  std::string crops() const {
    if (story_.crops.empty()) return "";
    std::string out = "\nWhat the crop shows (it never says that an emitter is clogged)\n";
    for (const HeardLayer& layer : story_.crops) {
      out += "  " + title_of(layer) + "\n" + look_first_text(field_, layer.screening);
    }
    return out;
  }

  std::string flush(const DesignCheck& check) const {
    if (!check.flush) return "";
    const FlushCheck& f = *check.flush;
    const bool one_by_one = zone(check.zone).lateral.ends == LateralEnds::closed;
    std::string out = fmt::format(
        "Flushing with {} {} open at {}: the slowest far end, of {}, runs at {} (goal {}; some "
        "recommend {} for effluent or coarse particles).",
        f.lines_open, f.lines_open == 1 ? "line" : "lines", pressure(f.inlet_pressure_kpa),
        lateral(f.slowest_lateral), velocity(f.smallest_velocity_m_s),
        units_ == UnitSystem::us ? "1 ft/s" : "0.3 m/s",
        units_ == UnitSystem::us ? "1.6 to 2 ft/s" : "0.5 to 0.6 m/s");
    if (one_by_one) out += lines_at_once(f, check.zone);
    if (!f.reaches_0_3) out += needed_inlet(f, check.zone);
    return wrapped("      ", out + supply(f.inflow_lph, check.supply_lph));
  }

  std::string lines_at_once(const FlushCheck& flush, int number) const {
    const int most = flush.lines_at_once;
    const auto all =
        std::count_if(field_.laterals.begin(), field_.laterals.end(),
                      [number](const Lateral& candidate) { return candidate.zone == number; });
    if (most == 0) return " Not even one line alone reaches the goal.";
    if (most == all) return fmt::format(" All {} lines reach the goal even together.", most);
    if (most == 1) return " One line alone reaches the goal, two together do not.";
    return fmt::format(" Up to {} neighbours reach the goal together.", most);
  }

  std::string needed_inlet(const FlushCheck& flush, int number) const {
    const double limit = zone(number).lateral.max_pressure_kpa;
    if (std::isfinite(flush.needed_inlet_kpa)) {
      return fmt::format(" The goal needs {} at the inlet{}.", pressure(flush.needed_inlet_kpa),
                         limit > 0 ? fmt::format(" (the tape bears {})", pressure(limit))
                                   : std::string("; the tape's limit is not stated"));
    }
    return limit > 0 ? fmt::format(" The goal would take more pressure than the tape bears ({}).",
                                   pressure(limit))
                     : std::string(" The goal would take over three times the inlet pressure.");
  }

  /// The largest metered flow is what the supply is known to give.
  std::string supply(double needs_lph, double metered_lph) const {
    if (!(metered_lph > 0)) {
      return fmt::format(" It takes {}; no meter reading tells whether the supply gives that.",
                         flow(needs_lph));
    }
    if (needs_lph <= metered_lph) {
      return fmt::format(" It takes {}, which the supply gave ({} metered).", flow(needs_lph),
                         flow(metered_lph));
    }
    return fmt::format(
        " It takes {}, more than was ever metered in this survey ({}): see first whether pump and "
        "main can deliver it.",
        flow(needs_lph), flow(metered_lph));
  }

  std::string design() const {
    if (story_.design.empty()) return "";
    std::string out = "\nDesign check: clean emitters at today's inlet pressure\n";
    for (const DesignCheck& check : story_.design) {
      out += fmt::format(
          "    {}  Emission uniformity by design {:.0f} %; flow varies by {:.0f} % between "
          "emitters\n"
          "      (common practice: under 10 % is good, 10 to 20 % acceptable).\n",
          zone(check.zone).id, 100 * check.emission_uniformity, 100 * check.flow_variation);
      out += wrapped("      ",
                     fmt::format("Pressure from {} ({}, {} from its supply end) to {} ({}, {}){}.",
                                 pressure(check.lowest_kpa), lateral(check.lowest_lateral),
                                 length(check.lowest_station_m), pressure(check.highest_kpa),
                                 lateral(check.highest_lateral), length(check.highest_station_m),
                                 check.passes_tape_limit ? ", beyond what the tape bears" : ""));
      out += flush(check);
    }
    return out;
  }

  std::string not_computed() const {
    std::string out;
    for (const ExpectedZone& expected : story_.expectation.zones) {
      if (expected.computed) continue;
      if (out.empty()) out = "\nNot computed\n";
      out += wrapped("    ", fmt::format("pressures and flushing of {}: {}", zone(expected.zone).id,
                                         expected.why_not));
    }
    return out;
  }

  std::string season() const {
    std::string out = "\nStart of the season\n";
    for (const std::string& line : season_start_checks()) out += wrapped("    [ ] ", line);
    out += "\nEnd of the season\n";
    for (const std::string& line : season_end_checks()) out += wrapped("    [ ] ", line);
    return out;
  }

  std::string footer() const {
    return "\n" + wrapped("",
                          "How likely each fault is beforehand, how large changes are, and these "
                          "lists are common practice, not measured on this field. Local codes and "
                          "licensed practice come first.");
  }

  std::string written() const {
    if (!story_.written) return "";
    const Commissioning& record = *story_.written;
    return "\n" + wrapped("", fmt::format("Wrote {}: {} pressures and {} flows{}. Later screenings "
                                          "compare with it.",
                                          (field_.folder / commissioning_file).string(),
                                          record.pressures.size(), record.flows.size(),
                                          record.date.empty() ? "" : " of " + record.date));
  }

  const ScreeningStory& story_;
  const Field& field_;
  UnitSystem units_;
};

}  // namespace

std::string screening_text(const ScreeningStory& story) {
  return Told(story).text();
}

}  // namespace evendrip
