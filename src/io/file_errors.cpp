// SPDX-License-Identifier: Apache-2.0
#include "file_errors.hpp"

namespace evendrip {
namespace {

std::string replaced(std::string text, const std::string& from, std::string_view to) {
  if (from.empty()) return text;
  for (std::size_t at = text.find(from); at != std::string::npos;
       at = text.find(from, at + to.size())) {
    text.replace(at, from.size(), to);
  }
  return text;
}

}  // namespace

std::string as_user_knows(std::string message, const std::filesystem::path& path,
                          std::string_view as_written) {
  const std::string_view name = as_written.substr(0, as_written.rfind('|'));
  const std::string whole = path.string();
  message = replaced(std::move(message), whole, name);
  // Files beside it: folder of the whole path to folder of the written one, "" for the top.
  const std::filesystem::path written_folder = std::filesystem::path(name).parent_path();
  const std::string beside = written_folder.empty() ? "" : written_folder.string() + "/";
  if (path.has_parent_path()) {
    message = replaced(std::move(message), path.parent_path().string() + "/", beside);
  }
  if (whole.size() > name.size() && whole.ends_with(name)) {
    message = replaced(std::move(message), whole.substr(0, whole.size() - name.size()), "");
  }
  return message;
}

FileError not_written(const std::filesystem::path& file, const std::string& cause) {
  const std::string name = file.filename().string();
  return {"not_written", name, "the file cannot be written: " + as_user_knows(cause, file, name),
          "Check the free space and whether you may write there"};
}

std::string xml_escaped(std::string_view text) {
  std::string escaped;
  escaped.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        escaped += "&amp;";
        break;
      case '<':
        escaped += "&lt;";
        break;
      case '>':
        escaped += "&gt;";
        break;
      case '"':
        escaped += "&quot;";
        break;
      default:
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') escaped += c;
    }
  }
  return escaped;
}

}  // namespace evendrip
