// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "proj_handles.hpp"

namespace evendrip {
namespace {

/// PROJ's name without the steps that only swap axes.
std::string operation_name(const PJ* operation) {
  const char* text = proj_get_name(operation);
  const std::string name = text == nullptr ? "" : text;
  std::string kept;
  for (std::size_t start = 0; start <= name.size();) {
    const std::size_t plus = std::min(name.find(" + ", start), name.size());
    const std::string step = name.substr(start, plus - start);
    start = plus + 3;
    if (step == "axis order change (2D)") continue;
    kept += (kept.empty() ? "" : " + ") + step;
  }
  return kept.empty() ? name : kept;
}

ProjObject crs_object(PJ_CONTEXT* context, const Crs& crs) {
  ProjObject object(proj_create(context, crs.wkt.c_str()));
  if (!crs.known() || !object) {
    throw InputError(Doubt{"unknown_crs",
                           Severity::problem,
                           {},
                           "a coordinate reference system is missing or cannot be read",
                           crs.name,
                           "a CRS of every layer",
                           "Name the CRS of the data"});
  }
  return object;
}

[[noreturn]] void refuse_ballpark(const Crs& from, const Crs& to) {
  throw InputError(Doubt{"ballpark_datum",
                         Severity::problem,
                         {},
                         "no transformation of known accuracy leads from one datum to the other",
                         from.name + " to " + to.name,
                         "CRSs whose datums are tied by a published transformation",
                         "Give the data in a CRS of the field's datum, or add the grid files of "
                         "that datum to PROJ's data folder"});
}

[[noreturn]] void refuse_point(const Crs& from, const Crs& to, Point p) {
  throw InputError(Doubt{
      "not_transformable",
      Severity::problem,
      {},
      "a point lies outside the area that can be transformed from " + from.name + " to " + to.name,
      fmt::format("x {:.9g}, y {:.9g}", p.x, p.y),
      "x as easting or longitude, y as northing or latitude, near the field",
      "Look for swapped coordinates or a wrong CRS"});
}

}  // namespace

struct Transform::State {
  Crs from;
  Crs to;
  ProjContext context;
  ProjObject transformation;
  bool settled = false;  ///< operation and accuracy are those of a point transformed
  std::string operation;
  double accuracy_m = -1;

  void describe(const PJ* chosen) {
    operation = operation_name(chosen);
    accuracy_m = proj_get_type(chosen) == PJ_TYPE_CONVERSION
                     ? 0  // a map projection is exact by definition
                     : proj_coordoperation_get_accuracy(context.get(), chosen);
  }
  void describe_likeliest(const PJ* source, const PJ* target);
};

/// Before a point was transformed: the first operation that PROJ lists.
void Transform::State::describe_likeliest(const PJ* source, const PJ* target) {
  PJ_CONTEXT* c = context.get();
  const std::unique_ptr<PJ_OPERATION_FACTORY_CONTEXT, ProjDeleter> factory(
      proj_create_operation_factory_context(c, nullptr));
  proj_operation_factory_context_set_allow_ballpark_transformations(c, factory.get(), 0);
  proj_operation_factory_context_set_spatial_criterion(c, factory.get(),
                                                       PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION);
  proj_operation_factory_context_set_grid_availability_use(
      c, factory.get(), PROJ_GRID_AVAILABILITY_DISCARD_OPERATION_IF_MISSING_GRID);
  const std::unique_ptr<PJ_OBJ_LIST, ProjDeleter> list(
      proj_create_operations(c, source, target, factory.get()));
  if (!list || proj_list_get_count(list.get()) == 0) refuse_ballpark(from, to);
  const ProjObject first(proj_list_get(c, list.get(), 0));
  describe(first.get());
}

Transform::Transform(const Crs& from, const Crs& to) : state_(std::make_unique<State>()) {
  State& s = *state_;
  s.from = from;
  s.to = to;
  s.context = quiet_proj_context();
  const ProjObject source = crs_object(s.context.get(), from);
  const ProjObject target = crs_object(s.context.get(), to);
  const char* const options[] = {"ALLOW_BALLPARK=NO", nullptr};
  const ProjObject raw(proj_create_crs_to_crs_from_pj(s.context.get(), source.get(), target.get(),
                                                      nullptr, options));
  if (!raw) refuse_ballpark(from, to);
  s.transformation.reset(proj_normalize_for_visualization(s.context.get(), raw.get()));
  if (!s.transformation) refuse_ballpark(from, to);
  s.describe_likeliest(source.get(), target.get());
}

Transform::~Transform() = default;
Transform::Transform(Transform&&) noexcept = default;
Transform& Transform::operator=(Transform&&) noexcept = default;

Point Transform::operator()(Point p) const {
  State& s = *state_;
  const bool sensible = std::isfinite(p.x) && std::isfinite(p.y) &&
                        (!s.from.geographic || (std::abs(p.y) <= 90 && std::abs(p.x) <= 360));
  if (!sensible && s.from.unit_name != "grad") refuse_point(s.from, s.to, p);
  proj_errno_reset(s.transformation.get());
  const PJ_COORD out =
      proj_trans(s.transformation.get(), PJ_FWD, proj_coord(p.x, p.y, 0, HUGE_VAL));
  if (!std::isfinite(out.xy.x) || !std::isfinite(out.xy.y)) refuse_point(s.from, s.to, p);
  if (!s.settled) {
    const ProjObject used(proj_trans_get_last_used_operation(s.transformation.get()));
    if (used) s.describe(used.get());
    s.settled = true;
  }
  return {out.xy.x, out.xy.y};
}

Line Transform::operator()(const Line& line) const {
  Line out;
  out.reserve(line.size());
  for (const Point p : line) out.push_back((*this)(p));
  return out;
}

MultiPolygon Transform::operator()(const MultiPolygon& shape) const {
  MultiPolygon out;
  out.reserve(shape.size());
  for (const Polygon& polygon : shape) {
    Polygon part{(*this)(polygon.outer), {}};
    for (const Ring& hole : polygon.holes) part.holes.push_back((*this)(hole));
    out.push_back(std::move(part));
  }
  return out;
}

const std::string& Transform::operation() const {
  return state_->operation;
}
double Transform::accuracy_m() const {
  return state_->accuracy_m;
}

}  // namespace evendrip
