// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "crop_over_dates.hpp"
#include "evendrip/base/median.hpp"
#include "evendrip/report/crop_story.hpp"
#include "look_first.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

constexpr std::size_t label_width = 12;

std::string percent(double share, int decimals = 0) {
  return fmt::format("{:.{}f} %", 100 * share, decimals);
}

double median_error(const Raster& standard_error) {
  std::vector<double> values;
  for (std::size_t i = 0; i < standard_error.values.size(); ++i) {
    if (standard_error.has_value(i)) values.push_back(standard_error.values[i]);
  }
  return median_of(std::move(values));
}

class Told {
 public:
  explicit Told(const HeardCrop& heard)
      : heard_(heard), field_(heard.field), units_(heard.field.report_units) {}

  std::string text() const {
    std::string out = fmt::format("{}, what the crop says\n", field_.name);
    for (const HeardLayer& layer : heard_.layers) out += told(layer);
    return out + over_dates_text(heard_) + cautions();
  }

 private:
  static std::string line(const std::string& label, const std::string& text) {
    return text.empty() ? "" : wrapped("  " + padded(label, label_width), text);
  }
  static std::string item(const std::string& lead, const std::string& text) {
    return wrapped("  " + std::string(label_width, ' ') + lead, text);
  }
  std::string length(double m) const { return format_quantity(m, Dimension::length, units_, 3); }
  std::string yield(double t_ha) const {
    return format_quantity(t_ha, Dimension::yield, units_, 2);
  }
  const std::string& zone(int index) const {
    return field_.zones[static_cast<std::size_t>(index)].id;
  }

  std::string told(const HeardLayer& layer) const {
    std::string out = "\n" + title_of(layer) + "\n";
    if (layer.harvest) {
      out += harvest(*layer.harvest);
    } else {
      out += line("Read", as_sentence(layer.layer.method_text));
    }
    out += index(layer) + sees(layer) + marks(layer) + explained(layer) + far_end(layer) +
           discharge(layer) + look_first_text(field_, layer.screening);
    return out;
  }

  std::string harvest(const MappedHarvest& harvest) const {
    const CleanedLog& cleaned = harvest.cleaned;
    const std::size_t kept = cleaned.kept();
    const std::size_t all = harvest.log.size();
    const double share = all == 0 ? 0 : static_cast<double>(kept) / static_cast<double>(all);
    std::string out =
        line("Read", fmt::format("{} records. {}", all, as_sentence(harvest.log.method_text)));
    if (!tells_travel_time(cleaned)) {
      out += line("Travel time", as_sentence(cleaned.travel_time.why));
    }
    out += line("Cleaned", fmt::format("{} of {} records are kept ({}), none is deleted.", kept,
                                       all, percent(share)));
    out += steps(cleaned) + stripes(cleaned);
    out +=
        line("Map", as_sentence(fmt::format("{}; the standard error of a cell is {} in the middle",
                                            harvest.map.method_text,
                                            yield(median_error(harvest.map.standard_error)))));
    return out;
  }

  static bool took_nothing(const CleaningStep& step) {
    return step.records == 0 && step.told.rfind("No record was set aside", 0) == 0;
  }

  /// Whether a step that is told one by one says already where the grain came from.
  static bool tells_travel_time(const CleanedLog& cleaned) {
    return std::any_of(cleaned.steps.begin(), cleaned.steps.end(), [&](const CleaningStep& step) {
      return !took_nothing(step) && step.told.find(cleaned.travel_time.why) != std::string::npos;
    });
  }

  /// Steps that took something, or say why they could not be done, in a sentence each; the others
  /// together.
  static std::string steps(const CleanedLog& cleaned) {
    std::string out;
    std::string others;
    for (const CleaningStep& step : cleaned.steps) {
      if (took_nothing(step)) {
        others += (others.empty() ? "" : ", ") + to_text(step.step);
      } else {
        out += item("- ", to_text(step.step) + ": " + as_sentence(step.told));
      }
    }
    if (others.empty()) return out;
    return out + item("- ", "nothing to set aside for: " + others + ".");
  }

  static std::string stripes(const CleanedLog& cleaned) {
    const double before = cleaned.opposite_pass_difference_before;
    const double after = cleaned.opposite_pass_difference_after;
    if (!std::isfinite(before) || !std::isfinite(after) || (before == 0 && after == 0)) return "";
    return line("Stripes", fmt::format("Neighbouring passes driven in opposite directions differ "
                                       "by {} as logged and by {} as cleaned.",
                                       percent(before, 1), percent(after, 1)));
  }

  static std::string index(const HeardLayer& layer) {
    if (!layer.index || !(layer.index->saturated_share > 0)) return "";
    return line("Saturated",
                fmt::format("On {} of the ground the canopy is closed and the index tells no more.",
                            percent(layer.index->saturated_share)));
  }

  std::string sees(const HeardLayer& layer) const {
    if (!layer.evidence) {
      return line("Sees",
                  "What each point of this layer sees is not stated: no smallest fault is told.");
    }
    const CropEvidence& evidence = *layer.evidence;
    std::string text = as_sentence(evidence.told);
    if (evidence.days_since_water) {
      text += fmt::format(" It was taken {:g} days after rain or irrigation.",
                          *evidence.days_since_water);
    }
    return line("Sees", text);
  }

  static std::string marks(const HeardLayer& layer) {
    std::string out = line("Headland", as_sentence(layer.headland.why));
    if (layer.stripes.empty()) {
      return out + line("Machines", "No stripe at the width of a machine is told from chance.");
    }
    std::string all;
    for (const MachineStripe& stripe : layer.stripes) {
      all += (all.empty() ? "" : " ") + as_sentence(stripe.told);
    }
    if (layer.evidence) {
      for (const MachineWave& wave : layer.evidence->waves) all += " " + as_sentence(wave.told);
    }
    return out + line("Machines", all);
  }

  static std::string explained(const HeardLayer& layer) {
    std::string taken;
    std::string left;
    for (const ExplainedShare& share : layer.water.explained) {
      taken += fmt::format("{}{} {}", taken.empty() ? "" : ", ", share.by, percent(share.share));
      if (share.left_in < 0.005) continue;
      left += fmt::format("{}{} {}", left.empty() ? "" : ", ", share.by, percent(share.left_in));
    }
    if (taken.empty()) return line("Explained", as_sentence(layer.water.method_text));
    std::string text = fmt::format(
        "Of the variation of the crop: {}. What is left varies by {} (one standard "
        "deviation) and may belong to water.",
        taken, percent(layer.water.rest_sd));
    if (!left.empty()) {
      text += fmt::format(
          " Along zones and laterals more would be explained ({}); it is left in, for nobody can "
          "tell it from a fault.",
          left);
    }
    return line("Explained", text);
  }

  std::string far_end(const HeardLayer& layer) const {
    std::string out;
    for (const LateralProfile& profile : layer.profiles) {
      out += line(out.empty() ? "Far end" : "", as_sentence(profile.verdict));
    }
    return out;
  }

  std::string discharge(const HeardLayer& layer) const {
    if (!layer.association || !heard_.discharge) {
      return line("Discharge", "Not compared with discharge: " +
                                   (heard_.discharge ? "no dug emitter lies on the layer."
                                                     : as_sentence(heard_.why_no_discharge)));
    }
    const LayerAssociation& pairs = *layer.association;
    std::string text =
        fmt::format("Against {} dug emitters of survey {}: {}", pairs.emitters.size(),
                    heard_.discharge->survey, as_sentence(pairs.with_crop.verdict));
    if (pairs.with_rest) {
      const ModifiedTTest& rest = pairs.with_rest->test;
      text += fmt::format(
          " With the part that may belong to water the correlation is {:.2f} (90 % limits {:.2f} "
          "to {:.2f}).",
          rest.correlation, rest.lower_90, rest.upper_90);
    }
    text += fmt::format(
        " The crop at an emitter is the mean over {} of its lateral's strip, half the spacing wide "
        "on "
        "both sides.",
        length(pairs.along_m));
    return line("Discharge", text);
  }

  static std::string cautions() {
    return "\nCautions\n" +
           wrapped("  - ",
                   "The crop alone never says that an emitter is clogged: it says where to look. "
                   "Gauge, dig or scout before anything is flushed, treated or replaced.") +
           wrapped("  - ",
                   "Before digging have buried utilities located, shut the water off and let the "
                   "pressure go. Local codes and licensed practice come first.");
  }

  const HeardCrop& heard_;
  const Field& field_;
  UnitSystem units_;
};

}  // namespace

std::string crop_text(const HeardCrop& heard) {
  return Told(heard).text();
}

}  // namespace evendrip
