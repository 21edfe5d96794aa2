// SPDX-License-Identifier: MIT
#pragma once

// Runs a program as a person would: its output, its errors, its exit code.

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <stdexcept>
#include <string>
#include <vector>

namespace benchward::sim::testing {

class Program {
 public:
  explicit Program(std::vector<std::string> words) {
    int pipes[2];
    if (::pipe2(pipes, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
    process_ = ::fork();
    if (process_ == 0) {
      ::dup2(pipes[1], 1);
      ::dup2(pipes[1], 2);
      std::vector<char*> arguments;
      for (auto& word : words) arguments.push_back(word.data());
      arguments.push_back(nullptr);
      ::execvp(arguments[0], arguments.data());
      ::_exit(127);
    }
    ::close(pipes[1]);
    output_ = pipes[0];
  }
  Program(Program const&) = delete;
  Program& operator=(Program const&) = delete;
  ~Program() {
    if (process_ > 0) {
      ::kill(process_, SIGKILL);
      ::waitpid(process_, nullptr, 0);
    }
    ::close(output_);
  }

  void signal(int number) { ::kill(process_, number); }
  /// One line of output and errors together, without its end; what there is where the limit passes.
  std::string line(int limit_ms = 20000) { return until('\n', limit_ms); }
  /// Everything until the program ends.
  std::string rest(int limit_ms = 20000) { return until('\0', limit_ms); }
  /// Exit code; 128 + n after signal n; waits for the end.
  int exit_code() {
    int status = 0;
    ::waitpid(process_, &status, 0);
    process_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }

 private:
  std::string until(char end, int limit_ms) {
    std::string text;
    auto const start = std::chrono::steady_clock::now();
    for (;;) {
      auto const passed =
          std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now() - start);
      pollfd waiting{output_, POLLIN, 0};
      int const left = limit_ms - static_cast<int>(passed.count());
      char byte = 0;
      if (left <= 0 || ::poll(&waiting, 1, left) <= 0 || ::read(output_, &byte, 1) <= 0 || byte == end) return text;
      text += byte;
    }
  }

  pid_t process_ = -1;
  int output_ = -1;
};

}  // namespace benchward::sim::testing
