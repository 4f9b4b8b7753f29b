// SPDX-License-Identifier: Apache-2.0
// Errors and doubts: the one way in which every room says that something is wrong.
//
// Three kinds, never mixed. What cannot go on is an exception of the small tree below. Data that
// is doubtful while work goes on is a `Doubt` in a list that travels with the result. A place
// without a value carries a reason code in a mask (geo/raster.hpp).
#pragma once

#include <cstddef>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {

/// Exit status of the program; `main` alone turns an error into one.
enum class ExitCode { done = 0, internal = 1, usage = 2, input = 3, file = 4, interrupted = 130 };

/// Where in the user's files something was found. Empty text and 0 mean "not applicable".
struct Place {
  std::string file;     ///< path as the user would type it
  std::string layer;    ///< layer, table section or TOML key path
  std::size_t row = 0;  ///< 1-based line of a text file, or feature number of a vector layer
  std::string column;   ///< column heading, key, or "column 12" of a text file

  bool operator==(const Place&) const = default;
};

/// "catch_cans.csv, row 12, column volume_ml"
std::string to_text(const Place& place);

enum class Severity {
  note,    ///< worth telling, nothing to mend
  doubt,   ///< work goes on, the result leans on something uncertain
  problem  ///< a run refuses to start
};

/// "note", "doubt" or "problem".
std::string to_text(Severity severity);

/// One finding about the input: what, where, what was expected, how to mend it.
struct Doubt {
  std::string code;  ///< stable snake_case name, for example "station_beyond_end"
  Severity severity = Severity::doubt;
  Place place;
  std::string text;      ///< one plain sentence
  std::string found;     ///< the value as it stands in the file
  std::string expected;  ///< what would have been accepted
  std::string remedy;    ///< what to do next
};

using Doubts = std::vector<Doubt>;

/// "place: text (found ..., expected ...). remedy" on one line.
std::string to_text(const Doubt& doubt);

/// True if any entry is a Severity::problem.
bool has_problem(const Doubts& doubts);

/// Root of the tree. Holds one or more `Doubt`s of severity problem; what() joins their texts.
class Error : public std::runtime_error {
 public:
  Error(ExitCode exit_code, Doubts problems);
  ExitCode exit_code() const { return exit_code_; }
  const Doubts& problems() const { return problems_; }

 private:
  ExitCode exit_code_;
  Doubts problems_;
};

/// The user's input cannot be used (exit 3).
class InputError : public Error {
 public:
  explicit InputError(Doubts problems);
  explicit InputError(Doubt problem);
  static InputError missing_file(const std::string& file, const std::string& needed_for);
  static InputError missing_column(const std::string& file, const std::string& column);
  static InputError bad_value(Place place, const std::string& found, const std::string& expected,
                              const std::string& remedy = "");
};

/// Reading or writing failed (exit 4).
class FileError : public Error {
 public:
  FileError(const std::string& code, const std::string& file, const std::string& text,
            const std::string& remedy = "");
};

/// The command line was wrong (exit 2).
class UsageError : public Error {
 public:
  UsageError(const std::string& text, const std::string& remedy);
};

/// The user stopped the work (exit 130).
class Interrupted : public Error {
 public:
  Interrupted();
};

/// Throws InputError with every entry of severity problem, if there is one.
void throw_if_problem(const Doubts& doubts);

}  // namespace evendrip
