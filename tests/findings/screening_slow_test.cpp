// SPDX-License-Identifier: Apache-2.0
// Faults solved through the network, read with drawn errors of the instruments, and screened: how
// many are named. The faults were chosen for what they do to the water, not for what screening
// says.
#include "evendrip/findings/screening.hpp"

#include "evendrip/findings/zone_changes.hpp"
#include "screened_zone.hpp"

#include <gtest/gtest.h>

#include <iostream>

namespace evendrip {
namespace {

using namespace invented_zone;

/// The zone as it was commissioned, read with good instruments.
Commissioning clean_record(const Field& field) {
  return record_of(field, readings(field, {}, {0.5, 0.01}, std::nullopt));
}

Fault fault_of(FaultKind kind, bool on_lateral, int line, double station_m, double severity) {
  Fault fault;
  fault.kind = kind;
  fault.on_lateral = on_lateral;
  fault.line = line;
  fault.station_m = station_m;
  fault.severity = severity;
  return fault;
}

struct Case {
  std::string name;
  ScreenedState state;
  Truth truth;
};

/// A leak draws the supply down; behind a regulator the inlet holds. Clogging lets pressures rise a
/// little. A pinch in the manifold raises what lies before it.
std::vector<Case> faulty_zones() {
  const auto leak_at = [](int lateral, double station_m, double area) {
    Truth truth;
    truth.faults = {fault_of(FaultKind::cut, true, lateral, station_m, area)};
    truth.inlet_kpa = 90;
    truth.valve_in_kpa = 119;
    truth.filter_out_kpa = 129;
    truth.filter_in_kpa = 140;
    return truth;
  };
  const auto held = [&](int lateral, double station_m) {
    Truth truth;
    truth.faults = {fault_of(FaultKind::cut, true, lateral, station_m, 1)};
    return truth;
  };
  const auto pinched = [](double station_m, double severity) {
    Truth truth;
    truth.faults = {fault_of(FaultKind::pinch, false, 0, station_m, severity)};
    truth.inlet_kpa = 103;
    truth.valve_in_kpa = 134;
    return truth;
  };
  const auto clogged = [](double factor, double inlet_kpa) {
    Truth truth;
    truth.emitter_factor = factor;
    truth.inlet_kpa = inlet_kpa;
    return truth;
  };
  return {
      {"leak in the first line", ScreenedState::leak, leak_at(0, 30, 1)},
      {"leak in the middle", ScreenedState::leak, leak_at(8, 75, 1)},
      {"small leak at the end", ScreenedState::leak, leak_at(15, 120, 0.5)},
      {"two cuts", ScreenedState::leak, leak_at(4, 20, 2)},
      {"cut behind a regulator", ScreenedState::leak_behind_regulator, held(2, 20)},
      {"cut behind a regulator, far", ScreenedState::leak_behind_regulator, held(12, 100)},
      {"manifold pinched near the inlet", ScreenedState::main_pinched, pinched(0.4, 0.95)},
      {"manifold pinched harder", ScreenedState::main_pinched, pinched(0.4, 0.97)},
      {"manifold pinched after a line", ScreenedState::main_pinched, pinched(2, 0.96)},
      {"clogged by 12 %", ScreenedState::clogging, clogged(0.88, 101)},
      {"clogged by 20 %", ScreenedState::clogging, clogged(0.80, 102)},
      {"clogged by 35 %, regulated", ScreenedState::clogging, clogged(0.65, 100)},
  };
}

/// Without a record the flow of one cut line can lie within the rated tolerance: then its own far
/// end alone tells, and "a break in a few lines" is the right name too.
bool is_right(ScreenedState told, ScreenedState truth) {
  const bool cut_line =
      truth == ScreenedState::leak || truth == ScreenedState::leak_behind_regulator;
  return told == truth || (cut_line && told == ScreenedState::local_break);
}

struct Score {
  int named = 0;
  int not_told = 0;
  int wrong = 0;
  int called_sound = 0;
  int tried() const { return named + not_told + wrong; }
};

Score score_of(const Field& field, const std::vector<Case>& cases, int draws,
               const std::optional<Commissioning>& record) {
  Score score;
  for (const Case& one : cases) {
    for (int draw = 1; draw <= draws; ++draw) {
      const Survey survey = readings(field, one.truth, {}, static_cast<unsigned>(draw));
      const ScreenedZone zone = screened(field, survey, record).zones.front();
      const ScreenedState told = zone.beliefs.front().state;
      if (zone.not_told) {
        ++score.not_told;
      } else if (is_right(told, one.state)) {
        ++score.named;
      } else {
        ++score.wrong;
        std::cout << one.name << ": " << zone.verdict << "\n";
      }
      if (!zone.not_told && told == ScreenedState::sound) ++score.called_sound;
    }
  }
  std::cout << "named " << score.named << ", not told " << score.not_told << ", wrong "
            << score.wrong << " of " << score.tried() << "\n";
  return score;
}

TEST(Screening, WithARecordNamesFaultsThatTheNetworkSolved) {
  const Field field = gauged_field();
  const Score score = score_of(field, faulty_zones(), 3, clean_record(field));
  EXPECT_GE(score.named, score.tried() * 8 / 10);
  EXPECT_EQ(score.called_sound, 0);
}

TEST(Screening, WithoutARecordNamesLessButIsSeldomWrong) {
  const Score score = score_of(gauged_field(), faulty_zones(), 2, std::nullopt);
  EXPECT_GE(score.named, score.tried() * 4 / 10);
  EXPECT_LE(score.wrong, score.tried() / 10);
  EXPECT_EQ(score.called_sound, 0);
}

/// Faults of other kinds, sizes and places, for a zone whose lines a flush manifold joins.
std::vector<Case> other_faulty_zones() {
  std::vector<Case> cases;
  const auto add = [&](std::string name, ScreenedState state, double inlet_kpa,
                       double emitter_factor, std::vector<Fault> faults) {
    Truth truth;
    truth.inlet_kpa = inlet_kpa;
    truth.valve_in_kpa = 30 + inlet_kpa;
    truth.emitter_factor = emitter_factor;
    truth.faults = std::move(faults);
    cases.push_back({std::move(name), state, truth});
  };
  add("leak of a lateral", ScreenedState::leak, 88, 1,
      {fault_of(FaultKind::cut, true, 5, 140, 0.8)});
  add("leak of the manifold", ScreenedState::leak, 85, 1,
      {fault_of(FaultKind::cut, false, 0, 9, 0.05)});
  add("flush valve left open a little", ScreenedState::leak_behind_regulator, 100, 1,
      {fault_of(FaultKind::cut, false, 1, 10, 0.12)});
  add("pinched manifold", ScreenedState::main_pinched, 104, 1,
      {fault_of(FaultKind::pinch, false, 0, 0.3, 0.965)});
  add("clogged", ScreenedState::clogging, 101, 0.77, {});
  add("clogged, regulated", ScreenedState::clogging, 100, 0.84, {});
  Case supply{"pump weak", ScreenedState::supply_fault, {}};
  supply.truth.filter_in_kpa = 118;
  supply.truth.filter_out_kpa = 110;
  supply.truth.valve_in_kpa = 102;
  supply.truth.inlet_kpa = 78;
  cases.push_back(supply);
  Case filter{"filter blocked", ScreenedState::filter_blocked, {}};
  filter.truth.filter_in_kpa = 165;
  filter.truth.filter_out_kpa = 122;
  filter.truth.valve_in_kpa = 113;
  filter.truth.inlet_kpa = 86;
  cases.push_back(filter);
  Case high{"regulator high", ScreenedState::regulator_high, {}};
  high.truth.inlet_kpa = 118;
  cases.push_back(high);
  return cases;
}

TEST(Screening, NamesFaultsOfAZoneWithAFlushManifold) {
  const Field field = gauged_field(LateralEnds::flush_manifold, 10);
  const Score score = score_of(field, other_faulty_zones(), 3, clean_record(field));
  EXPECT_GE(score.named, score.tried() * 7 / 10);
  EXPECT_EQ(score.called_sound, 0);
}

TEST(Screening, DoesNotRaiseAFalseAlarmOnASoundZone) {
  const Field field = gauged_field();
  const std::vector<Case> sound{{"sound", ScreenedState::sound, {}}};
  const Score with = score_of(field, sound, 20, clean_record(field));
  EXPECT_EQ(with.wrong, 0);
  EXPECT_GE(with.named, 15);
  EXPECT_EQ(score_of(field, sound, 10, std::nullopt).wrong, 0);
}

}  // namespace
}  // namespace evendrip
