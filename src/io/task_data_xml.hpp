// SPDX-License-Identifier: Apache-2.0
// XML of task data, read within bounds.
#pragma once

#include <string>

#include <pugixml.hpp>

namespace evendrip {

/// Fills `document`. Throws InputError "too_large" for more than two million tags,
/// "unreadable_xml", "document_type" or "too_deep" (beyond 64); `name` is the file's in messages.
void load_task_xml(const std::string& bytes, const std::string& name, pugi::xml_document& document);

/// Line, from 1, of a byte of a text.
std::size_t line_of(const std::string& text, std::size_t byte);

}  // namespace evendrip
