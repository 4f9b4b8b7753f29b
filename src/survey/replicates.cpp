// SPDX-License-Identifier: Apache-2.0
#include "replicates.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

/// One emitter's name for grouping: its declared place, else its place in a pit, else its fix.
std::string place_key(const CatchRecord& record) {
  const std::string in_pit =
      record.place_in_pit > 0 ? fmt::format("|{}|{}", record.pit, record.place_in_pit) : "";
  if (!record.lateral.empty() && (record.station_m || record.emitter)) {
    const double station = record.station_m.value_or(-1);
    return fmt::format("L|{}|{:.2f}|{}{}", record.lateral, station, record.emitter.value_or(0),
                       in_pit);
  }
  if (!record.pit.empty() && record.place_in_pit > 0) return "P" + in_pit;
  if (record.fix) return fmt::format("F|{:.2f}|{:.2f}", record.fix->x, record.fix->y);
  return fmt::format("R|{}", record.row);
}

bool has_value(const CatchRecord& record) {
  const bool unusable =
      record.state == EmitterState::dug_damage || record.state == EmitterState::not_found;
  return unusable || std::isfinite(record.discharge_lph);
}

void tell(Doubts& doubts, Severity severity, const char* code, const std::string& file,
          std::size_t row, const char* column, std::string text, std::string found,
          std::string expected, std::string remedy) {
  doubts.push_back({code,
                    severity,
                    {file, "", row, column},
                    std::move(text),
                    std::move(found),
                    std::move(expected),
                    std::move(remedy)});
}

MeasuredEmitter emitter_of(const std::vector<CatchRecord>& records,
                           const std::vector<PlacedRecord>& placed,
                           const std::vector<std::size_t>& members) {
  const CatchRecord& first = records[members.front()];
  const PlacedRecord& place = placed[members.front()];
  MeasuredEmitter emitter;
  emitter.records = members;
  emitter.name = first.record;
  emitter.site = place.site;
  emitter.placement = place.placement;
  emitter.lateral_probability = place.lateral_probability;
  emitter.position_sd_m = place.position_sd_m;
  emitter.state = first.state;
  emitter.pit = first.pit;
  emitter.replicates = static_cast<int>(members.size());
  double sum = 0;
  int values = 0;
  for (const std::size_t i : members) {
    if (!std::isfinite(records[i].discharge_lph)) continue;
    sum += records[i].discharge_lph;
    ++values;
  }
  emitter.discharge_lph = values > 0 ? sum / values : 0;
  return emitter;
}

class Grouping {
 public:
  Grouping(const std::vector<CatchRecord>& records, Numbering numbering, const std::string& file,
           Doubts& doubts)
      : records_(records), numbering_(numbering), file_(file), doubts_(doubts) {}

  std::vector<std::vector<std::size_t>> groups(const std::vector<PlacedRecord>& placed) {
    for (std::size_t i = 0; i < records_.size(); ++i) {
      const CatchRecord& record = records_[i];
      if (!std::isfinite(placed[i].site.place.x)) continue;
      if (!has_value(record)) {
        tell_left_out(record);
        continue;
      }
      add(i, place_key(record));
    }
    tell_repeated();
    return std::move(groups_);
  }

 private:
  void add(std::size_t i, const std::string& key) {
    const auto [at, is_new] = index_.emplace(key, groups_.size());
    if (is_new) {
      groups_.push_back({i});
      return;
    }
    std::vector<std::size_t>& group = groups_[at->second];
    for (const std::size_t earlier : group) {
      if (tell_twice(records_[earlier], records_[i])) return;
    }
    group.push_back(i);
    if (numbering_ == Numbering::not_numbered) repeated_.push_back(i);
  }

  /// True if the later record is a copy, or a second one of the same replicate, and is left out.
  bool tell_twice(const CatchRecord& earlier, const CatchRecord& later) {
    const bool same_values = earlier.volume_ml == later.volume_ml &&
                             earlier.duration_s == later.duration_s && earlier.state == later.state;
    if (numbering_ == Numbering::numbered && earlier.replicate == later.replicate) {
      tell(doubts_, Severity::problem, "duplicate_record", file_, later.row, "replicate",
           fmt::format("the same place and replicate stand in row {} too", earlier.row),
           fmt::format("{}", later.replicate), "another replicate number",
           "Number the replicates, or remove the copy");
      return true;
    }
    if (numbering_ == Numbering::not_numbered && same_values && earlier.volume_ml > 0) {
      tell(doubts_, Severity::doubt, "duplicate_record", file_, later.row, "record",
           fmt::format("place, volume and duration are those of row {}; it counts once",
                       earlier.row),
           later.record, "one row for each catch",
           "Remove the copy, or number replicates in a column replicate");
      return true;
    }
    return false;
  }

  void tell_left_out(const CatchRecord& record) {
    // A missing volume of a running emitter is a problem already.
    if (record.state != EmitterState::leak) return;
    tell(doubts_, Severity::doubt, "leak_without_volume", file_, record.row, "volume_ml",
         "record " + record.record + " is a leak without a volume; it counts in no mean", "", "",
         "Repair it first: relieve the pressure before opening the line");
  }

  void tell_repeated() {
    if (repeated_.empty()) return;
    tell(doubts_, Severity::doubt, "places_repeated", file_, records_[repeated_.front()].row,
         "record",
         fmt::format("{} rows repeat a place; they count as replicates", repeated_.size()), "",
         "a column replicate", "Number the replicates to confirm this");
  }

  const std::vector<CatchRecord>& records_;
  Numbering numbering_;
  const std::string& file_;
  Doubts& doubts_;
  std::vector<std::vector<std::size_t>> groups_;
  std::map<std::string, std::size_t> index_;
  std::vector<std::size_t> repeated_;
};

void tell_mixed_states(const std::vector<CatchRecord>& records,
                       const std::vector<std::size_t>& members, const std::string& file,
                       Doubts& doubts) {
  for (const std::size_t i : members) {
    if (records[i].state == records[members.front()].state) continue;
    tell(doubts, Severity::doubt, "states_differ", file, records[i].row, "state",
         "replicates of one emitter have different states", to_text(records[i].state),
         to_text(records[members.front()].state), "The first one is used");
  }
}

/// Emitters of one pit that share a stated station lie one spacing apart, counted from the supply.
void spread_in_pit(const Field& field, const std::vector<CatchRecord>& records,
                   std::vector<MeasuredEmitter>& emitters) {
  for (MeasuredEmitter& emitter : emitters) {
    const CatchRecord& record = records[emitter.records.front()];
    if (record.place_in_pit <= 1 || record.pit.empty() || !record.station_m ||
        emitter.placement != Placement::declared) {
      continue;
    }
    const bool shared = std::any_of(emitters.begin(), emitters.end(), [&](const auto& other) {
      const CatchRecord& r = records[other.records.front()];
      return &other != &emitter && r.pit == record.pit && r.lateral == record.lateral &&
             r.station_m == record.station_m && r.place_in_pit != record.place_in_pit;
    });
    if (!shared) continue;
    const Lateral& lateral = field.laterals[static_cast<std::size_t>(emitter.site.lateral)];
    const double spacing = field.zones[static_cast<std::size_t>(lateral.zone)].emitter.spacing_m;
    emitter.site.station_m =
        std::min(lateral.length_m, *record.station_m + spacing * (record.place_in_pit - 1));
    emitter.site.place = place_on_lateral(field, emitter.site.lateral, emitter.site.station_m);
  }
}

}  // namespace

std::vector<MeasuredEmitter> measured_emitters(const Field& field,
                                               const std::vector<CatchRecord>& records,
                                               const std::vector<PlacedRecord>& placed,
                                               Numbering numbering, const std::string& file,
                                               Doubts& doubts) {
  std::vector<MeasuredEmitter> emitters;
  for (const auto& members : Grouping(records, numbering, file, doubts).groups(placed)) {
    emitters.push_back(emitter_of(records, placed, members));
    tell_mixed_states(records, members, file, doubts);
  }
  spread_in_pit(field, records, emitters);
  return emitters;
}

double replicate_cv(const std::vector<CatchRecord>& records,
                    const std::vector<MeasuredEmitter>& emitters) {
  double squares = 0;
  int freedom = 0;
  for (const MeasuredEmitter& emitter : emitters) {
    if (emitter.records.size() < 2 || !(emitter.discharge_lph > 0)) continue;
    for (const std::size_t i : emitter.records) {
      const double relative = records[i].discharge_lph / emitter.discharge_lph - 1;
      if (std::isfinite(relative)) squares += relative * relative;
    }
    freedom += static_cast<int>(emitter.records.size()) - 1;
  }
  return freedom > 0 ? std::sqrt(squares / freedom) : 0;
}

}  // namespace evendrip
