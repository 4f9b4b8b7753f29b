// SPDX-License-Identifier: Apache-2.0
#include "task_data_xml.hpp"

#include <algorithm>
#include <utility>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

constexpr std::ptrdiff_t most_tags = 2'000'000;
constexpr int most_depth = 64;

InputError xml_problem(const std::string& name, std::size_t line, std::string code,
                       std::string text, std::string expected) {
  return InputError(Doubt{std::move(code),
                          Severity::problem,
                          {name, "", line, ""},
                          std::move(text),
                          "",
                          std::move(expected),
                          "Export the task data again"});
}

/// Stops at the first node that is deeper than allowed.
class Depth : public pugi::xml_tree_walker {
 public:
  bool for_each(pugi::xml_node&) override { return depth() < most_depth; }
};

}  // namespace

std::size_t line_of(const std::string& text, std::size_t byte) {
  const auto end = text.begin() + static_cast<std::ptrdiff_t>(std::min(byte, text.size()));
  return 1 + static_cast<std::size_t>(std::count(text.begin(), end, '\n'));
}

void load_task_xml(const std::string& bytes, const std::string& name,
                   pugi::xml_document& document) {
  if (std::count(bytes.begin(), bytes.end(), '<') > most_tags) {
    throw xml_problem(name, 0, "too_large", "the XML has too many tags", "at most two million");
  }
  const pugi::xml_parse_result read =
      document.load_buffer(bytes.data(), bytes.size(), pugi::parse_default | pugi::parse_doctype);
  for (const pugi::xml_node& node : document) {
    if (node.type() == pugi::node_doctype) {
      throw xml_problem(name, 0, "document_type",
                        "the XML declares a document type, and so may define entities",
                        "XML of ISO 11783-10, which has none");
    }
  }
  if (!read) {
    throw xml_problem(
        name, line_of(bytes, static_cast<std::size_t>(std::max<std::ptrdiff_t>(read.offset, 0))),
        "unreadable_xml", std::string("the XML cannot be read: ") + read.description(),
        "well-formed XML");
  }
  Depth depth;
  if (!document.traverse(depth)) {
    throw xml_problem(name, 0, "too_deep", "the XML is nested too deep", "at most 64 levels");
  }
}

}  // namespace evendrip
