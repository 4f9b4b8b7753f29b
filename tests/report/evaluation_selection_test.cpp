// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

using test::evaluation_of;
using test::evaluation_with;

Selection of_stations(const Evaluation& e, double from_m, double to_m) {
  return selected(e.field, {}, {}, StationRange{from_m, to_m});
}

/// What the refusal says; empty where there is none.
std::string refusal(const Field& field, const std::vector<std::string>& zones,
                    const std::vector<std::string>& laterals,
                    const std::optional<StationRange>& stations = {}) {
  try {
    selected(field, zones, laterals, stations);
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

TEST(EvaluatedSelection, IsOfItsLateralsAlone) {
  const Evaluation e =
      evaluation_with("selection_lateral", {{1, 1, 1}, {0.5, 0.7, 0.9}, {1, 1, 1}});
  const auto second = static_cast<std::size_t>(e.survey.emitters[3].site.lateral);
  const Selection selection = selected(e.field, {}, {e.field.laterals[second].id}, {});
  const EvaluatedPart part = evaluated_selection(e, selection);
  EXPECT_EQ(part.emitters.count, 3);
  EXPECT_NEAR(part.emitters.mean_lph, 0.7, 1e-12);
  EXPECT_EQ(part.laterals, 1);
  // One of 16 laterals of equal length, drawn to a millimetre.
  EXPECT_NEAR(part.area_ha, e.zones[0].area_ha / 16, 2e-5 * e.zones[0].area_ha);
}

TEST(EvaluatedSelection, OfAWholeZoneIsTheZone) {
  const Evaluation e = evaluation_of(test::small_field("selection_zone"));
  const EvaluatedPart part = evaluated_selection(e, selected(e.field, {e.zones[1].name}, {}, {}));
  const EvaluatedPart& zone = e.zones[1];
  EXPECT_EQ(part.emitters.low_quarter_frac, zone.emitters.low_quarter_frac);
  EXPECT_EQ(part.emitters.limits_of(Measure::low_quarter)->two_part.lower,
            zone.emitters.limits_of(Measure::low_quarter)->two_part.lower);
  EXPECT_EQ(part.statements, zone.statements);
  EXPECT_EQ(part.area_ha, zone.area_ha);
  EXPECT_EQ(part.low_quarter_sample.text, zone.low_quarter_sample.text);
}

TEST(EvaluatedSelection, OfEverythingIsTheField) {
  const Evaluation e = evaluation_of(test::small_field("selection_all"));
  const EvaluatedPart part = evaluated_selection(e, of_stations(e, 0, 1000));
  EXPECT_EQ(part.emitters.count, e.whole.emitters.count);
  EXPECT_NEAR(part.emitters.low_quarter_frac, e.whole.emitters.low_quarter_frac, 1e-12);
  EXPECT_NEAR(part.area_ha, e.whole.area_ha, 1e-9);
  EXPECT_EQ(part.damaged, e.whole.damaged);
}

TEST(EvaluatedSelection, OfAStretchHoldsTheEmittersInItWithBothEnds) {
  const Evaluation e =
      evaluation_with("selection_stretch", {{1, 0.9, 0.8, 0.7}, {1, 0.9, 0.8, 0.6}});
  // Emitters stand at 1, 3, 5 and 7 m of laterals of 60 m.
  const EvaluatedPart part = evaluated_selection(e, of_stations(e, 3, 5));
  EXPECT_EQ(part.emitters.count, 4);
  EXPECT_NEAR(part.emitters.mean_lph, 0.85, 1e-12);
  EXPECT_NEAR(part.area_ha, e.whole.area_ha * 2 / 60, 1e-6);
}

TEST(EvaluatedSelection, OverZonesIsWeightedByTheAreasThatItHolds) {
  const Evaluation e = evaluation_of(test::small_field("selection_weights"));
  // All of the first zone, one lateral in sixteen of the second.
  std::vector<std::string> laterals;
  std::string dug_in_second;
  for (const MeasuredEmitter& emitter : e.survey.emitters) {
    if (emitter.usable() && emitter.site.zone == 1 && emitter.site.lateral >= 0) {
      dug_in_second = e.field.laterals[static_cast<std::size_t>(emitter.site.lateral)].id;
    }
  }
  for (const Lateral& lateral : e.field.laterals) {
    if (lateral.zone == 0 || lateral.id == dug_in_second) laterals.push_back(lateral.id);
  }
  const EvaluatedPart part = evaluated_selection(e, selected(e.field, {}, laterals, {}));
  std::vector<double> in_second;
  for (const MeasuredEmitter& emitter : e.survey.emitters) {
    if (!emitter.usable() || emitter.site.lateral < 0) continue;
    if (e.field.laterals[static_cast<std::size_t>(emitter.site.lateral)].id == dug_in_second) {
      in_second.push_back(emitter.state == EmitterState::none ? 0 : emitter.discharge_lph);
    }
  }
  const double a = e.zones[0].area_ha, b = e.zones[1].area_ha / 16;
  EXPECT_NEAR(part.area_ha, a + b, 2e-5 * (a + b));
  ASSERT_GE(in_second.size(), 2U);
  EXPECT_NEAR(part.emitters.mean_lph,
              (a * e.zones[0].emitters.mean_lph + b * mean_of(in_second)) / (a + b), 1e-6);
}

TEST(EvaluatedSelection, WithoutADugEmitterSaysSo) {
  const Evaluation e = evaluation_with("selection_empty", {{1, 0.9}, {1, 0.9}});
  const EvaluatedPart part = evaluated_selection(e, of_stations(e, 40, 50));
  EXPECT_FALSE(part.emitters.told);
  EXPECT_NE(verdict_of(e, part).find("selection is not told"), std::string::npos);
}

TEST(EvaluatedSelection, StandsInTextJsonAndPageWhereItIsAskedFor) {
  const auto folder = test::small_field("selection_told");
  EvaluationOptions options;
  options.selection = selected(read_field(folder), {"Z2"}, {}, StationRange{0, 30});
  const Evaluation e = evaluation_of(folder, options);
  ASSERT_TRUE(e.selection);
  const std::string text = evaluation_text(e);
  EXPECT_NE(text.find("uniformity of the selection"), std::string::npos);
  EXPECT_NE(text.find("zone Z2; 0 m to 30 m from the supply end"), std::string::npos);
  EXPECT_NE(evaluation_json(e).find("\"to_m\": 30"), std::string::npos);
  const auto columns = evaluation_page(e, find_map_resources()).columns;
  EXPECT_EQ(std::count(columns.begin(), columns.end(), "Selection"), 1);
}

TEST(Selected, TakesLateralsOneByOneAndInRanges) {
  const Field field = read_field(test::small_field("selected_laterals"));
  const Selection some = selected(field, {}, {"Z1-03..Z1-05", "Z2-16"}, {});
  std::vector<std::string> ids;
  for (const int i : some.laterals) ids.push_back(field.laterals[static_cast<std::size_t>(i)].id);
  EXPECT_EQ(ids, (std::vector<std::string>{"Z1-03", "Z1-04", "Z1-05", "Z2-16"}));
}

TEST(Selected, RefusesWhatTheFieldDoesNotHave) {
  const Field field = read_field(test::small_field("selected_refused"));
  EXPECT_NE(refusal(field, {"Z7"}, {}).find("Z1, Z2"), std::string::npos);
  EXPECT_NE(refusal(field, {}, {"Z1-99"}).find("32 in all"), std::string::npos);
  EXPECT_NE(refusal(field, {}, {"Z1-05..Z1-03"}).find("forwards"), std::string::npos);
  EXPECT_NE(refusal(field, {}, {"Z1-05..Z2-03"}).find("same zone"), std::string::npos);
  EXPECT_NE(refusal(field, {"Z1"}, {"Z2-03"}).find("no part of any lateral"), std::string::npos);
  EXPECT_NE(refusal(field, {}, {}, StationRange{70, 80}).find("no part"), std::string::npos);
  EXPECT_EQ(refusal(field, {"Z1"}, {"Z1-03..Z1-03"}, StationRange{0, 10}), "");
}

}  // namespace
}  // namespace evendrip
