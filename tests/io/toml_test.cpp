// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/toml.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;

TomlTable document(const std::string& text) {
  return read_toml(put(fresh_folder() / "field.toml", text), "field.toml");
}

TEST(TomlDocument, KeepsTheOrderOfTheFileAndTheLineOfEveryValue) {
  const TomlTable table = document("zeta = 1\nalpha = \"x\"\n\n[emitter]\nexponent = 0.5\n");
  ASSERT_EQ(table.size(), 3U);
  EXPECT_EQ(table[0].key, "zeta");
  EXPECT_EQ(table[1].key, "alpha");
  EXPECT_EQ(table[1].value.line, 2U);
  EXPECT_EQ(table[1].value.column, 9U);
  const auto& emitter = std::get<TomlTable>(table[2].value.value);
  EXPECT_EQ(emitter[0].value.line, 5U);
}

TEST(TomlDocument, NamesLineAndColumnOfASyntaxError) {
  const Doubts problems = problems_of([] { document("a = 1\nb = = 2\n"); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "toml_syntax");
  EXPECT_EQ(problems[0].place.file, "field.toml");
  EXPECT_EQ(problems[0].place.row, 2U);
  EXPECT_EQ(problems[0].place.column, "5");
}

TEST(TomlDocument, RefusesAKeyThatStandsTwiceAndBytesThatAreNoUtf8) {
  EXPECT_EQ(code_of([] { document("a = 1\na = 2\n"); }), "toml_syntax");
  EXPECT_EQ(code_of([] {
              document(
                  "a = \"Pe\xF1"
                  "a\"\n");
            }),
            "toml_syntax");
  EXPECT_EQ(code_of([] { document(std::string("a = \0", 5)); }), "binary_file");
}

TEST(TomlDocument, ThrowsFileErrorForAFileThatIsNotThere) {
  const auto file = fresh_folder() / "field.toml";
  EXPECT_EQ(code_of<FileError>([&] { read_toml(file, "field.toml"); }), "not_readable");
}

TEST(TomlDocument, ReadsCrlfAndAByteOrderMark) {
  const TomlTable table = document(
      "\xEF\xBB\xBF"
      "a = 1\r\nb = 2\r\n");
  ASSERT_EQ(table.size(), 2U);
  EXPECT_EQ(table[1].value.line, 2U);
}

}  // namespace
}  // namespace evendrip
