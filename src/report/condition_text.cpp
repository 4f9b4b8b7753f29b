// SPDX-License-Identifier: Apache-2.0
#include "condition_text.hpp"

#include "condition_figures.hpp"
#include "text_lines.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr std::size_t most_places = 3;
const std::string indent = "      ";

std::string percent(double share) {
  return fmt::format("{:.0f} %", 100 * share);
}

std::string limits(const Judged& judged) {
  return fmt::format("{:.0f} to {:.0f}", 100 * judged.lower_90, 100 * judged.upper_90);
}

std::string line(const std::string& text) {
  return wrapped(indent, text);
}

/// With a capital and a full stop, if it has none.
std::string sentence(std::string text) {
  if (text.empty()) return text;
  if (text.front() >= 'a' && text.front() <= 'z')
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
  return text.back() == '.' ? text : text + ".";
}

std::string uniformity_line(const ModelUniformity& uniformity) {
  if (uniformity.draws == 0) return "";
  std::string text = fmt::format(
      "Low-quarter uniformity by the model: all emitters {} (90 % limits {}), plants {} ({}).",
      percent(uniformity.emitters.value), limits(uniformity.emitters),
      percent(uniformity.plants.value), limits(uniformity.plants));
  text += std::isfinite(uniformity.sample)
              ? fmt::format(" The dug emitters alone say {}.", percent(uniformity.sample))
              : " Too few emitters were dug to tell it from them alone.";
  return line(text);
}

std::string verdict_line(const Story& story, const ZoneState& zone) {
  const VerdictCounts counts = verdicts_in(story.field, zone);
  if (counts.all() == 0) return "";
  const auto share = [&](int emitters) {
    const double part = static_cast<double>(emitters) / counts.all();
    return emitters > 0 && part < 0.005 ? std::string("under 1 %") : percent(part);
  };
  return line(fmt::format(
      "Of {} emitters {} stand where water is enough, {} where it is low (below {} of {}), of {} "
      "it is not known. One by one, with their own make and luck, about {} are low.",
      counts.all(), share(counts.enough), share(counts.low),
      percent(story.field.thresholds.low_below), to_text(reference_in(story, zone.grid.zone)),
      share(counts.not_known), percent(counts.low_one_by_one / counts.all())));
}

std::string low_lines(const Field& field, const ZoneState& zone) {
  const auto patches = patches_of(field, zone, WaterVerdict::low);
  std::string out;
  for (std::size_t i = 0; i < std::min(most_places, patches.size()); ++i)
    out += line(fmt::format("Low: {}: delivery {}, performance {}.",
                            told_place(field, zone.grid, patches[i].patch),
                            percent(patches[i].delivery), percent(patches[i].performance)));
  if (patches.size() > most_places)
    out +=
        line(fmt::format("And {} more low places, in the tables.", patches.size() - most_places));
  return out;
}

std::string places_of(const Field& field, const ZoneState& zone,
                      const std::vector<SegmentPatch>& patches) {
  std::string places;
  for (std::size_t i = 0; i < std::min(most_places, patches.size()); ++i)
    places += (i > 0 ? "; " : "") + told_place(field, zone.grid, patches[i]);
  if (patches.size() > most_places)
    places += fmt::format("; and {} more places", patches.size() - most_places);
  return places;
}

std::string not_known_lines(const Field& field, const ZoneState& zone) {
  const auto patches = patches_of(field, zone, WaterVerdict::not_known);
  if (patches.empty()) return "";
  std::vector<SegmentPatch> places;
  places.reserve(patches.size());
  for (const ToldPatch& one : patches) places.push_back(one.patch);
  return line("Not known: dig or gauge here: " + places_of(field, zone, places) + ".");
}

std::string fault_lines(const FieldCondition& condition, std::size_t z) {
  const NetworkExplanation& network = condition.zones[z].network;
  std::string out;
  for (std::size_t i = 0; i < network.faults.size(); ++i) {
    const FoundFault& fault = network.faults[i];
    std::string text =
        sentence(fmt::format("Fault {}: {}", fault_name(condition, z, i), fault.told));
    const bool told_already = fault.told.find(fault.runner_up) != std::string::npos;
    if (!told_already) text += sentence(" Next best: " + fault.runner_up);
    out += line(text);
  }
  if (network.faults.empty() && !network.told.empty()) out += line(sentence(network.told));
  return out;
}

std::string shares_line(const ZoneState& zone) {
  const std::string told = told_crop_shares(zone.shares);
  return told.empty() ? "" : line("The crop's variance by its parts: " + told + ".");
}

std::string unverified_lines(const Story& story, const ZoneState& zone) {
  const auto patches = low_crop_patches(story.field, zone);
  if (patches.empty())
    return line(
        fmt::format("No place where the crop follows the laterals is below {} of the median.",
                    percent(story.field.thresholds.crop_low_below)));
  std::string out;
  for (std::size_t i = 0; i < std::min(most_places, patches.size()); ++i)
    out += line(fmt::format("The crop follows the laterals and is low: {}: short of {}.",
                            told_place(story.field, zone.grid, patches[i].patch),
                            crop_deficit(story, zone, patches[i].relative)));
  if (patches.size() > most_places)
    out += line(fmt::format("And {} more such places.", patches.size() - most_places));
  return out + line(
                   "Whether emitters there are clogged is not known: dig or gauge there before any "
                   "repair.");
}

std::string voice_lines(const ZoneState& zone) {
  std::string out;
  for (const CropVoice& voice : zone.voices)
    out += line(sentence(fmt::format("Crop layer {}, {}: {}", voice.layer,
                                     voice.used ? "used" : "not used", voice.why)));
  return out;
}

/// What is no water, where layers contradict each other, and what does not stand.
std::string doubt_lines(const Field& field, const ZoneState& zone) {
  std::string out;
  if (const auto before = low_before_patches(field, zone); !before.empty())
    out +=
        line(fmt::format("Low in {} already, when irrigation could not show: machine or soil, "
                         "not water: {}.",
                         zone.layer_before, places_of(field, zone, before)));
  for (const LayerContradiction& one : zone.contradictions)
    out += line(fmt::format(
        "Crop layers {} and {} contradict each other here: {}. Dig or gauge "
        "there.",
        zone.layer_used, one.layer, places_of(field, zone, contradicted_patches(zone, one))));
  if (!zone.doubtful.empty()) out += line(sentence(zone.doubtful));
  return out;
}

/// What ends sharply in the crop about holes.
std::string sharp_lines(const Field& field, const ZoneState& zone) {
  std::string out;
  for (const ToldSharpPatch& one : sharp_patches(zone))
    out += line(fmt::format("In {} a low place ends sharply: {}: {}.", zone.layer_used,
                            told_place(field, zone.grid, one.patch),
                            one.of_soil
                                ? "soil or stand makes the crop poorer there than its holes tell"
                                : "the water fails there, as the holes in it say"));
  return out;
}

/// What the meter says, unless it stands with a layer.
std::string told_line(const ZoneState& zone) {
  const bool again =
      std::any_of(zone.voices.begin(), zone.voices.end(),
                  [&zone](const CropVoice& voice) { return voice.why == zone.told; });
  return zone.told.empty() || again ? "" : line(sentence(zone.told));
}

std::string zone_text(const Story& story, std::size_t z) {
  const ZoneState& zone = story.condition.zones[z];
  const std::string lead = "  " + story.field.zones[z].id + "  ";
  std::string out = wrapped(lead, "By " + judged_by(zone) + ".");
  if (!told_without_holes(zone) && !zone.judged) out = wrapped(lead, judged_by(zone) + ".");
  out += told_line(zone);
  if (!zone.done_since.empty()) out += line(sentence(zone.done_since));
  out += voice_lines(zone);
  out += doubt_lines(story.field, zone);
  out += sharp_lines(story.field, zone);
  if (told_without_holes(zone))
    return out + unverified_lines(story, zone) + fault_lines(story.condition, z);
  if (!zone.judged) return out;
  out += uniformity_line(zone.uniformity);
  out += verdict_line(story, zone);
  out += low_lines(story.field, zone);
  out += fault_lines(story.condition, z);
  out += shares_line(zone);
  out += not_known_lines(story.field, zone);
  return out;
}

}  // namespace

std::string condition_text(const Story& story) {
  if (story.condition.zones.empty()) return "";
  std::string out =
      "Condition of every emitter: delivery is what plants get of a clean system's discharge, "
      "performance what\nis left of a clean emitter's at its own pressure (clogging and wear "
      "alone)\n";
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z) out += zone_text(story, z);
  return out;
}

}  // namespace evendrip
