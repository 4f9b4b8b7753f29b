// SPDX-License-Identifier: Apache-2.0
#include "placing.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/geo/index.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

constexpr double declared_prior = 0.98;
constexpr double placed_at = 0.95;
/// Laterals farther from a fix than this many standard deviations are not weighed.
constexpr double reach_sd = 4.0;
/// A fix farther from the declared place than this contradicts it.
constexpr double contradiction_sd = 3.0;
constexpr int fewest_for_shift = 3;

/// Robust standard deviation: 1.4826 times the median absolute deviation, which is the standard
/// deviation of a Gaussian.
double robust_sd(const std::vector<double>& values, double middle) {
  std::vector<double> deviations;
  deviations.reserve(values.size());
  for (const double v : values) deviations.push_back(std::abs(v - middle));
  return 1.4826 * median_of(std::move(deviations));
}

int lateral_index(const Field& field, const std::string& id) {
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    if (field.laterals[i].id == id) return static_cast<int>(i);
  }
  return -1;
}

const Zone& zone_of(const Field& field, int lateral) {
  const Lateral& l = field.laterals[static_cast<std::size_t>(lateral)];
  return field.zones[static_cast<std::size_t>(l.zone)];
}

/// Tape and wheel stretch and slip; a station this far beyond the end counts as the end.
double station_tolerance_m(double length_m) {
  return std::max(0.5, 0.01 * length_m);
}

struct Declared {
  int lateral = -1;
  std::optional<double> station_m;
};

/// Station by tape, or by counting emitters; not checked.
std::optional<double> stated_station_m(const Field& field, const CatchRecord& record, int lateral) {
  if (record.station_m) return record.station_m;
  if (record.emitter) return emitter_station_m(zone_of(field, lateral).emitter, *record.emitter);
  return std::nullopt;
}

int zone_at(const Field& field, Point p) {
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    if (contains(field.zones[z].area, p)) return static_cast<int>(z);
  }
  return -1;
}

class Placer {
 public:
  Placer(const Field& field, const CommonShift& shift, std::string file, Doubts& doubts)
      : field_(field),
        shift_(shift),
        file_(std::move(file)),
        doubts_(doubts),
        index_(lines(field)) {}

  PlacedRecord place(const CatchRecord& record) {
    const auto declared = checked_declaration(record);
    if (!declared) return nowhere(record);
    if (record.fix) return weighed(record, *record.fix, *declared);
    if (declared->lateral >= 0 && declared->station_m) {
      return by_declaration(declared->lateral, *declared->station_m, declared_prior);
    }
    tell_missing(record);
    return nowhere(record);
  }

 private:
  struct Candidate {
    int lateral = -1;
    Projection projection;
    double weight = 0;  ///< p(lateral)
  };

  static std::vector<Line> lines(const Field& field) {
    std::vector<Line> all;
    all.reserve(field.laterals.size());
    for (const Lateral& lateral : field.laterals) all.push_back(lateral.line);
    return all;
  }

  void tell(const CatchRecord& record, Severity severity, const char* code, const char* column,
            std::string text, std::string found, std::string expected, std::string remedy) {
    doubts_.push_back({code,
                       severity,
                       {file_, "", record.row, column},
                       std::move(text),
                       std::move(found),
                       std::move(expected),
                       std::move(remedy)});
  }

  /// The place stays unknown; a problem has been told.
  static PlacedRecord nowhere(const CatchRecord& record) {
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    PlacedRecord placed;
    placed.site.place = record.fix.value_or(Point{nan, nan});
    return placed;
  }

  void tell_missing(const CatchRecord& record) {
    tell(record, Severity::problem, "place_missing", "lateral",
         "record " + record.record + " has no place", record.lateral,
         "lateral and station_m, lateral and emitter, or lat and lon", "Fill in the place");
  }

  /// Nothing, with a problem, if the declared lateral, station or emitter is not there.
  std::optional<Declared> checked_declaration(const CatchRecord& record) {
    Declared declared;
    if (record.lateral.empty()) {
      if (!record.station_m && !record.emitter) return declared;
      tell(record, Severity::problem, "lateral_missing", "lateral",
           "a station or emitter needs its lateral", "", "the lateral's id", "Fill in the lateral");
      return std::nullopt;
    }
    declared.lateral = lateral_index(field_, record.lateral);
    if (declared.lateral < 0) {
      tell_unknown_lateral(record);
      return std::nullopt;
    }
    const Lateral& lateral = field_.laterals[static_cast<std::size_t>(declared.lateral)];
    if (record.emitter && *record.emitter > lateral.emitters) {
      tell(record, Severity::problem, "emitter_beyond_end", "emitter",
           fmt::format("lateral {} has fewer emitters", lateral.id),
           fmt::format("{}", *record.emitter), fmt::format("1 to {}", lateral.emitters),
           "Check the lateral and the count, which starts at the supply end");
      return std::nullopt;
    }
    declared.station_m = stated_station_m(field_, record, declared.lateral);
    if (!declared.station_m) return declared;
    if (!station_fits(record, lateral, *declared.station_m)) return std::nullopt;
    tell_two_stations(record, declared.lateral);
    declared.station_m = std::clamp(*declared.station_m, 0.0, lateral.length_m);
    return declared;
  }

  bool station_fits(const CatchRecord& record, const Lateral& lateral, double station_m) {
    const double beyond = station_m - lateral.length_m;
    if (station_m >= 0 && beyond <= station_tolerance_m(lateral.length_m)) return true;
    tell(record, Severity::problem, station_m < 0 ? "station_negative" : "station_beyond_end",
         "station_m",
         station_m < 0 ? "a station cannot be negative"
                       : fmt::format("the station lies beyond the end of lateral {}", lateral.id),
         fmt::format("{:g} m", station_m), fmt::format("0 to {:.1f} m", lateral.length_m),
         "Check the lateral and the tape, which starts at the supply end");
    return false;
  }

  void tell_two_stations(const CatchRecord& record, int lateral) {
    if (!record.station_m || !record.emitter) return;
    const EmitterSpec& spec = zone_of(field_, lateral).emitter;
    const double counted = emitter_station_m(spec, *record.emitter);
    const double room = std::max(spec.spacing_m, station_tolerance_m(counted));
    if (std::abs(counted - *record.station_m) <= room) return;
    tell(record, Severity::doubt, "station_contradicts_emitter", "emitter",
         "the station and the emitter's number name different places",
         fmt::format("emitter {} at {:.2f} m", *record.emitter, counted),
         fmt::format("near station {:.2f} m", *record.station_m), "The station is used");
  }

  void tell_unknown_lateral(const CatchRecord& record) {
    std::string some;
    for (std::size_t i = 0; i < field_.laterals.size() && i < 6; ++i) {
      some += (i > 0 ? ", " : "") + field_.laterals[i].id;
    }
    if (field_.laterals.size() > 6) some += " ...";
    tell(record, Severity::problem, "unknown_lateral", "lateral", "there is no such lateral",
         record.lateral, some.empty() ? "a lateral, but the field has none" : some,
         "Correct the cell, or the ids in [layers] laterals");
  }

  PlacedRecord by_declaration(int lateral, double station_m, double probability) const {
    PlacedRecord placed;
    placed.site.lateral = lateral;
    placed.site.station_m = station_m;
    placed.site.place = place_on_lateral(field_, lateral, station_m);
    placed.site.zone = field_.laterals[static_cast<std::size_t>(lateral)].zone;
    placed.placement = Placement::declared;
    placed.lateral_probability = probability;
    placed.position_sd_m = zone_of(field_, lateral).lateral.position_accuracy_m;
    return placed;
  }

  double sd_m(const CatchRecord& record, int lateral) const {
    const double position = zone_of(field_, lateral).lateral.position_accuracy_m;
    return std::hypot(record.fix_accuracy_m, position, shift_.sd_m);
  }

  /// Laterals near the fix with their probabilities, likeliest first; the declared one always.
  std::vector<Candidate> candidates(const CatchRecord& record, Point fix, int declared) const {
    std::vector<Candidate> found;
    double widest = 0;
    for (const Zone& zone : field_.zones) {
      widest = std::max(widest, zone.lateral.position_accuracy_m);
    }
    const double reach =
        reach_sd * std::hypot(record.fix_accuracy_m, widest, shift_.sd_m) * field_.scale_factor;
    for (const NearLine& near :
         index_.nearest(fix, static_cast<int>(field_.laterals.size()), reach)) {
      found.push_back({near.line, near.projection, 0});
    }
    const bool has_declared = std::any_of(
        found.begin(), found.end(), [declared](const auto& c) { return c.lateral == declared; });
    if (declared >= 0 && !has_declared) {
      const Line& line = field_.laterals[static_cast<std::size_t>(declared)].line;
      found.push_back({declared, project_onto(line, fix), 0});
    }
    weigh(found, record, declared);
    return found;
  }

  void weigh(std::vector<Candidate>& found, const CatchRecord& record, int declared) const {
    const double others = static_cast<double>(found.size()) - (declared >= 0 ? 1 : 0);
    std::vector<double> logs;
    double highest = -std::numeric_limits<double>::infinity();
    for (const Candidate& c : found) {
      double prior = 1;
      if (declared >= 0 && others > 0) {
        prior = c.lateral == declared ? declared_prior : (1 - declared_prior) / others;
      }
      const double sd = sd_m(record, c.lateral);
      const double z = c.projection.distance_m / field_.scale_factor / sd;
      logs.push_back(std::log(prior) - std::log(sd) - 0.5 * z * z);
      highest = std::max(highest, logs.back());
    }
    double sum = 0;
    for (std::size_t i = 0; i < found.size(); ++i) {
      found[i].weight = std::exp(logs[i] - highest);
      sum += found[i].weight;
    }
    for (Candidate& c : found) c.weight /= sum;
    std::sort(found.begin(), found.end(), [](const Candidate& a, const Candidate& b) {
      return std::pair{-a.weight, a.lateral} < std::pair{-b.weight, b.lateral};
    });
  }

  PlacedRecord weighed(const CatchRecord& record, Point read, const Declared& declared) {
    const Point fix{read.x - shift_.shift_m.x, read.y - shift_.shift_m.y};
    const auto near = candidates(record, fix, declared.lateral);
    const bool contradicted = tell_contradiction(record, declared, fix);
    if (near.empty()) return without_lateral(record, fix, 0);
    const Candidate& best = near.front();
    const double distance = best.projection.distance_m / field_.scale_factor;
    const bool close = distance <= contradiction_sd * sd_m(record, best.lateral);
    if (best.weight < placed_at || !close) {
      // A declared lateral is not believed against a fix that lies nowhere near it.
      return without_lateral(record, fix, best.weight, close ? best.lateral : -1);
    }
    if (best.lateral == declared.lateral && declared.station_m) {
      // The right lateral but a far-off station: neither end of the contradiction is chosen.
      if (contradicted) return without_lateral(record, fix, best.weight, best.lateral);
      return by_declaration(declared.lateral, *declared.station_m, best.weight);
    }
    return by_fix(record, best);
  }

  PlacedRecord by_fix(const CatchRecord& record, const Candidate& best) const {
    PlacedRecord placed;
    placed.site.lateral = best.lateral;
    placed.site.station_m = best.projection.station_m / field_.scale_factor;
    placed.site.place = best.projection.foot;
    placed.site.zone = field_.laterals[static_cast<std::size_t>(best.lateral)].zone;
    placed.placement = Placement::by_fix;
    placed.lateral_probability = best.weight;
    placed.position_sd_m = sd_m(record, best.lateral);
    return placed;
  }

  /// Counts in its zone only, or nowhere.
  PlacedRecord without_lateral(const CatchRecord& record, Point fix, double probability,
                               int likeliest = -1) {
    PlacedRecord placed;
    placed.site.place = fix;
    placed.site.zone = zone_at(field_, fix);
    if (placed.site.zone < 0 && likeliest >= 0) {
      placed.site.zone = field_.laterals[static_cast<std::size_t>(likeliest)].zone;
    }
    placed.lateral_probability = probability;
    placed.position_sd_m = std::hypot(record.fix_accuracy_m, shift_.sd_m);
    placed.placement = placed.site.zone < 0 ? Placement::outside : Placement::ambiguous;
    if (placed.placement == Placement::outside) {
      tell(record, Severity::doubt, "outside_zones", "lat",
           "record " + record.record + " lies in no zone and counts nowhere",
           fmt::format("{:.1f} E, {:.1f} N", fix.x, fix.y), "a place inside a zone",
           "Check the fix, or the zones' outlines");
    } else {
      tell(record, Severity::doubt, "ambiguous_place", "lat",
           "record " + record.record +
               " cannot be given to one lateral; it counts in its zone and stays out of surfaces",
           fmt::format("likeliest lateral {:.2f}, fix good to {:g} m", probability,
                       placed.position_sd_m),
           fmt::format("{:g} or more", placed_at),
           record.lateral.empty() ? "Note lateral and station next time"
                                  : "Check lateral and station against the field notes");
    }
    return placed;
  }

  bool tell_contradiction(const CatchRecord& record, const Declared& declared, Point fix) {
    if (declared.lateral < 0) return false;
    const Line& line = field_.laterals[static_cast<std::size_t>(declared.lateral)].line;
    const double grid_m =
        declared.station_m
            ? distance_m(fix, place_on_lateral(field_, declared.lateral, *declared.station_m))
            : project_onto(line, fix).distance_m;
    const double off = grid_m / field_.scale_factor;
    const double limit = contradiction_sd * sd_m(record, declared.lateral);
    if (off <= limit) return false;
    tell(record, Severity::doubt, "fix_contradicts_place", "lateral",
         "the fix of record " + record.record + " contradicts its declared place",
         fmt::format("{:.1f} m apart", off), fmt::format("at most {:.1f} m", limit),
         "Check lateral and station against the field notes");
    return true;
  }

  const Field& field_;
  const CommonShift& shift_;
  std::string file_;
  Doubts& doubts_;
  LineIndex index_;
};

}  // namespace

CommonShift common_shift(const Field& field, const std::vector<CatchRecord>& records) {
  std::vector<double> east;
  std::vector<double> north;
  for (const CatchRecord& record : records) {
    const int lateral = record.lateral.empty() ? -1 : lateral_index(field, record.lateral);
    if (lateral < 0 || !record.fix) continue;
    const auto station = stated_station_m(field, record, lateral);
    if (!station) continue;
    const Point place = place_on_lateral(field, lateral, *station);
    east.push_back(record.fix->x - place.x);
    north.push_back(record.fix->y - place.y);
  }
  CommonShift shift;
  shift.records = static_cast<int>(east.size());
  if (shift.records < fewest_for_shift) return shift;
  shift.shift_m = {median_of(east), median_of(north)};
  const double sd_east = robust_sd(east, shift.shift_m.x);
  const double sd_north = robust_sd(north, shift.shift_m.y);
  shift.scatter_m = std::sqrt((sd_east * sd_east + sd_north * sd_north) / 2);
  // The median's standard error is sqrt(pi/2) that of the mean (Gaussian, large samples).
  shift.sd_m = 1.2533 * shift.scatter_m / std::sqrt(static_cast<double>(shift.records));
  return shift;
}

std::vector<PlacedRecord> placed_records(const Field& field,
                                         const std::vector<CatchRecord>& records,
                                         const CommonShift& shift, const std::string& file,
                                         Doubts& doubts) {
  Placer placer(field, shift, file, doubts);
  std::vector<PlacedRecord> placed;
  placed.reserve(records.size());
  for (const CatchRecord& record : records) placed.push_back(placer.place(record));
  return placed;
}

}  // namespace evendrip
