// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/water_part.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <utility>

#include <fmt/format.h>

#include "evendrip/io/raster_file.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/surface/site_map.hpp"
#include "held.hpp"
#include "swept_products.hpp"

namespace evendrip {
namespace {

constexpr double least_left = 0.02;  ///< of a column's squares beside those before it
constexpr double fewest_cells = 50;
constexpr std::size_t layout_columns = 3;  ///< level, station, its square
constexpr std::size_t trend_columns = 5;
constexpr double telling_share = 0.05;

enum class Term { soil, elevation, trend };
constexpr std::array all_terms = {Term::soil, Term::elevation, Term::trend};

const char* name_of(Term term) {
  if (term == Term::soil) return "soil map";
  return term == Term::elevation ? "elevation" : "broad trend";
}

/// What explains the crop at the cells of one window.
struct Ground {
  std::vector<Site> sites;
  std::vector<int> soil;  ///< number of the unit, -1 for none
  Raster elevation;
};

/// The columns of the regression: layout of the cell's own zone, soil, elevation, trend, index.
class Columns {
 public:
  Columns(const Field& field, const Grid& grid) : grid_(grid), sites_(field, grid) {
    std::map<std::string, int> numbers;
    for (const SoilUnit& unit : field.soil) {
      const auto number = static_cast<int>(numbers.size());
      soil_numbers_.push_back(numbers.try_emplace(unit.name, number).first->second);
      Zone as_zone;
      as_zone.area = unit.area;
      soil_.zones.push_back(std::move(as_zone));
    }
    for (const auto& [name, number] : numbers) {
      if (soil_names_.size() <= static_cast<std::size_t>(number))
        soil_names_.resize(static_cast<std::size_t>(number) + 1);
      soil_names_[static_cast<std::size_t>(number)] = name;
    }
    if (field.elevation) elevation_ = open_raster_on_grid(*field.elevation, 1, grid, field.crs);
    for (const Lateral& lateral : field.laterals) lengths_m_.push_back(lateral.length_m);
    const Extent extent = field.extent();
    middle_ = {0.5 * (extent.x_min + extent.x_max), 0.5 * (extent.y_min + extent.y_max)};
    half_m_ = std::max({0.5 * extent.width(), 0.5 * extent.height(), 1e-9});
    if (elevation_) centre_elevation();
  }

  bool has(Term term) const {
    return term == Term::soil        ? !soil_names_.empty()
           : term == Term::elevation ? elevation_ != nullptr
                                     : true;
  }
  std::size_t count() const { return index_column() + 1; }
  std::size_t index_column() const { return first(Term::trend) + trend_columns; }
  std::size_t first(Term term) const {
    const std::size_t soil = layout_columns;
    if (term == Term::soil) return soil;
    const std::size_t elevation = soil + soil_names_.size();
    if (term == Term::elevation) return elevation;
    return elevation + (elevation_ ? 1 : 0);
  }
  std::size_t last(Term term) const {
    if (term == Term::soil) return first(Term::elevation);
    return term == Term::elevation ? first(Term::trend) : index_column();
  }
  const std::string& soil_name(std::size_t unit) const { return soil_names_[unit]; }

  Ground over(const Window& window) const {
    Ground ground;
    ground.sites = sites_.over(window);
    if (!soil_names_.empty()) {
      ground.soil = zones_of_cells(soil_, grid_, window);
      for (int& unit : ground.soil)
        if (unit >= 0) unit = soil_numbers_[static_cast<std::size_t>(unit)];
    }
    if (elevation_) ground.elevation = elevation_->read(window);
    return ground;
  }

  /// Writes the columns but the index; false where something is not known.
  bool fill(const Ground& ground, const Window& window, std::size_t i,
            std::span<double> row) const {
    const Site& site = ground.sites[i];
    if (site.zone < 0 || (elevation_ && !ground.elevation.has_value(i))) return false;
    std::fill(row.begin(), row.end(), 0.0);
    row[0] = 1;
    if (site.lateral >= 0) {
      const double end_m = lengths_m_[static_cast<std::size_t>(site.lateral)];
      const double way = end_m > 0 ? site.station_m / end_m - 0.5 : 0;
      row[1] = way;
      row[2] = way * way;
    }
    if (!ground.soil.empty() && ground.soil[i] >= 0)
      row[layout_columns + static_cast<std::size_t>(ground.soil[i])] = 1;
    if (elevation_)
      row[first(Term::elevation)] =
          static_cast<double>(ground.elevation.values[i]) - mean_elevation_m_;
    const auto columns = static_cast<std::size_t>(window.columns);
    const Point p = grid_.centre(window.row + static_cast<int>(i / columns),
                                 window.column + static_cast<int>(i % columns));
    const double u = (p.x - middle_.x) / half_m_;
    const double v = (p.y - middle_.y) / half_m_;
    const std::array<double, trend_columns> trend = {u, v, u * u, u * v, v * v};
    std::copy(trend.begin(), trend.end(),
              row.begin() + static_cast<std::ptrdiff_t>(first(Term::trend)));
    return true;
  }

 private:
  /// A height within the field, so that squares keep their digits.
  void centre_elevation() {
    for (const Window& window : row_blocks(grid_, 64)) {
      const Raster part = elevation_->read(window);
      for (std::size_t i = 0; i < part.values.size(); ++i) {
        if (!part.has_value(i)) continue;
        mean_elevation_m_ = static_cast<double>(part.values[i]);
        return;
      }
    }
  }

  Grid grid_;
  SiteMap sites_;
  Field soil_;  ///< soil units as its zones
  std::vector<int> soil_numbers_;
  std::vector<std::string> soil_names_;
  std::unique_ptr<RasterReader> elevation_;
  std::vector<double> lengths_m_;
  Point middle_;
  double half_m_ = 1;
  double mean_elevation_m_ = 0;
};

/// Products of each zone's cells, and what was passed over.
struct ZoneProducts {
  std::vector<Products> zones;
  double cells = 0;
  double without_ground = 0;
};

ZoneProducts products_of(const Field& field, const Columns& columns, const RasterReader& relative,
                         const Work& work) {
  constexpr int block_rows = 64;
  const std::vector<Window> blocks = row_blocks(relative.grid(), block_rows);
  std::vector<ZoneProducts> parts(blocks.size());
  std::mutex reading;
  for_each_chunk(work, blocks.size(), 1, [&](std::size_t b, std::size_t, int) {
    ZoneProducts& part = parts[b];
    part.zones.assign(field.zones.size(), Products(columns.count()));
    const Ground ground = columns.over(blocks[b]);
    const Raster index = [&] {
      const std::scoped_lock lock(reading);
      return relative.read(blocks[b]);
    }();
    std::vector<double> row(columns.count());
    for (std::size_t i = 0; i < index.values.size(); ++i) {
      if (ground.sites[i].zone < 0 || !index.has_value(i)) continue;
      if (!columns.fill(ground, blocks[b], i, row)) {
        ++part.without_ground;
        continue;
      }
      ++part.cells;
      row.back() = static_cast<double>(index.values[i]) - 1;
      part.zones[static_cast<std::size_t>(ground.sites[i].zone)].add(row);
    }
  });
  ZoneProducts sum;
  sum.zones.assign(field.zones.size(), Products(columns.count()));
  for (const ZoneProducts& part : parts) {
    sum.cells += part.cells;
    sum.without_ground += part.without_ground;
    for (std::size_t z = 0; z < sum.zones.size(); ++z) sum.zones[z].add(part.zones[z]);
  }
  for (Products& zone : sum.zones) zone.complete();
  return sum;
}

/// What is taken out at a cell of each zone, as weights of its columns.
struct Removal {
  std::vector<std::vector<double>> weights;
  std::vector<std::size_t> left_out;  ///< columns that follow zones and stations
};

/// Index less what is taken out, as weights; its variance over all cells.
struct Spread {
  double mean = 0;
  double variance = 0;
};
Spread spread_of(const ZoneProducts& products, const Columns& columns, const Removal& removal) {
  double sum = 0;
  double squares = 0;
  for (std::size_t z = 0; z < products.zones.size(); ++z) {
    std::vector<double> weights(columns.count());
    for (std::size_t k = 0; k < weights.size(); ++k) weights[k] = -removal.weights[z][k];
    weights.back() += 1;
    sum += products.zones[z].product(0, weights);
    squares += products.zones[z].squares(weights);
  }
  const double mean = sum / products.cells;
  return {mean, std::max(0.0, squares / products.cells - mean * mean)};
}

/// Squares of each column about its mean: what a pivot is held against.
std::vector<double> own_squares(const Products& all, double cells) {
  std::vector<double> squares(all.columns());
  for (std::size_t k = 0; k < squares.size(); ++k)
    squares[k] = std::max(0.0, all.at(k, k) - all.at(0, k) * all.at(0, k) / cells);
  return squares;
}

class Regression {
 public:
  Regression(const Columns& columns, const ZoneProducts& products)
      : columns_(columns), products_(products) {
    for (const Products& zone : products.zones) all_.add(zone);
    own_ = own_squares(all_, products.cells);
    beside_layout();
  }

  /// Terms up to and with `last` taken out (nothing: none).
  Removal removal(std::optional<Term> last) const {
    Removal removal;
    removal.left_out = left_out_;
    for (std::size_t z = 0; z < swept_.size(); ++z) {
      std::vector<double> weights(columns_.count());
      for (const Term term : all_terms) {
        if (!last || term > *last) break;
        for (std::size_t k = columns_.first(term); k < columns_.last(term); ++k) {
          weights[k] += coefficients_[k];
          if (term == Term::soil) continue;
          for (std::size_t n = 0; n < layout_columns; ++n)
            weights[n] -= coefficients_[k] * projected(z, n, k);
        }
      }
      removal.weights.push_back(std::move(weights));
    }
    return removal;
  }

  /// What each term explains without regard to zones and stations, of the squares of the index.
  std::vector<double> plain_shares() const {
    Products plain = all_;
    const std::size_t y = columns_.index_column();
    plain.sweep(0, 0);
    const double total = plain.at(y, y);
    std::vector<double> shares;
    for (const Term term : all_terms) {
      const double before = plain.at(y, y);
      for (std::size_t k = columns_.first(term); k < columns_.last(term); ++k)
        plain.sweep(k, least_left * own_[k]);
      shares.push_back(total > 0 ? (before - plain.at(y, y)) / total : 0);
    }
    return shares;
  }

 private:
  void beside_layout() {
    const std::size_t count = columns_.count();
    Products left(count);
    for (const Products& zone : products_.zones) {
      Products swept = zone;
      std::array<bool, layout_columns> done{};
      const double cells = zone.at(0, 0);
      for (std::size_t n = 0; n < layout_columns; ++n) done[n] = swept.sweep(n, 1e-6 * cells);
      for (std::size_t i = layout_columns; i < count; ++i)
        for (std::size_t j = layout_columns; j < count; ++j) left.at(i, j) += swept.at(i, j);
      swept_.push_back(std::move(swept));
      swept_layout_.push_back(done);
    }
    coefficients_.assign(count, 0);
    std::vector<std::size_t> used;
    for (std::size_t k = layout_columns; k < columns_.index_column(); ++k) {
      if (own_[k] > 0 && left.at(k, k) <= least_left * own_[k]) left_out_.push_back(k);
    }
    for (std::size_t k = layout_columns; k < columns_.index_column(); ++k) {
      if (left.sweep(k, least_left * own_[k])) used.push_back(k);
    }
    for (const std::size_t k : used) coefficients_[k] = left.at(k, columns_.index_column());
  }

  double projected(std::size_t zone, std::size_t layout, std::size_t column) const {
    return swept_layout_[zone][layout] ? swept_[zone].at(layout, column) : 0;
  }

  const Columns& columns_;
  const ZoneProducts& products_;
  Products all_;
  std::vector<double> own_;
  std::vector<Products> swept_;  ///< of each zone, its layout swept
  std::vector<std::array<bool, layout_columns>> swept_layout_;
  std::vector<double> coefficients_;
  std::vector<std::size_t> left_out_;  ///< columns that follow zones and stations
};

class RestReader : public RasterReader {
 public:
  RestReader(std::shared_ptr<const RasterReader> relative, std::shared_ptr<const Columns> columns,
             Removal removal, double mean_taken_out)
      : relative_(std::move(relative)),
        columns_(std::move(columns)),
        removal_(std::move(removal)),
        mean_(mean_taken_out) {}

  const Grid& grid() const override { return relative_->grid(); }

  Raster read(const Window& window) const override {
    Raster part = [&] {
      const std::scoped_lock lock(reading_);
      return relative_->read(window);
    }();
    const Ground ground = columns_->over(window);
    std::vector<double> row(columns_->count());
    for (std::size_t i = 0; i < part.values.size(); ++i) {
      const int zone = ground.sites[i].zone;
      if (zone < 0) {
        part.clear(i, Reason::outside_zones);
      } else if (part.has_value(i)) {
        if (!columns_->fill(ground, window, i, row)) {
          part.clear(i, Reason::source_nodata);
          continue;
        }
        const auto& weights = removal_.weights[static_cast<std::size_t>(zone)];
        double out = -mean_;
        for (std::size_t k = 0; k < row.size(); ++k) out += weights[k] * row[k];
        part.set(i, static_cast<double>(part.values[i]) - out);
      }
    }
    return part;
  }

 private:
  std::shared_ptr<const RasterReader> relative_;
  std::shared_ptr<const Columns> columns_;
  Removal removal_;
  double mean_;
  mutable std::mutex reading_;
};

std::string percent(double share) {
  return fmt::format("{:.0f} %", 100 * share);
}

Doubt told(std::string code, Severity severity, std::string text) {
  return {std::move(code), severity, {}, std::move(text), "", "", ""};
}

void tell(const Columns& columns, const ZoneProducts& products, const Removal& removal,
          WaterPart& part) {
  for (const std::size_t k : removal.left_out) {
    if (k >= columns.last(Term::soil)) continue;
    part.doubts.push_back(
        told("soil_follows_zones", Severity::note,
             fmt::format("soil unit \"{}\" follows zones or stations too closely to "
                         "be told from them: its level is left in",
                         columns.soil_name(k - layout_columns))));
  }
  for (const ExplainedShare& term : part.explained) {
    if (term.left_in < telling_share) continue;
    part.doubts.push_back(told(
        "trend_follows_layout", Severity::doubt,
        fmt::format("{} would explain {} more of the crop's variance along zones and stations: a "
                    "fault of the water that runs so looks the same, and it is left in",
                    term.by, percent(term.left_in))));
  }
  if (products.without_ground > 0)
    part.doubts.push_back(
        told("elevation_gap", Severity::note,
             fmt::format(
                 "{} of the cells with a crop value have no elevation and are left out",
                 percent(products.without_ground / (products.without_ground + products.cells)))));
}

std::string method_of(const WaterPart& part) {
  std::string terms;
  for (const ExplainedShare& term : part.explained)
    terms += fmt::format("{}{} ({})", terms.empty() ? "" : ", ", term.by, percent(term.share));
  return fmt::format(
      "Crop index less what it shares with {} of its variance; a level and a curve "
      "along the laterals of each zone are left in",
      terms);
}

void explain(const Columns& columns, const ZoneProducts& products, const Regression& regression,
             WaterPart& part) {
  const double whole = spread_of(products, columns, regression.removal({})).variance;
  const std::vector<double> plain = regression.plain_shares();
  double before = whole;
  for (std::size_t t = 0; t < all_terms.size(); ++t) {
    const Term term = all_terms[t];
    if (!columns.has(term)) continue;
    const double after = spread_of(products, columns, regression.removal(term)).variance;
    ExplainedShare explained{name_of(term), 0, 0};
    if (whole > 0) {
      explained.share = std::max(0.0, (before - after) / whole);
      explained.left_in = std::max(0.0, plain[t] - explained.share);
    }
    part.explained.push_back(std::move(explained));
    before = after;
  }
  part.index_sd = std::sqrt(whole);
  part.rest_sd = std::sqrt(before);
}

}  // namespace

WaterPart water_part(const Field& field, std::shared_ptr<const RasterReader> relative,
                     const Work& work) {
  WaterPart part;
  auto columns = std::make_shared<const Columns>(field, relative->grid());
  const ZoneProducts products = products_of(field, *columns, *relative, work);
  if (products.cells < fewest_cells) {
    part.rest = std::move(relative);
    part.method_text = "Crop index as it is: too few cells to tell what else explains it";
    part.doubts.push_back(told("crop_not_explained", Severity::doubt,
                               "fewer than 50 cells inside zones have a crop value: the index is "
                               "not freed of soil, elevation and trend"));
    return part;
  }
  const Regression regression(*columns, products);
  explain(*columns, products, regression, part);
  Removal removal = regression.removal(Term::trend);
  tell(*columns, products, removal, part);
  part.method_text = method_of(part);
  const double before = spread_of(products, *columns, regression.removal({})).mean;
  const double mean = before - spread_of(products, *columns, removal).mean;
  part.rest = held(std::make_unique<RestReader>(std::move(relative), std::move(columns),
                                                std::move(removal), mean),
                   without_progress(work));
  return part;
}

}  // namespace evendrip
