// SPDX-License-Identifier: Apache-2.0
#include "far_end_changes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

/// Friction of a real zone against the modelled one, as a share of the loss; common practice.
constexpr double loss_sd_frac = 0.15;
/// Far ends of one zone differ by their height and place; common practice, no source.
constexpr double neighbours_sd_frac = 0.05;
/// What lines lose of their inlet pressure where the pipes are not known, and its error; common
/// practice, no source.
constexpr double usual_loss_frac = 0.1;
/// Friction of a line with outlets follows about this power of the flow (Blasius).
constexpr double friction_exponent = 1.75;

/// The clean zone at an inlet pressure, and the pressures there.
class CleanZone {
 public:
  CleanZone(const ZoneNetwork& network, const NetworkState& near, double inlet_kpa)
      : network_(network) {
    network_.set_inlet_pressure(inlet_kpa);
    state_ = NetworkSolver(network_.network).solve(network_.network, &near);
  }
  std::optional<double> port_kpa(int port) const {
    for (const NetworkPort& known : network_.ports) {
      if (known.port == port) return state_.pressure_kpa(network_.network, known.node);
    }
    return std::nullopt;
  }
  double elevation_sd_kpa() const { return network_.elevation_sd_m * kpa_per_m; }

 private:
  ZoneNetwork network_;
  NetworkState state_;
};

struct FarEnd {
  int port = -1;
  Compared both;
  double common_sd = 0;  ///< share; what all ends of the zone have in common, in the reference
};

/// What the inlet leaves at the far end by the record: its loss grows with the flow it had.
Reading end_by_record(const Zone& zone, const Compared& inlet, const Reading& end) {
  const double share = inlet.reading.value / inlet.reference.value;
  const double loss = inlet.reference.value - end.value;
  const double grown =
      loss * std::pow(share, friction_exponent * flow_exponent(zone, inlet.reading.value));
  return {inlet.reading.value - grown, end.sd};
}

std::optional<FarEnd> end_against_record(const ScreeningInput& in, int zone,
                                         const InletReadings& inlet, int port,
                                         const Reading& today) {
  if (in.commissioning == nullptr) return std::nullopt;
  const auto then = recorded_at(*in.commissioning, port, zone);
  if (!then) return std::nullopt;
  if (!inlet.today || !inlet.record) return FarEnd{port, {today, *then}, 0};
  const Compared inlets{*inlet.today, *inlet.record};
  const Reading expected = end_by_record(zone_of(in, zone), inlets, *then);
  if (!(expected.value > 0)) return std::nullopt;
  const double inlet_sd = std::hypot(inlets.reading.sd, inlets.reference.sd);
  return FarEnd{port, {today, expected}, inlet_sd / expected.value};
}

std::optional<FarEnd> end_against_model(const ScreeningInput& in, const CleanZone& clean,
                                        double inlet_kpa, double inlet_sd, int port,
                                        const Reading& today) {
  const auto modelled = clean.port_kpa(port);
  if (!modelled || !(*modelled > 0)) return std::nullopt;
  const double loss = std::abs(inlet_kpa - *modelled);
  const Reading expected{*modelled, clean.elevation_sd_kpa()};
  return FarEnd{port,
                {at_line(in.field, port, today), expected},
                std::hypot(inlet_sd, loss_sd_frac * loss) / *modelled};
}

struct FarEnds {
  std::vector<FarEnd> list;
  Change::Against against = Change::Against::model;
  bool given_inlet = false;
};

std::vector<std::pair<int, Reading>> end_readings(const ScreeningInput& in, int zone) {
  std::vector<std::pair<int, Reading>> ends;
  for (const char* kind : {"lateral_end", "flush_end"}) {
    for (const int port : ports_of(in.field, zone, kind)) {
      if (const auto today = reading_at(in.field, in.survey, port, zone)) {
        ends.emplace_back(port, *today);
      }
    }
  }
  return ends;
}

FarEnds ends_against_record(const ScreeningInput& in, int zone, const InletReadings& inlet,
                            const std::vector<std::pair<int, Reading>>& readings) {
  FarEnds ends;
  ends.against = Change::Against::commissioning;
  ends.given_inlet = inlet.record.has_value();
  for (const auto& [port, today] : readings) {
    if (auto end = end_against_record(in, zone, inlet, port, today)) ends.list.push_back(*end);
  }
  return ends;
}

/// Without pipes: lines lose about a tenth of the inlet pressure.
FarEnd end_by_rule(const ScreeningInput& in, const Reading& inlet, int port, const Reading& today) {
  const double left = (1 - usual_loss_frac) * inlet.value;
  return {port,
          {at_line(in.field, port, today), {left, neighbours_sd_frac * left}},
          std::hypot(inlet.sd / inlet.value, usual_loss_frac)};
}

/// Every far end against one kind of reference: the record where it has them, else the model, else
/// a rule.
FarEnds far_ends(const ScreeningInput& in, int zone, const InletReadings& inlet) {
  const auto readings = end_readings(in, zone);
  FarEnds ends = ends_against_record(in, zone, inlet, readings);
  if (!ends.list.empty() || readings.empty()) return ends;
  const Reading at_inlet =
      inlet.today ? at_line(in.field, inlet.port, *inlet.today) : stated_inlet(zone_of(in, zone));
  if (!(at_inlet.value > 0)) return ends;
  ends.given_inlet = inlet.today.has_value();
  const ExpectedZone& expected = in.expectation.zones[static_cast<std::size_t>(zone)];
  if (expected.computed && expected.network) {
    ends.against = Change::Against::model;
    const CleanZone clean(*expected.network, expected.state, at_inlet.value);
    for (const auto& [port, today] : readings) {
      const auto end = end_against_model(in, clean, at_inlet.value, at_inlet.sd, port, today);
      if (end) ends.list.push_back(*end);
    }
    if (!ends.list.empty()) return ends;
  }
  ends.against = Change::Against::rule;
  for (const auto& [port, today] : readings) {
    ends.list.push_back(end_by_rule(in, at_inlet, port, today));
  }
  return ends;
}

/// Where the expected pressure of an end comes from.
std::string expected_words(const ScreeningInput& in, const FarEnds& ends) {
  const char* inlet = ends.given_inlet ? "read" : "known from field.toml";
  switch (ends.against) {
    case Change::Against::commissioning:
      return ends.given_inlet ? "that the record leaves there at today's inlet pressure"
                              : of_record(in);
    case Change::Against::model:
      return fmt::format("by calculation at the inlet pressure {}", inlet);
    default:
      return fmt::format("if lines lose a tenth of the inlet pressure {}", inlet);
  }
}

void far_end_change(const ScreeningInput& in, const FarEnds& ends, std::vector<Change>& changes) {
  if (ends.list.empty()) return;
  std::vector<double> shares;
  double own = 0;
  double own_instrument = 0;
  double common = 0;
  for (const FarEnd& end : ends.list) {
    const Change one = ratio_change(Evidence::far_end_at_inlet, end.both, ends.against);
    shares.push_back(one.change);
    own = std::max(own, one.sd);
    own_instrument = std::max(own_instrument, one.instrument_sd);
    common = std::max(common, end.common_sd);
  }
  // The median of n normal values has about 1.25 times the error of their mean.
  const double n = static_cast<double>(ends.list.size());
  const double shrink = n > 1 ? std::min(1.0, 1.25 / std::sqrt(n)) : 1.0;
  Change made;
  made.evidence = ends.given_inlet ? Evidence::far_end_at_inlet : Evidence::far_end_as_read;
  made.against = ends.against;
  made.change = median_of(shares);
  made.sd = std::hypot(common, shrink * own);
  made.instrument_sd = shrink * own_instrument;
  const FarEnd& first = ends.list.front();
  if (ends.list.size() == 1) {
    made.measured = first.both.reading.value;
    made.reference = first.both.reference.value;
    made.told = fmt::format("{} at {}, {} {}", pressure_text(in, made.measured),
                            in.field.ports[static_cast<std::size_t>(first.port)].id,
                            pressure_text(in, made.reference), expected_words(in, ends));
  } else {
    made.told = fmt::format("middle of {} far ends, each against the pressure {}", ends.list.size(),
                            expected_words(in, ends));
  }
  changes.push_back(std::move(made));
}

/// Ratio of each far end to its reference.
struct EndRatio {
  int port = -1;
  double ratio = 0;
  double sd = 0;
  double reading_kpa = 0;
};

std::vector<EndRatio> end_ratios(const FarEnds& ends) {
  std::vector<EndRatio> ratios;
  for (const FarEnd& end : ends.list) {
    const Change one = ratio_change(Evidence::weakest_end, end.both, ends.against);
    ratios.push_back({end.port, 1 + one.change, one.sd, end.both.reading.value});
  }
  return ratios;
}

/// Expected distance of the lowest of n normal values below their middle, in standard deviations
/// (Blom 1958: the quantile of (1 - 3/8)/(n + 1/4); from memory), by a fit good to 3 %.
double lowest_of(std::size_t n) {
  static constexpr std::array<double, 11> known{0,    0,    0.56, 0.85, 1.03, 1.16,
                                                1.27, 1.35, 1.42, 1.49, 1.54};
  if (n < known.size()) return known[n];
  return 1.54 + 0.42 * std::log(static_cast<double>(n) / 10);
}

void weakest_end_change(const ScreeningInput& in, const FarEnds& ends,
                        std::vector<Change>& changes) {
  const std::vector<EndRatio> ratios = end_ratios(ends);
  if (ratios.size() < 2) return;
  const auto lowest =
      std::min_element(ratios.begin(), ratios.end(),
                       [](const EndRatio& a, const EndRatio& b) { return a.ratio < b.ratio; });
  std::vector<double> others;
  for (const EndRatio& end : ratios) {
    if (end.port != lowest->port) others.push_back(end.ratio);
  }
  const double middle = median_of(others);
  if (!(middle > 0)) return;
  Change made;
  made.evidence = Evidence::weakest_end;
  made.against = Change::Against::neighbours;
  made.instrument_sd =
      lowest->sd / middle * std::sqrt(1 + 1.5 / static_cast<double>(others.size()));
  made.sd = made.instrument_sd;
  // The lowest of several sound ends lies below the others by chance.
  made.change = std::min(0.0, lowest->ratio / middle - 1 + lowest_of(ratios.size()) * lowest->sd);
  made.measured = lowest->reading_kpa;
  made.told = fmt::format("{} at {}, {:.0f} % under the middle of the other {}",
                          pressure_text(in, lowest->reading_kpa),
                          in.field.ports[static_cast<std::size_t>(lowest->port)].id,
                          std::max(0.0, 100 * (1 - lowest->ratio / middle)), others.size());
  changes.push_back(std::move(made));
}

}  // namespace

void add_far_ends(const ScreeningInput& in, int zone, std::vector<Change>& changes) {
  const FarEnds ends = far_ends(in, zone, inlet_of(in, zone));
  far_end_change(in, ends, changes);
  weakest_end_change(in, ends, changes);
}

}  // namespace evendrip
