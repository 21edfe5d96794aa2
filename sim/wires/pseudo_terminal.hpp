// SPDX-License-Identifier: MIT
#pragma once

/// The simulator's end of a serial line.

#include <string>

namespace benchward::sim {

/// A pseudo terminal in raw mode. The simulator keeps its own descriptor of the far end open, so that the line survives
/// clients that come and go; closing both is the adapter pulled out.
class PseudoTerminal {
 public:
  /// Throws CannotServe where the system gives none.
  PseudoTerminal();
  ~PseudoTerminal();
  PseudoTerminal(PseudoTerminal const&) = delete;
  PseudoTerminal& operator=(PseudoTerminal const&) = delete;

  int descriptor() const { return near_; }           ///< non-blocking
  int release_descriptor();                          ///< to an owner that closes it
  std::string const& path() const { return path_; }  ///< "/dev/pts/7"
  /// Undoes an exclusive opening that a killed client has left: a real port forgets it at the last close, this one has
  /// the simulator's own descriptor open.
  void forget_exclusive_opening();
  void close_far_end();

 private:
  int near_ = -1, far_ = -1;
  std::string path_;
};

}  // namespace benchward::sim
