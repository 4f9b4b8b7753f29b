// SPDX-License-Identifier: Apache-2.0
// A covariance model made ready to fill matrices: the sites of the rows as plain arrays, in groups
// that can be correlated at all, so that a term bound to the lateral costs only its few entries.
#pragma once

#include <map>
#include <span>
#include <utility>
#include <vector>

#include "evendrip/kernels/dense.hpp"
#include "evendrip/surface/covariance.hpp"

namespace evendrip::covariance_parts {

/// What of a term is filled: itself, or its derivative by the logarithm of the range or of the
/// ratio of one factor.
struct Part {
  enum class Kind { value, range, ratio } kind = Kind::value;
  int factor = -1;
};

struct Columns {
  std::vector<double> x, y, station;
};

/// Values of one factor for a whole group of rows against one site.
class Factor {
 public:
  Factor(const CorrelationFactor& factor, Part::Kind part, double scale);
  /// `out` has padded length; `scratch` twice that.
  void values(const Columns& rows, int first, int count, const Site& column, double* out,
              double* scratch) const;

 private:
  void squared_distances(const Columns& rows, int first, int count, const Site& column, double* out,
                         double* across2) const;
  void differentiate(int padded, const double* distance2, const double* across2, double* out,
                     double* scratch) const;
  Metric metric_;
  Part::Kind part_;
  VariogramShape shape_;
  double range_m_;
  double east_, north_;  ///< unit vector along the azimuth
  double stretch_;       ///< across the azimuth
  kernels::Covariance kernel_;
};

class Term {
 public:
  Term(const CovarianceTerm& term, const Part& part, std::span<const Site> rows);
  /// Adds the term against one site to a column of the matrix.
  void add(const Site& column, double* out);

 private:
  struct Group {
    int first = 0, count = 0;
    int row = -1;  ///< the first row when the rows of the group follow one another
  };
  void gather(std::span<const Site> rows);
  std::pair<int, int> key_of(const Site& site) const;
  bool reaches(const Site& site) const;
  void add_group(const Group& group, const Site& column, double* out);

  bool by_lateral_ = false;
  bool by_zone_ = false;
  double variance_ = 0;
  std::vector<Factor> factors_;
  Columns sorted_;  ///< the rows of all groups, group by group
  std::vector<int> row_of_;
  std::map<std::pair<int, int>, Group> groups_;
  std::vector<double> product_, factor_, scratch_;
};

/// Throws std::invalid_argument as `fill` does.
void check(const CovarianceModel& model);

}  // namespace evendrip::covariance_parts
