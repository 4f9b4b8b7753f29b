// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "crop_over_dates.hpp"
#include "evendrip/base/median.hpp"
#include "evendrip/report/crop_story.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

constexpr std::size_t label_width = 12;
constexpr std::size_t most_patches = 12;  // one round of a morning; the rest is in the tables

/// A sentence of another room: it begins with a capital and ends with a full stop.
std::string sentence(std::string text) {
  if (text.empty()) return text;
  const unsigned char first = static_cast<unsigned char>(text.front());
  if (first >= 'a' && first <= 'z') text.front() = static_cast<char>(first - 'a' + 'A');
  const char last = text.back();
  return last == '.' || last == '?' || last == '!' ? text : text + ".";
}

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
      out += line("Read", sentence(layer.layer.method_text));
    }
    out += index(layer) + sees(layer) + marks(layer) + explained(layer) + far_end(layer) +
           discharge(layer) + look_first(layer);
    return out;
  }

  std::string harvest(const MappedHarvest& harvest) const {
    const CleanedLog& cleaned = harvest.cleaned;
    const std::size_t kept = cleaned.kept();
    const std::size_t all = harvest.log.size();
    const double share = all == 0 ? 0 : static_cast<double>(kept) / static_cast<double>(all);
    std::string out =
        line("Read", fmt::format("{} records. {}", all, sentence(harvest.log.method_text)));
    if (!tells_travel_time(cleaned)) {
      out += line("Travel time", sentence(cleaned.travel_time.why));
    }
    out += line("Cleaned", fmt::format("{} of {} records are kept ({}), none is deleted.", kept,
                                       all, percent(share)));
    out += steps(cleaned) + stripes(cleaned);
    out += line("Map", sentence(fmt::format("{}; the standard error of a cell is {} in the middle",
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
        out += item("- ", to_text(step.step) + ": " + sentence(step.told));
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
    std::string text = sentence(evidence.told);
    if (evidence.days_since_water) {
      text += fmt::format(" It was taken {:g} days after rain or irrigation.",
                          *evidence.days_since_water);
    }
    return line("Sees", text);
  }

  static std::string marks(const HeardLayer& layer) {
    std::string out = line("Headland", sentence(layer.headland.why));
    if (layer.stripes.empty()) {
      return out + line("Machines", "No stripe at the width of a machine is told from chance.");
    }
    std::string all;
    for (const MachineStripe& stripe : layer.stripes) {
      all += (all.empty() ? "" : " ") + sentence(stripe.told);
    }
    if (layer.evidence) {
      for (const MachineWave& wave : layer.evidence->waves) all += " " + sentence(wave.told);
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
    if (taken.empty()) return line("Explained", sentence(layer.water.method_text));
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
      out += line(out.empty() ? "Far end" : "", sentence(profile.verdict));
    }
    return out;
  }

  std::string discharge(const HeardLayer& layer) const {
    if (!layer.association) {
      return line("Discharge", "Not compared with discharge: " +
                                   (heard_.discharge ? "no dug emitter lies on the layer."
                                                     : sentence(heard_.why_no_discharge)));
    }
    const LayerAssociation& pairs = *layer.association;
    std::string text =
        fmt::format("Against {} dug emitters of survey {}: {}", pairs.emitters.size(),
                    heard_.discharge->survey, sentence(pairs.with_crop.verdict));
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

  std::string look_first(const HeardLayer& layer) const {
    const std::vector<CropPatch>& patches = layer.screening.patches;
    // The summary ends with the first place, which the list begins with.
    const std::string& summary = layer.screening.summary;
    std::string out = line("Look first", sentence(summary.substr(0, summary.find(" First: "))));
    const std::size_t told = std::min(patches.size(), most_patches);
    for (std::size_t i = 0; i < told; ++i) {
      out += item(fmt::format("{:>2}. ", i + 1), patch(patches[i]));
    }
    if (patches.size() > told) {
      out += item("    ", fmt::format("and {} more, in the tables.", patches.size() - told));
    }
    return out;
  }

  std::string patch(const CropPatch& patch) const {
    std::string where = patch.zone < 0 ? "no zone" : "zone " + zone(patch.zone);
    const bool told_where = patch.shape == PatchShape::follows_laterals;
    if (!told_where && patch.first_lateral >= 0 && patch.last_lateral >= 0) {
      const auto& from = field_.laterals[static_cast<std::size_t>(patch.first_lateral)].id;
      const auto& to = field_.laterals[static_cast<std::size_t>(patch.last_lateral)].id;
      where += from == to ? ", lateral " + from : fmt::format(", laterals {} to {}", from, to);
    }
    if (!told_where && patch.to_m > patch.from_m) {
      where += fmt::format(", {} to {} from the supply end", length(patch.from_m),
                           patch.to_the_end ? "the far end" : length(patch.to_m));
    }
    return sentence(fmt::format("{} ({})", where, to_text(patch.shape))) + " " +
           sentence(patch.told);
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
