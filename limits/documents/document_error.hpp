// SPDX-License-Identifier: MIT
#pragma once

#include <stdexcept>
#include <string>
#include <utility>

namespace benchward {

/// A document that cannot be taken as it is: unit, bench, limit set, plan, `calc` input. The one exception type for bad
/// input in the whole program; `what()` reads `unit.json: /hv/taps/2/percent: expected a number of percent, got
/// "five"`.
class DocumentError : public std::runtime_error {
 public:
  /// `id`: stable, as in the error list, e.g. "unit.tap-missing". `document`: file name or another name of the text.
  /// `path`: JSON pointer of the place, "" for the whole document. `message`: what was wrong and what to do, in words.
  DocumentError(std::string id, std::string document, std::string path, std::string message)
      : std::runtime_error(in_words(document, path, message)),
        id_(std::move(id)),
        document_(std::move(document)),
        path_(std::move(path)),
        message_(std::move(message)) {}

  std::string const& id() const { return id_; }
  std::string const& document() const { return document_; }
  std::string const& path() const { return path_; }
  std::string const& message() const { return message_; }

 private:
  static std::string in_words(std::string const& document, std::string const& path, std::string const& message) {
    std::string text = document;
    if (!path.empty()) text += text.empty() ? path : ": " + path;
    return text.empty() ? message : text + ": " + message;
  }

  std::string id_, document_, path_, message_;
};

}  // namespace benchward
