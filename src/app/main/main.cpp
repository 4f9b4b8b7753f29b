// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"
#include "evendrip/app/commands.hpp"
#include "evendrip/report/story.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <exception>
#include <new>
#include <stop_token>
#include <string>
#include <thread>
#include <variant>
#include <vector>

#include <signal.h>

namespace {

using namespace evendrip;

/// Turns SIGINT and SIGTERM into a stop request, outside any signal handler.
class InterruptWatch {
 public:
  InterruptWatch() {
    sigemptyset(&signals_);
    sigaddset(&signals_, SIGINT);
    sigaddset(&signals_, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &signals_, nullptr);
    signal(SIGXFSZ, SIG_IGN);  // a full disk or quota is an error of writing, told as such
    thread_ = std::jthread([this](const std::stop_token& ended) { watch(ended); });
  }
  std::stop_token token() const { return stop_.get_token(); }

 private:
  void watch(const std::stop_token& ended) {
    const timespec pause{0, 50'000'000};
    while (!ended.stop_requested()) {
      if (sigtimedwait(&signals_, nullptr, &pause) > 0) stop_.request_stop();
    }
  }

  sigset_t signals_{};
  std::stop_source stop_;
  std::jthread thread_;
};

CommandResult carry_out(const CommandLine& line, const std::stop_token& stop, Console& console) {
  if (const auto* told = std::get_if<Told>(&line.command)) return {told->text, ExitCode::done};
  if (const auto* options = std::get_if<CheckOptions>(&line.command)) {
    return check(*options, stop, console);
  }
  if (const auto* options = std::get_if<RunOptions>(&line.command)) {
    return run(*options, stop, console);
  }
  if (const auto* options = std::get_if<EvaluateOptions>(&line.command)) {
    return evaluate(*options, stop, console);
  }
  if (const auto* options = std::get_if<ScreenOptions>(&line.command)) {
    return screen(*options, stop, console);
  }
  if (const auto* options = std::get_if<CropOptions>(&line.command)) {
    return crop(*options, stop, console);
  }
  return simulate(std::get<SimulateOptions>(line.command));
}

void print(const std::string& output) {
  const std::size_t written = std::fwrite(output.data(), 1, output.size(), stdout);
  if (written != output.size() || std::fflush(stdout) != 0) {
    throw FileError("stdout_failed", "standard output", "the result could not be written");
  }
}

}  // namespace

int main(int argc, char** argv) {
  Console console(Console::Loudness::normal);
  try {
    const InterruptWatch watch;
    const CommandLine line = parse_command_line(std::vector<std::string>(argv + 1, argv + argc));
    console = Console(line.loudness);
    const CommandResult result = carry_out(line, watch.token(), console);
    console.finish();
    print(result.output);
    return static_cast<int>(result.exit_code);
  } catch (const Error& error) {
    for (const Doubt& problem : summarised(error.problems(), most_of_a_kind)) {
      console.message("evendrip: " + to_text(problem));
    }
    return static_cast<int>(error.exit_code());
  } catch (const std::bad_alloc&) {
    console.message("evendrip: out of memory; use a larger [analysis] cell or fewer threads");
  } catch (const std::exception& error) {
    console.message(fmt::format("evendrip: internal fault: {}", error.what()));
  }
  return static_cast<int>(ExitCode::internal);
}
