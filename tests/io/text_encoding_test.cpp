// SPDX-License-Identifier: Apache-2.0
// Well-formed UTF-8: RFC 3629 section 4; malformed examples after its section 3 and 10.
#include <gtest/gtest.h>

#include "evendrip/io/csv.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

using test::fresh_folder;
using test::put;

/// True if the bytes pass as UTF-8, as a cell of a table.
bool passes(const std::string& bytes) {
  const Table table = read_csv(put(fresh_folder() / "t.csv", "a\nx" + bytes + "x\n"), "t.csv");
  return table.doubts.empty() && table.cell(0, 0) == "x" + bytes + "x";
}

TEST(Utf8, WellFormedSequencesOfEveryLengthPass) {
  for (const std::string bytes :
       {"\x7F", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80",
        "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"})
    EXPECT_TRUE(passes(bytes)) << testing::PrintToString(bytes);
}

TEST(Utf8, OverlongSurrogateCutAndTooLargeSequencesDoNot) {
  for (const std::string bytes :
       {"\xC0\x80", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\x80", "\xC3", "\xE2\x82", "\xF0\x9F\x98"})
    EXPECT_FALSE(passes(bytes)) << testing::PrintToString(bytes);
}

TEST(Latin1, BytesBecomeTheCharactersOfIso8859) {
  const Table table = read_csv(put(fresh_folder() / "t.csv", "a\n\xE9\xFC\xDF\n"), "t.csv");
  EXPECT_EQ(table.cell(0, 0), "\xC3\xA9\xC3\xBC\xC3\x9F");
}

}  // namespace
}  // namespace evendrip
