// SPDX-License-Identifier: Apache-2.0
#include "crop_over_dates.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "table_cells.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

constexpr std::size_t label_width = 12;
constexpr std::size_t most_runs = 8;  // the rest is in the tables
constexpr int fewest_low = 2;         // once is no habit

std::string line(const std::string& label, const std::string& text) {
  return wrapped("  " + padded(label, label_width), text);
}

std::string item(const std::string& text) {
  return wrapped("  " + std::string(label_width, ' ') + "- ", text);
}

std::string percent(double share) {
  return share > 0 && share < 0.005 ? "under 1 %" : fmt::format("{:.0f} %", 100 * share);
}

/// "on all 3", "in both".
std::string on_all(const CropOverDates& joined) {
  const std::size_t n = joined.dates.size();
  return (joined.season.empty() ? "in " : "on ") +
         (n == 2 ? std::string("both") : fmt::format("all {}", n));
}

/// Seasons have an inside, dates do not.
const char* at_of(const CropOverDates& joined) {
  return joined.season.empty() ? "in" : "on";
}

const char* word_of(const CropOverDates& joined) {
  return joined.season.empty() ? "season" : "date";
}

std::string dates_told(const CropOverDates& joined) {
  std::string all;
  for (const JoinedDate& date : joined.dates) {
    all += (all.empty() ? "" : ", ") + date.name;
    if (date.name != date.layers) all += " (" + date.layers + ")";
  }
  return all + ".";
}

/// Share of the ground that is low on at least so many dates.
double low_at_least(const std::vector<double>& shares, std::size_t dates) {
  double sum = 0;
  for (std::size_t k = dates; k < shares.size(); ++k) sum += shares[k];
  return sum;
}

std::string low_told(const CropOverDates& joined, double limit) {
  const std::size_t n = joined.dates.size();
  if (joined.share_low_on.empty())
    return fmt::format("No ground is seen {} every {}.", at_of(joined), word_of(joined));
  std::string text =
      fmt::format("Of the ground seen {} every {}, {} is below {} of the median {}", at_of(joined),
                  word_of(joined), percent(joined.share_low_on[n]), percent(limit), on_all(joined));
  if (n > 2)
    text += fmt::format(", {} {} at least {} of {}",
                        percent(low_at_least(joined.share_low_on, n - 1)), at_of(joined), n - 1, n);
  return text + fmt::format(", {} {} none.", percent(joined.share_low_on[0]), at_of(joined));
}

std::string steady_told(const CropOverDates& joined) {
  const char* word = word_of(joined);
  const char* at = at_of(joined);
  return fmt::format(
      "{} of the variation over the field is the same {} every {}; half of the places change by "
      "less "
      "than {} of the median from {} to {} (one standard deviation). What is low {} every {} is "
      "steady, not therefore dry: its soil and stand are the same too.",
      percent(joined.steady_share), at, word, percent(joined.median_variation), word, word, at,
      word);
}

std::string zones_told(const CropOverDates& joined) {
  std::string all;
  for (const PlaceOverDates& zone : joined.zones) {
    if (zone.dates == 0) continue;
    all += fmt::format("{}Zone {} stands at {} of the median and is {}.", all.empty() ? "" : " ",
                       zone.name, percent(zone.level), low_on(joined, zone));
  }
  return all;
}

/// Laterals side by side that are low on as many of as many dates.
struct Run {
  std::size_t first = 0;
  std::size_t last = 0;
};

bool alike(const PlaceOverDates& a, const PlaceOverDates& b) {
  return a.zone == b.zone && a.low == b.low && a.dates == b.dates;
}

/// Those low most often first, the longer first.
std::vector<Run> low_runs(const std::vector<PlaceOverDates>& laterals) {
  std::vector<Run> runs;
  for (std::size_t i = 0; i < laterals.size(); ++i) {
    if (laterals[i].low < fewest_low) continue;
    if (!runs.empty() && runs.back().last + 1 == i && alike(laterals[i - 1], laterals[i])) {
      runs.back().last = i;
    } else {
      runs.push_back({i, i});
    }
  }
  const auto share = [&](const Run& run) {
    return static_cast<double>(laterals[run.first].low) / laterals[run.first].dates;
  };
  std::stable_sort(runs.begin(), runs.end(), [&](const Run& a, const Run& b) {
    if (share(a) != share(b)) return share(a) > share(b);
    return a.last - a.first > b.last - b.first;
  });
  return runs;
}

std::string run_told(const CropOverDates& joined, const Run& run) {
  const std::vector<PlaceOverDates>& laterals = joined.laterals;
  const std::string& from = laterals[run.first].name;
  double level = 0;
  for (std::size_t i = run.first; i <= run.last; ++i) level += laterals[i].level;
  level /= static_cast<double>(run.last - run.first + 1);
  const std::string who = run.first == run.last
                              ? fmt::format("Lateral {} is", from)
                              : fmt::format("Laterals {} to {} are", from, laterals[run.last].name);
  return fmt::format("{} {}, at {} of the median.", who, low_on(joined, laterals[run.first]),
                     percent(level));
}

std::string laterals_told(const CropOverDates& joined) {
  const std::vector<Run> runs = low_runs(joined.laterals);
  if (runs.empty())
    return line("Laterals", fmt::format("None as a whole is low {} {} {}s or more.", at_of(joined),
                                        fewest_low, word_of(joined)));
  std::string out = line("Laterals", fmt::format("Low as a whole {} {} {}s or more:", at_of(joined),
                                                 fewest_low, word_of(joined)));
  const std::size_t told = std::min(runs.size(), most_runs);
  for (std::size_t i = 0; i < told; ++i) out += item(run_told(joined, runs[i]));
  if (runs.size() > told)
    out += item(fmt::format("and {} more, in the tables.", runs.size() - told));
  return out;
}

ResultLayer dates_layer(const HeardCrop& heard) {
  ResultLayer layer{
      "crop_dates", "Dates and seasons that are joined", ResultLayer::Shape::none, {}, {}};
  layer.fields = {text("joined", "what they are joined to"),
                  text("kind", "kind of crop layer"),
                  text("season", "season; empty: over seasons"),
                  integer("turn", "order of the dates"),
                  text("date", "date or season"),
                  text("layers", "crop layers of it")};
  for (const CropOverDates& joined : heard.over_dates) {
    int turn = 0;
    for (const JoinedDate& date : joined.dates) {
      layer.rows.push_back({{},
                            {CellValue{joined.id}, CellValue{joined.kind}, CellValue{joined.season},
                             cell(++turn), CellValue{date.name}, CellValue{date.layers}}});
    }
  }
  return layer;
}

std::vector<LayerField> place_fields(const char* what) {
  return {text("joined", "what is joined, as in crop_dates"),
          text("id", what),
          integer("dates", "dates or seasons on which it has a value"),
          integer("low_dates", "of these, mean below the threshold crop_low_below"),
          number("level", "mean over them of the mean over the median of the field"),
          number("variation", "standard deviation over them"),
          text("told", "the same in words")};
}

std::vector<CellValue> place_values(const CropOverDates& joined, const PlaceOverDates& place) {
  return {CellValue{joined.id},
          CellValue{place.name},
          cell(place.dates),
          cell(place.low),
          place.dates > 0 ? cell(place.level) : CellValue{},
          cell(place.variation),
          CellValue{low_on(joined, place)}};
}

ResultLayer zones_layer(const HeardCrop& heard) {
  ResultLayer layer{"zones_over_dates",
                    "Zones over several dates or seasons",
                    ResultLayer::Shape::polygon,
                    place_fields("zone"),
                    {}};
  for (const CropOverDates& joined : heard.over_dates) {
    for (const PlaceOverDates& place : joined.zones) {
      layer.rows.push_back({heard.field.zones[static_cast<std::size_t>(place.zone)].area,
                            place_values(joined, place)});
    }
  }
  return layer;
}

ResultLayer laterals_layer(const HeardCrop& heard) {
  ResultLayer layer{"laterals_over_dates",
                    "Strips of laterals over several dates or seasons",
                    ResultLayer::Shape::line,
                    place_fields("lateral"),
                    {}};
  for (const CropOverDates& joined : heard.over_dates) {
    for (const PlaceOverDates& place : joined.laterals) {
      layer.rows.push_back({heard.field.laterals[static_cast<std::size_t>(place.lateral)].line,
                            place_values(joined, place)});
    }
  }
  return layer;
}

}  // namespace

std::string over_dates_text(const HeardCrop& heard) {
  std::string out;
  for (const CropOverDates& joined : heard.over_dates) {
    out += "\n" + title_of(joined) + "\n";
    out += line(joined.season.empty() ? "Seasons" : "Dates", dates_told(joined));
    out += line("Low", low_told(joined, heard.field.thresholds.crop_low_below));
    out += line("Steady", steady_told(joined));
    const std::string zones = zones_told(joined);
    if (!zones.empty()) out += line("Zones", zones);
    out += laterals_told(joined);
  }
  return out;
}

std::vector<ResultLayer> over_dates_layers(const HeardCrop& heard) {
  return {dates_layer(heard), zones_layer(heard), laterals_layer(heard)};
}

}  // namespace evendrip
