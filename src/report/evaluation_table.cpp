// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

constexpr const char* nothing = "–";
using Cell = std::function<std::string(const EvaluatedPart&)>;

std::string percent(double share, int decimals = 0) {
  return fmt::format("{:.{}f} %", 100 * share, decimals);
}

/// Signed, with a true minus; "0 %" for what rounds to nothing.
std::string signed_percent(double share) {
  const double rounded = std::round(100 * share);
  if (rounded == 0) return "0 %";
  return fmt::format("{}{:.0f} %", rounded < 0 ? "−" : "+", std::abs(rounded));
}

/// Percent without its sign; a true minus.
std::string signed_number(double share) {
  const double rounded = std::round(100 * share);
  return fmt::format("{}{:.0f}", rounded < 0 ? "−" : "", std::abs(rounded));
}

/// Fills the table row by row; rows in which no part has anything are left out.
class TableMaker {
 public:
  TableMaker(const Evaluation& evaluation, const std::vector<const EvaluatedPart*>& parts,
             TableDetail detail)
      : evaluation_(evaluation),
        parts_(parts),
        detail_(detail),
        units_(evaluation.field.report_units) {}

  EvaluationTable table() {
    for (const EvaluatedPart* part : parts_) {
      table_.columns.push_back(column_of(*part));
    }
    emitters();
    plugged();
    plants();
    division();
    rating();
    enough();
    costs();
    return table_;
  }

 private:
  static std::string column_of(const EvaluatedPart& part) {
    if (part.zone >= 0) return "Zone " + part.name;
    return part.name == "field" ? "Field, by area" : "Selection";
  }

  void heading(const std::string& text) { heading_ = text; }

  void row(const std::string& label, const Cell& cell) {
    EvaluationRow made{label, {}};
    bool any = false;
    for (const EvaluatedPart* part : parts_) {
      const std::string text = cell(*part);
      any = any || !text.empty();
      made.cells.push_back(text.empty() ? nothing : text);
    }
    if (!any) return;
    if (!heading_.empty()) table_.rows.push_back({heading_, {}});
    heading_.clear();
    table_.rows.push_back(std::move(made));
  }

  std::string unit(Dimension dimension) const {
    return std::string(report_unit(dimension, units_));
  }
  double value(double canonical, Dimension dimension) const {
    return from_canonical(canonical, unit(dimension), dimension);
  }

  std::string mean_text(const EvaluatedLevel& level) const {
    if (level.count == 0) return "";
    const int decimals = units_ == UnitSystem::us ? 3 : 2;
    const auto shown = [&](double lph) {
      return fmt::format("{:.{}f}", value(lph, Dimension::discharge), decimals);
    };
    if (!level.told && !(level.mean_lph > 0)) return "";
    const MeasureLimits* limits = level.limits_of(Measure::mean);
    std::string plain = shown(level.mean_lph);
    if (limits == nullptr || !limits->two_part.known) return plain;
    return fmt::format("{} ({} to {})", plain, shown(limits->two_part.lower),
                       shown(limits->two_part.upper));
  }

  /// A figure of a level with the limits of a measure, where it has some.
  static std::string figure(const EvaluatedLevel& level, double EvaluatedLevel::*of,
                            const MeasureLimits* limits = nullptr) {
    return level.told ? percent_with_limits(level.*of, limits) : "";
  }

  /// "16 to 23" by another method than the default; empty where it does not speak.
  static std::string other_limits(const EvaluatedPart& part, Measure measure, LimitMethod method) {
    const MeasureLimits* limits = part.emitters.limits_of(measure);
    if (limits == nullptr) return "";
    for (const Limits& beside : limits->beside) {
      if (beside.method != method || !beside.known) continue;
      return fmt::format("{:.0f} to {:.0f}", 100 * beside.lower, 100 * beside.upper);
    }
    return "";
  }

  void limits_beside(Measure measure) {
    const bool few = std::any_of(parts_.begin(), parts_.end(),
                                 [](const EvaluatedPart* part) { return part->rest_on_model; });
    if (few || detail_ == TableDetail::full) {
      row("  limits by t from the laterals", [measure](const EvaluatedPart& p) {
        return other_limits(p, measure, LimitMethod::lateral_means);
      });
    }
    if (detail_ != TableDetail::full) return;
    row("  as if emitters were normal, noncentral t", [measure](const EvaluatedPart& p) {
      return other_limits(p, measure, LimitMethod::noncentral_t);
    });
    row("  approximations: chi-square, large-sample", [measure](const EvaluatedPart& p) {
      const std::string first = other_limits(p, measure, LimitMethod::chi_square);
      const std::string second = other_limits(p, measure, LimitMethod::large_sample);
      return first + (first.empty() || second.empty() ? "" : ", ") + second;
    });
  }

  /// On a page these stand among the facts.
  void counted_apart() {
    row("Damaged, not found (not counted)", [](const EvaluatedPart& p) {
      if (p.damaged + p.not_found == 0) return std::string();
      return fmt::format("{}, {}", p.damaged, p.not_found);
    });
    row("Error of measuring, from replicates", [](const EvaluatedPart& p) {
      return p.measuring_cv > 0 ? percent(p.measuring_cv, 1) : "";
    });
  }

  void emitters() {
    heading(fmt::format("Emitters: health of the system ({:g} % limits)",
                        100 * evaluation_.options.confidence));
    row("Measured (on laterals, in pits)", [](const EvaluatedPart& p) {
      if (p.emitters.count == 0) return std::string("none");
      return p.pits > 0 ? fmt::format("{} ({}, {})", p.emitters.count, p.laterals, p.pits)
                        : fmt::format("{} ({})", p.emitters.count, p.laterals);
    });
    if (detail_ == TableDetail::full) counted_apart();
    row("Mean discharge, " + unit(Dimension::discharge),
        [this](const EvaluatedPart& p) { return mean_text(p.emitters); });
    row("Coefficient of variation", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::cv, p.emitters.limits_of(Measure::cv));
    });
    row("Low-quarter distribution uniformity", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::low_quarter_frac,
                    p.emitters.limits_of(Measure::low_quarter));
    });
    limits_beside(Measure::low_quarter);
    row("  small-sample corrected; in two parts", [](const EvaluatedPart& p) {
      if (!p.emitters.told) return std::string();
      return percent(p.emitters.corrected_low_quarter_frac, 1) + "; " +
             percent(p.emitters.two_part_low_quarter_frac, 1);
    });
    row("Christiansen's coefficient", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::christiansen_frac,
                    p.emitters.limits_of(Measure::christiansen));
    });
    row("Statistical uniformity", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::statistical_frac,
                    p.emitters.limits_of(Measure::statistical));
    });
    if (detail_ == TableDetail::full) limits_beside(Measure::statistical);
    row("Absolute emission uniformity", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::absolute_emission_frac);
    });
    row("Flow variation, (most − least) / most", [](const EvaluatedPart& p) {
      return figure(p.emitters, &EvaluatedLevel::flow_variation_frac);
    });
    row("Statistical uniformity of fill times", [](const EvaluatedPart& p) {
      if (!p.fill_times) return std::string();
      const std::string plain = percent(p.fill_times->statistical_frac);
      return p.fill_times->sixths_known
                 ? fmt::format("{} ({} by sixths)", plain, percent(p.fill_times->sixths_frac))
                 : plain;
    });
  }

  void plugged() {
    heading("Plugged emitters, a part of their own");
    row("Plugged of those measured", [](const EvaluatedPart& p) {
      return p.plugged ? fmt::format("{} of {}", p.plugged->plugged, p.plugged->emitters) : "";
    });
    row("Share (exact; allowing for laterals)", [](const EvaluatedPart& p) {
      if (!p.plugged) return std::string();
      const PluggedShare& s = *p.plugged;
      return fmt::format("{} ({:.1f} to {:.1f}; {:.1f} to {:.1f})", percent(s.share, 1),
                         100 * s.exact.lower, 100 * s.exact.upper, 100 * s.clustered.lower,
                         100 * s.clustered.upper);
    });
    row("Chance to miss a share of 2, 5, 10 %", [](const EvaluatedPart& p) {
      if (!p.plugged) return std::string();
      std::string text;
      for (const MissedShare& missed : p.plugged->missed) {
        text += (text.empty() ? "" : ", ") + percent(missed.clustered);
      }
      return text;
    });
  }

  void plants() {
    heading(fmt::format("Plants, {} emitters each: what is received",
                        evaluation_.watering.agronomy.emitters_per_root_zone));
    row("Plants measured",
        [](const EvaluatedPart& p) { return p.plants ? fmt::format("{}", p.plants->count) : ""; });
    row("Low-quarter distribution uniformity", [](const EvaluatedPart& p) {
      return p.plants ? figure(*p.plants, &EvaluatedLevel::low_quarter_frac,
                               p.plants->limits_of(Measure::low_quarter))
                      : "";
    });
    row("Coefficient of variation", [](const EvaluatedPart& p) {
      return p.plants ? figure(*p.plants, &EvaluatedLevel::cv, p.plants->limits_of(Measure::cv))
                      : "";
    });
  }

  /// " (8 to 61)", in percent; nothing where no limits are known.
  template <typename Share>
  static std::string range_text(const Share& share) {
    if (!share.known) return "";
    return fmt::format(" ({} to {})", signed_number(share.lower), signed_number(share.upper));
  }

  static std::string share_text(const PartShare& share) {
    return percent(share.frac) + range_text(share);
  }

  void division_in_logarithms() {
    row("  in logarithms, running: pressure; emitters; both", [](const EvaluatedPart& p) {
      if (!p.variation || !p.variation->logarithms.computed) return std::string();
      const PartShares& shares = p.variation->logarithms.shares;
      if (!shares.hydraulic.known && !shares.performance.known) return std::string();
      return share_text(shares.hydraulic) + "; " + share_text(shares.performance) + "; " +
             signed_percent(shares.covariance.frac) + range_text(shares.covariance);
    });
  }

  void logarithms_in_short() {
    row("  the three in logarithms, running", [](const EvaluatedPart& p) {
      if (!p.variation || !p.variation->logarithms.computed) return std::string();
      const LogDivision& d = p.variation->logarithms;
      if (!(d.total > 0)) return std::string();
      return fmt::format("{}, {}, {}", percent(d.hydraulic / d.total),
                         percent(d.performance / d.total), signed_percent(d.covariance / d.total));
    });
  }

  void division() {
    heading("Variation: where it comes from (shares of its square)");
    const auto plain = [](const EvaluatedPart& p, const auto& tell) {
      if (!p.variation || !p.variation->plain.computed || !(p.variation->plain.total > 0)) {
        return std::string();
      }
      return tell(p.variation->plain);
    };
    row("Pressure", [&](const EvaluatedPart& p) {
      return plain(p, [](const PlainDivision& d) {
        return share_text(d.shares.hydraulic) + ", varies " + percent(d.pressure_cv);
      });
    });
    row("The emitters themselves", [&](const EvaluatedPart& p) {
      return plain(p, [](const PlainDivision& d) {
        return share_text(d.shares.performance) + ", varies " + percent(d.performance_cv);
      });
    });
    row("Both at once (covariance), and remainder", [&](const EvaluatedPart& p) {
      return plain(p, [](const PlainDivision& d) {
        return signed_percent(d.covariance / d.total) + range_text(d.shares.covariance) + ", " +
               signed_percent(d.remainder / d.total);
      });
    });
    if (detail_ == TableDetail::full) {
      division_in_logarithms();
    } else {
      logarithms_in_short();
    }
    row("Beyond the maker's scatter (running)", [](const EvaluatedPart& p) {
      if (!p.variation || !p.variation->excess.computed) return std::string();
      const PerformanceExcess& e = p.variation->excess;
      return fmt::format("{} ({}, {:.0f} to {:.0f}), maker {}", percent(e.all_excess_cv),
                         percent(e.running_excess_cv), 100 * e.running_excess_lower_cv,
                         100 * e.running_excess_upper_cv, percent(e.maker_cv));
    });
    row("Between laterals, share of the variance", [](const EvaluatedPart& p) {
      if (!p.variation || !p.variation->discharge.computed) return std::string();
      return percent(p.variation->discharge.lateral_share_frac) +
             range_text(p.variation->discharge.lateral_share);
    });
    row("Trend along laterals beyond friction", [](const EvaluatedPart& p) {
      if (!p.variation || !p.variation->trend.computed) return std::string();
      const Trend& t = p.variation->trend;
      return fmt::format("{} ({} to {})", signed_percent(std::expm1(t.slope)),
                         signed_percent(std::expm1(t.lower)), signed_percent(std::expm1(t.upper)));
    });
  }

  void rating() {
    heading("Rating by published classes (from memory)");
    const std::vector<RatedFigure>* first = nullptr;
    for (const EvaluatedPart* part : parts_) {
      if (!part->ratings.empty()) first = &part->ratings;
    }
    if (first == nullptr) return;
    for (std::size_t i = 0; i < first->size(); ++i) {
      const RatedFigure& rated = (*first)[i];
      const std::string source =
          rated.rating.table_source.substr(0, rated.rating.table_source.find_first_of(",;("));
      std::string label = rated.figure;
      label.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(label.front())));
      if (!source.empty()) label.append(", ").append(source);
      row(label, [i](const EvaluatedPart& p) {
        return i < p.ratings.size() && p.ratings[i].rating.rated ? p.ratings[i].rating.text : "";
      });
    }
  }

  static std::string judged(const SampleJudgement& sample) {
    if (!sample.half_width_frac || !std::isfinite(*sample.half_width_frac)) return "";
    const std::string own = fmt::format("±{:.1f}", 100 * *sample.half_width_frac);
    if (sample.enough) return own + ": enough";
    if (!sample.plan.found) return own + ": not enough";
    return fmt::format("{}; needs {} × {}", own, sample.plan.laterals,
                       sample.plan.emitters_on_each);
  }

  void enough() {
    heading("Was it enough? Laterals × emitters");
    row(fmt::format("Low quarter, ±{:g} points wanted", 100 * evaluation_.options.half_width_frac),
        [](const EvaluatedPart& p) { return judged(p.low_quarter_sample); });
    row(fmt::format("Mean, ±{:g} % wanted", 100 * evaluation_.options.mean_half_width_frac),
        [](const EvaluatedPart& p) { return judged(p.mean_sample); });
  }

  static std::string factors(const EvaluatedPart& part, DepthModel model) {
    std::string text;
    if (!part.depth.computed || !part.emitters.told) return text;
    for (const DepthFactor& factor : part.depth.factors) {
      if (factor.model != model) continue;
      text += (text.empty() ? "" : ", ") +
              (factor.possible ? fmt::format("{:.2f}", factor.factor) : std::string("none"));
    }
    return text;
  }

  static const DepthFactor* factor_for(const DepthResult& depth, double served) {
    for (const DepthFactor& factor : depth.factors) {
      if (factor.model == DepthModel::empirical && std::abs(factor.served_frac - served) < 1e-9) {
        return &factor;
      }
    }
    return nullptr;
  }

  void costs() {
    heading("What unevenness costs");
    row("Depth over need to serve 80, 90, 95 %",
        [](const EvaluatedPart& p) { return factors(p, DepthModel::empirical); });
    row("  by a fitted normal distribution",
        [](const EvaluatedPart& p) { return factors(p, DepthModel::normal); });
    const bool us = units_ == UnitSystem::us;
    row(fmt::format("Excess a season to serve 90 %, {}, {}", unit(Dimension::depth),
                    us ? "acre-inches" : "m³"),
        [this, us](const EvaluatedPart& p) {
          const DepthFactor* factor = factor_for(p.depth, 0.90);
          if (!p.emitters.told || factor == nullptr || !factor->possible || !factor->excess_mm)
            return std::string();
          const double depth = value(*factor->excess_mm, Dimension::depth);
          std::string text = fmt::format("{:.{}f}", depth, us ? 1 : 0);
          if (factor->excess_m3) {
            constexpr double ml_in_m3 = 1e6;
            const double volume =
                us ? from_canonical(*factor->excess_m3 * ml_in_m3, "acre-inch", Dimension::volume)
                   : *factor->excess_m3;
            text += fmt::format(", {:.{}f}", volume, us ? 1 : 0);
          }
          return text;
        });
    row("Left short where the mean meets the need", [](const EvaluatedPart& p) {
      if (!p.depth.computed || !p.emitters.told) return std::string();
      for (const DepthFactor& factor : p.depth.uncorrected) {
        if (factor.model != DepthModel::empirical) continue;
        return fmt::format("{} of {}, by {} of the need", percent(factor.short_share_frac),
                           p.depth_of, percent(factor.deficit_frac, 1));
      }
      return std::string();
    });
    applied();
    if (detail_ == TableDetail::full) schedule();
  }

  /// What was applied in fact, where the field says it.
  std::string depth_text(double mm) const {
    return fmt::format("{:.{}f}", value(mm, Dimension::depth), units_ == UnitSystem::us ? 2 : 1);
  }

  /// Hours, in the order of the shares.
  static std::string serving_times(const EvaluatedPart& part) {
    constexpr double seconds_in_hour = 3600;
    std::string text;
    bool any = false;
    for (const ServingSet& set : part.schedule.serving) {
      if (set.model != DepthModel::empirical) continue;
      any = any || set.set_time_s.has_value();
      text += text.empty() ? "" : ", ";
      text += set.set_time_s ? fmt::format("{:.1f}", *set.set_time_s / seconds_in_hour) : "none";
    }
    return any && part.emitters.told ? text : "";
  }

  void schedule() {
    row("A set applies, " + unit(Dimension::depth) + " (an hour; a day)",
        [this](const EvaluatedPart& p) {
          const Schedule& s = p.schedule;
          if (!p.emitters.told || !s.set_depth_mm) return std::string();
          const std::string daily = s.daily_depth_mm ? "; " + depth_text(*s.daily_depth_mm) : "";
          return depth_text(*s.set_depth_mm) + " (" + depth_text(*s.rate_mm_h) + daily + ")";
        });
    row("Sets a season (days)", [](const EvaluatedPart& p) {
      const Schedule& s = p.schedule;
      if (!p.emitters.told || !s.sets_in_season) return std::string();
      const std::string sets = fmt::format("{:.0f}", *s.sets_in_season);
      return s.days_in_season ? sets + fmt::format(" ({:.0f})", *s.days_in_season) : sets;
    });
    row("Set time to serve 80, 90, 95 %, h", serving_times);
  }

  void applied() {
    const std::optional<double> depth_mm = evaluation_.watering.irrigation.season_depth_mm;
    if (!depth_mm) return;
    row(fmt::format("Left short by the {} applied",
                    format_quantity(*depth_mm, Dimension::depth, units_, 3)),
        [](const EvaluatedPart& p) {
          if (!p.applied || !p.emitters.told) return std::string();
          return fmt::format("{} of {}, by {} of the need", percent(p.applied->short_share_frac),
                             p.depth_of, percent(p.applied->deficit_frac, 1));
        });
  }

  const Evaluation& evaluation_;
  const std::vector<const EvaluatedPart*>& parts_;
  TableDetail detail_;
  UnitSystem units_;
  EvaluationTable table_;
  std::string heading_;
};

}  // namespace

EvaluationTable evaluation_table(const Evaluation& evaluation,
                                 const std::vector<const EvaluatedPart*>& parts,
                                 TableDetail detail) {
  return TableMaker(evaluation, parts, detail).table();
}

}  // namespace evendrip
