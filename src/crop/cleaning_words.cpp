// SPDX-License-Identifier: Apache-2.0
#include "cleaning_words.hpp"

#include <cmath>

#include <fmt/format.h>

namespace evendrip {
namespace {

double percent(std::size_t part, std::size_t whole) {
  return whole == 0 ? 0 : 100 * static_cast<double>(part) / static_cast<double>(whole);
}

/// In the square of the yields' unit.
std::string first_lag(const std::vector<VariogramLag>& lags, UnitSystem units) {
  const double factor = from_canonical(1, report_unit(Dimension::yield, units), Dimension::yield);
  const double value = lags.front().semivariance * factor * factor;
  return value < 1000 ? fmt::format("{:.3g}", value) : fmt::format("{:.0f}", value);
}

}  // namespace

std::string to_text(SetAside step) {
  switch (step) {
    case SetAside::kept:
      return "kept";
    case SetAside::no_value:
      return "no value";
    case SetAside::pass_end:
      return "pass end";
    case SetAside::narrow_cut:
      return "narrow cut";
    case SetAside::speed:
      return "speed";
    case SetAside::impossible_yield:
      return "impossible yield";
    case SetAside::field_edge:
      return "field edge";
    case SetAside::same_spot:
      return "same spot";
    case SetAside::odd_neighbours:
      return "odd neighbours";
  }
  return "";
}

std::string told(std::size_t records, std::size_t of, const std::string& why,
                 const std::string& otherwise) {
  if (records == 0) return fmt::format("No record was set aside: none {}.", otherwise);
  return fmt::format("{} of {} records ({:.1f} %) {} set aside because {}.", records, of,
                     percent(records, of), records == 1 ? "was" : "were", why);
}

std::string source_of(SetAside step) {
  const std::string six_steps = "Simbahan, Dobermann & Ping 2004, Agron. J. 96:1091-1102";
  const std::string automatic =
      "Vega, Cordoba, Castro-Franco & Balzarini 2019, Precision Agric. 20:1030-1044";
  const std::string practice = "; thresholds: common practice, no source";
  switch (step) {
    case SetAside::kept:
      return "";
    case SetAside::no_value:
      return six_steps +
             " (header up, grain flow delay); delay from neighbouring passes: Chung, Sudduth & "
             "Drummond 2002, Trans. ASAE 45:915-926 (from memory)";
    case SetAside::pass_end:
      return six_steps + " (start and end of passes)" + practice;
    case SetAside::narrow_cut:
      return "Drummond, Fraisse & Sudduth 1999, Trans. ASAE 42:1221-1227 (from memory)" + practice;
    case SetAside::speed:
      return "common practice, no source";
    case SetAside::impossible_yield:
      return six_steps +
             " (biological limits); Hampel 1974, J. Am. Stat. Assoc. 69:383-393 "
             "(median absolute deviation)" +
             practice;
    case SetAside::field_edge:
      return automatic + " (edges)" + practice;
    case SetAside::same_spot:
      return six_steps + " (co-located points)" + practice;
    case SetAside::odd_neighbours:
      return automatic +
             " (local Moran's I); Anselin 1995, Geogr. Anal. 27:93-115; Benjamini & Hochberg "
             "1995, J. R. Stat. Soc. B 57:289-300";
  }
  return "";
}

std::string summary_of(const CleanedLog& cleaned, UnitSystem units) {
  const std::size_t records = cleaned.step.size();
  if (records == 0) return "The log holds no record.";
  std::string text = fmt::format("Of {} records in {} passes {} ({:.1f} %) were kept.", records,
                                 cleaned.passes, cleaned.kept(), percent(cleaned.kept(), records));
  if (cleaned.travel_time.used_s != 0)
    text += fmt::format(" Grain was moved back by {}.",
                        format_quantity(cleaned.travel_time.used_s, Dimension::time, units, 3));
  if (cleaned.opposite_pass_difference_before > 0)
    text += fmt::format(
        " Side by side, neighbouring passes driven in opposite directions differed by {:.1f} % of "
        "the yield as logged and differ by {:.1f} % now.",
        100 * cleaned.opposite_pass_difference_before,
        100 * cleaned.opposite_pass_difference_after);
  if (!cleaned.before.empty() && !cleaned.after.empty())
    text += fmt::format(
        " The semivariance of yields about {} apart went from {} to {} ({})\u00b2.",
        format_quantity(cleaned.before.front().mean_distance_m, Dimension::length, units, 2),
        first_lag(cleaned.before, units), first_lag(cleaned.after, units),
        report_unit(Dimension::yield, units));
  return text;
}

Doubt travel_time_doubt(const HarvestLog& log, const std::string& why) {
  Doubt doubt;
  doubt.code = "travel_time_not_told";
  doubt.severity = log.has_mass_flow ? Severity::doubt : Severity::note;
  doubt.place.file = log.file;
  doubt.text = why + " The yields stand where they were logged";
  doubt.remedy = "State travel_time in [crop.cleaning] if the machine's is known";
  return doubt;
}

}  // namespace evendrip
