// SPDX-License-Identifier: Apache-2.0
// Where lines meet: ends of laterals on manifolds, ends of manifolds on manifolds.
#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/geo/line.hpp"
#include "zone_plan.hpp"

namespace evendrip {
namespace {

constexpr double told_joint_m = 0.2;
/// Two manifolds whose distances differ by less are equally near.
constexpr double equally_near_m = 0.05;

std::string zone_id(const Field& field, int zone) {
  return field.zones[static_cast<std::size_t>(zone)].id;
}

std::vector<int> manifolds_of_others(const Field& field, int zone) {
  std::vector<int> others;
  for (std::size_t i = 0; i < field.manifolds.size(); ++i) {
    const Manifold& manifold = field.manifolds[i];
    if (manifold.supply && manifold.zone >= 0 && manifold.zone != zone)
      others.push_back(static_cast<int>(i));
  }
  return others;
}

/// What was met while the laterals of a zone were joined, for one doubt each.
struct Told {
  std::vector<std::string> joins_nothing;
  std::vector<double> joins_nothing_m;
  std::vector<std::string> crossed;
  std::vector<std::string> joins_two;
  std::vector<std::string> far_on_supply;
  std::vector<std::string> far_on_flush;
  std::vector<std::string> far_joins_nothing;
  std::size_t loose = 0;
  double loosest_m = 0;

  void joint(const Joint& joint) {
    if (joint.distance_m <= told_joint_m) return;
    ++loose;
    loosest_m = std::max(loosest_m, joint.distance_m);
  }
};

class LateralJoiner {
 public:
  LateralJoiner(const Field& field, int zone, const HydraulicOptions& options)
      : field_(field),
        zone_(zone),
        reach_m_(options.joint_reach_m),
        ends_(field.zones[static_cast<std::size_t>(zone)].lateral.ends),
        supply_(manifolds_of(field, zone, ManifoldKind::supply)),
        flush_(manifolds_of(field, zone, ManifoldKind::flush)),
        others_(manifolds_of_others(field, zone)) {}

  std::optional<LateralPlan> join(int index) {
    const Lateral& lateral = field_.laterals[static_cast<std::size_t>(index)];
    if (lateral.line.size() < 2) return {};
    const auto supply = nearest_joint(field_, supply_, lateral.line.front());
    if (!supply || supply->distance_m > reach_m_) {
      if (is_crossed(lateral)) {
        told_.crossed.push_back(lateral.id);
      } else {
        told_.joins_nothing.push_back(lateral.id);
        if (supply) told_.joins_nothing_m.push_back(supply->distance_m);
      }
      return {};
    }
    const auto other = nearest_joint(field_, others_, lateral.line.front());
    if (other && other->distance_m < supply->distance_m + equally_near_m)
      told_.joins_two.push_back(lateral.id);
    LateralPlan plan{index, *supply, far_joint(lateral)};
    told_.joint(plan.supply);
    if (plan.far) told_.joint(*plan.far);
    return plan;
  }

  void tell(Doubts& doubts) const;

 private:
  std::optional<Joint> in_reach(std::span<const int> manifolds, Point p) const {
    const auto joint = nearest_joint(field_, manifolds, p);
    if (!joint || joint->distance_m > reach_m_) return {};
    return joint;
  }

  bool is_crossed(const Lateral& lateral) const {
    return std::any_of(supply_.begin(), supply_.end(), [&](int manifold) {
      return crossing(lateral.line, field_.manifolds[static_cast<std::size_t>(manifold)].line)
          .has_value();
    });
  }

  std::optional<Joint> far_joint(const Lateral& lateral) {
    const auto supply = in_reach(supply_, lateral.line.back());
    const auto flush = in_reach(flush_, lateral.line.back());
    if (ends_ == LateralEnds::closed) {
      if (supply) told_.far_on_supply.push_back(lateral.id);
      if (flush) told_.far_on_flush.push_back(lateral.id);
      return {};
    }
    const auto& joint = ends_ == LateralEnds::both_fed ? supply : flush;
    if (!joint) told_.far_joins_nothing.push_back(lateral.id);
    return joint;
  }

  void tell_far_ends(Doubts& doubts) const;

  const Field& field_;
  int zone_;
  double reach_m_;
  LateralEnds ends_;
  std::vector<int> supply_;
  std::vector<int> flush_;
  std::vector<int> others_;
  Told told_;
};

void LateralJoiner::tell(Doubts& doubts) const {
  const Place place = layer_place(field_, "laterals");
  if (!told_.joins_nothing.empty()) {
    const std::string nearest = told_.joins_nothing_m.empty()
                                    ? ""
                                    : fmt::format("{:.1f} m to the nearest",
                                                  *std::max_element(told_.joins_nothing_m.begin(),
                                                                    told_.joins_nothing_m.end()));
    doubts.push_back({"lateral_joins_nothing", Severity::doubt, place,
                      fmt::format("{} laterals of zone {} touch no supply manifold and are left "
                                  "out of its hydraulics: {}",
                                  told_.joins_nothing.size(), zone_id(field_, zone_),
                                  some_of(told_.joins_nothing)),
                      nearest, fmt::format("a supply manifold of the zone within {:g} m", reach_m_),
                      "Draw the lateral to its manifold, or correct the manifold's line or zone"});
  }
  if (!told_.crossed.empty()) {
    doubts.push_back(
        {"lateral_joins_nothing", Severity::doubt, place,
         fmt::format("{} laterals of zone {} cross their supply manifold without an "
                     "end at it and are left out of its hydraulics: {}",
                     told_.crossed.size(), zone_id(field_, zone_), some_of(told_.crossed)),
         "a crossing", "an end at the manifold",
         "Cut each of these lines in two where the manifold feeds it"});
  }
  if (!told_.joins_two.empty()) {
    doubts.push_back({"lateral_joins_two", Severity::doubt, place,
                      fmt::format("a supply manifold of another zone is as near as that of zone {} "
                                  "to the start of {}",
                                  zone_id(field_, zone_), some_of(told_.joins_two)),
                      fmt::format("{} laterals", told_.joins_two.size()),
                      "one manifold at the start of each lateral",
                      "The manifold of the lateral's own zone is used; check the zones of both"});
  }
  tell_far_ends(doubts);
  if (told_.loose > 0) {
    doubts.push_back({"joint_bridged", Severity::note, place,
                      fmt::format("{} ends of laterals of zone {} lie off the manifold they are "
                                  "joined to; the gap counts as lateral",
                                  told_.loose, zone_id(field_, zone_)),
                      fmt::format("up to {:.2f} m", told_.loosest_m),
                      fmt::format("within {:g} m", told_joint_m),
                      "Nothing to do if the lines were drawn so"});
  }
}

void LateralJoiner::tell_far_ends(Doubts& doubts) const {
  const auto tell = [&](const char* code, const std::vector<std::string>& ids,
                        const std::string& text, const char* expected, const char* remedy) {
    if (ids.empty()) return;
    doubts.push_back({code, Severity::doubt, layer_place(field_, "laterals"),
                      fmt::format("{} laterals of zone {} {}: {}", ids.size(),
                                  zone_id(field_, zone_), text, some_of(ids)),
                      "", expected, remedy});
  };
  tell("lateral_joins_two", told_.far_on_supply,
       "lie with both ends on supply manifolds although their ends are closed",
       "one end on a supply manifold", "Set ends = \"both_fed\" if both ends are fed");
  tell("far_end_on_flush_manifold", told_.far_on_flush,
       "end on a flush manifold although their ends are closed", "",
       "Set ends = \"flush_manifold\" if they are joined");
  tell("far_end_joins_nothing", told_.far_joins_nothing,
       ends_ == LateralEnds::both_fed
           ? "do not reach a second supply manifold; their far ends are taken as closed"
           : "do not reach a flush manifold; their far ends are taken as closed",
       "a manifold at the far end", "Draw the manifold, or set ends = \"closed\"");
}

}  // namespace

std::vector<int> manifolds_of(const Field& field, int zone, ManifoldKind kind) {
  std::vector<int> found;
  for (std::size_t i = 0; i < field.manifolds.size(); ++i) {
    const Manifold& manifold = field.manifolds[i];
    if (manifold.supply == (kind == ManifoldKind::supply) && manifold.line.size() >= 2 &&
        (manifold.zone < 0 || manifold.zone == zone) &&
        ground_length_m(field, manifold.line) > 0.001) {
      found.push_back(static_cast<int>(i));
    }
  }
  return found;
}

double ground_length_m(const Field& field, const Line& line) {
  return length_m(line) / field.scale_factor;
}

std::optional<Joint> nearest_joint(const Field& field, std::span<const int> manifolds, Point p) {
  std::optional<Joint> best;
  for (const int index : manifolds) {
    const Projection foot = project_onto(field.manifolds[static_cast<std::size_t>(index)].line, p);
    const double distance = foot.distance_m / field.scale_factor;
    if (!best || distance < best->distance_m)
      best = Joint{index, foot.station_m / field.scale_factor, distance};
  }
  return best;
}

std::vector<LateralPlan> lateral_plans(const Field& field, int zone,
                                       const HydraulicOptions& options, Doubts& doubts) {
  LateralJoiner joiner(field, zone, options);
  std::vector<LateralPlan> plans;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    if (field.laterals[i].zone != zone) continue;
    if (auto plan = joiner.join(static_cast<int>(i))) plans.push_back(*plan);
  }
  joiner.tell(doubts);
  return plans;
}

std::vector<Tie> manifold_ties(const Field& field, std::span<const int> manifolds, double reach_m) {
  std::vector<Tie> ties;
  for (const int index : manifolds) {
    const Manifold& manifold = field.manifolds[static_cast<std::size_t>(index)];
    const double length = ground_length_m(field, manifold.line);
    for (const int other : manifolds) {
      if (other == index ||
          field.manifolds[static_cast<std::size_t>(other)].supply != manifold.supply)
        continue;
      const auto tie_end = [&](double station, Point p) {
        const auto at = nearest_joint(field, std::span(&other, 1), p);
        if (at && at->distance_m <= reach_m) ties.push_back({{index, station, 0}, *at});
      };
      tie_end(0, manifold.line.front());
      tie_end(length, manifold.line.back());
    }
  }
  return ties;
}

}  // namespace evendrip
