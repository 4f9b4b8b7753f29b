// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/task_data.hpp"

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "task_data_files.hpp"
#include "task_data_xml.hpp"
#include "time_log.hpp"

namespace evendrip {
namespace {

constexpr std::size_t mebibyte = std::size_t{1} << 20U;
constexpr std::size_t most_xml_bytes = 32 * mebibyte;
constexpr std::size_t most_log_bytes = 256 * mebibyte;
constexpr std::size_t most_values = 60'000'000;
constexpr std::size_t most_xml_bytes_held = 64 * mebibyte;
constexpr std::size_t most_external_files = 100;

/// A name as the standard makes them, "TLG00001": letters, digits and '_' alone.
bool is_plain_name(std::string_view name) {
  return !name.empty() && name.size() <= 32 &&
         std::all_of(name.begin(), name.end(),
                     [](unsigned char c) { return std::isalnum(c) != 0 || c == '_'; });
}

/// TASKDATA.XML and the external files that it names.
using Documents = std::vector<std::unique_ptr<pugi::xml_document>>;

/// What the file says of a device element.
struct Element {
  std::string device;
  int type = 0;
};

class TaskDataReader {
 public:
  TaskDataReader(const FileRef& file, const TaskDataFiles& files, const std::vector<int>& ddis)
      : files_(files), ddis_(ddis) {
    data_.file = file.as_written;
  }

  TaskData read() {
    load_documents();
    for (const auto& document : documents_) {
      for (const pugi::xml_node& device : document->document_element().children("DVC")) {
        take_device(device);
      }
    }
    for (const auto& document : documents_) {
      for (const pugi::xml_node& task : document->document_element().children("TSK")) {
        take_task(task);
      }
    }
    return std::move(data_);
  }

 private:
  void doubt(const std::string& name, std::string code, std::string text, std::string found,
             std::string expected = "") {
    data_.doubts.push_back({std::move(code),
                            Severity::doubt,
                            {files_.for_messages(name), "", 0, ""},
                            std::move(text),
                            std::move(found),
                            std::move(expected),
                            ""});
  }

  bool load(const std::string& name) {
    const std::optional<std::string> bytes = files_.read(name, most_xml_bytes);
    if (!bytes) return false;
    xml_bytes_held_ += bytes->size();
    if (xml_bytes_held_ > most_xml_bytes_held) {
      throw InputError(Doubt{"too_large",
                             Severity::problem,
                             {files_.for_messages(name), "", 0, ""},
                             "the external files are too large together",
                             "",
                             fmt::format("at most {} MiB", most_xml_bytes_held / mebibyte),
                             "Export fewer tasks at once"});
    }
    auto document = std::make_unique<pugi::xml_document>();
    load_task_xml(*bytes, files_.for_messages(name), *document);
    documents_.push_back(std::move(document));
    return true;
  }

  void load_documents() {
    load("TASKDATA.XML");
    const pugi::xml_node root = documents_.front()->document_element();
    if (std::string_view(root.name()) != "ISO11783_TaskData") {
      throw InputError(Doubt{"not_task_data",
                             Severity::problem,
                             {files_.for_messages("TASKDATA.XML"), "", 0, ""},
                             "the XML is no task data",
                             root.name(),
                             "a root element ISO11783_TaskData",
                             "Export the task data again"});
    }
    std::size_t external = 0;
    for (const pugi::xml_node& reference : root.children("XFR")) {
      const std::string name = reference.attribute("A").value();
      if (!named_plainly(name)) continue;
      if (++external > most_external_files) {
        doubt("TASKDATA.XML", "external_files_left_out", "too many external files are named", "",
              fmt::format("at most {}", most_external_files));
        return;
      }
      if (!load(name + ".XML")) {
        doubt("TASKDATA.XML", "external_file_missing", "an external file is named and not there",
              name);
      }
    }
  }

  bool named_plainly(const std::string& name) {
    if (is_plain_name(name)) return true;
    doubt("TASKDATA.XML", "file_name_refused",
          "a file is named that the standard does not allow; it is left out", name.substr(0, 40),
          "letters and digits, for example TLG00001");
    return false;
  }

  /// Remembers whose element each is, and what its process data are called.
  void take_device(const pugi::xml_node& device) {
    std::map<std::string, pugi::xml_node> process_data;  // by object
    for (const pugi::xml_node& data : device.children("DPD")) {
      process_data.emplace(data.attribute("A").value(), data);
    }
    for (const pugi::xml_node& element : device.children("DET")) {
      const std::string id = element.attribute("A").value();
      device_of_[id] = {device.attribute("B").value(), element.attribute("C").as_int()};
      for (const pugi::xml_node& object : element.children("DOR")) {
        const auto found = process_data.find(object.attribute("A").value());
        if (found == process_data.end()) continue;
        const int ddi =
            static_cast<int>(std::strtol(found->second.attribute("B").value(), nullptr, 16));
        name_of_[{id, ddi}] = found->second.attribute("E").value();
      }
    }
  }

  void take_task(const pugi::xml_node& task) {
    std::string title = task.attribute("B").value();
    if (title.empty()) title = task.attribute("A").value();
    for (const pugi::xml_node& log : task.children("TLG")) {
      const std::string name = log.attribute("A").value();
      if (!named_plainly(name)) continue;
      if (!read_.insert(name).second) {
        doubt("TASKDATA.XML", "log_named_twice", "a time log is named twice; it is read once",
              name);
        continue;
      }
      take_log(name, title, log.attribute("B").as_ullong());
    }
  }

  /// `stated_bytes`: length of the log as TASKDATA.XML has it (B of the TLG), 0 if it does not.
  void take_log(const std::string& name, const std::string& title, std::size_t stated_bytes) {
    const std::optional<std::string> header_bytes = files_.read(name + ".XML", most_xml_bytes);
    const std::optional<std::string> bytes = files_.read(name + ".BIN", most_log_bytes);
    if (!header_bytes || !bytes) {
      doubt(
          "TASKDATA.XML", "log_missing",
          fmt::format("a time log is named, its {} is not there", header_bytes ? "data" : "header"),
          name);
      return;
    }
    const std::string header_name = files_.for_messages(name + ".XML");
    if (bytes->size() < stated_bytes) {
      doubt(name + ".BIN", "log_shorter_than_stated",
            "the time log is shorter than TASKDATA.XML says: its end is missing",
            fmt::format("{} bytes", bytes->size()), fmt::format("{} bytes", stated_bytes));
    }
    pugi::xml_document document;
    load_task_xml(*header_bytes, header_name, document);
    LogHeader header = log_header(document, header_name);
    TimeLog log = decode_time_log(*bytes, header, wanted(header), most_values - values_,
                                  files_.for_messages(name + ".BIN"), data_.doubts);
    values_ += log.records() * (log.quantities.size() + 4);
    log.name = name;
    log.task = title;
    for (LoggedQuantity& quantity : log.quantities) {
      if (const auto found = device_of_.find(quantity.device_element); found != device_of_.end()) {
        quantity.device = found->second.device;
        quantity.element_type = found->second.type;
      }
      const auto found = name_of_.find({quantity.device_element, quantity.ddi});
      if (found != name_of_.end()) quantity.name = found->second;
    }
    data_.logs.push_back(std::move(log));
  }

  std::vector<std::size_t> wanted(const LogHeader& header) const {
    std::vector<std::size_t> kept;
    for (std::size_t i = 0; i < header.quantities.size(); ++i) {
      if (ddis_.empty() ||
          std::find(ddis_.begin(), ddis_.end(), header.quantities[i].ddi) != ddis_.end()) {
        kept.push_back(i);
      }
    }
    return kept;
  }

  const TaskDataFiles& files_;
  const std::vector<int>& ddis_;
  TaskData data_;
  Documents documents_;
  std::map<std::string, Element> device_of_;                    ///< by element
  std::map<std::pair<std::string, int>, std::string> name_of_;  ///< by element and identifier
  std::set<std::string> read_;
  std::size_t values_ = 0;  ///< as decode_time_log counts them
  std::size_t xml_bytes_held_ = 0;
};

}  // namespace

bool is_task_data(const FileRef& file) {
  return TaskDataFiles::open(file).has_value();
}

TaskData read_task_data(const FileRef& file, const std::vector<int>& ddis) {
  const std::optional<TaskDataFiles> files = TaskDataFiles::open(file);
  if (!files) {
    throw InputError(Doubt{"no_task_data",
                           Severity::problem,
                           {file.as_written, "", 0, ""},
                           "there is no TASKDATA.XML",
                           "",
                           "a folder or zip of ISO 11783-10 task data",
                           "Name the folder in which TASKDATA.XML stands"});
  }
  return TaskDataReader(file, *files, ddis).read();
}

}  // namespace evendrip
