// SPDX-License-Identifier: MIT
#pragma once

/// What a report says, before it is drawn: blocks in reading order. Paper and page are two renderings of the same
/// blocks.

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace benchward::report {

struct Heading {
  std::string text;
};
struct Paragraph {
  std::string text;
  bool strong = false;
};
/// Names with what they are, in two columns.
struct Facts {
  std::vector<std::pair<std::string, std::string>> rows;
};
struct Column {
  std::string title;
  double share = 1.0;  ///< of the width
  bool right = false;  ///< numbers
};
struct Table {
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;
  std::vector<std::size_t> strong_rows;  ///< failures: told apart without colour
};
/// Points over x, with a limit line where there is one. For black-and-white print: line and marks only.
struct Chart {
  std::string title, x_title, y_title;
  std::vector<std::pair<double, double>> points;
  bool joined = true;  ///< a line through the points
  bool bars = false;   ///< a histogram: x = middle of a bar
  double bar_width = 0.0;
  std::optional<double> limit_x, limit_y;
  std::string limit_words;
};
/// What hurts people or misleads readers; in a frame.
struct Caution {
  std::string text;
};
/// Text in a fixed-width face, broken anywhere: hashes, signed lines.
struct Fixed {
  std::string text;
};
using Block = std::variant<Heading, Paragraph, Facts, Table, Chart, Caution, Fixed>;

struct Attachment {
  std::string name, type, description, bytes;
};

struct Report {
  std::string number;  ///< unique: on every page
  std::string title, subtitle;
  std::string language = "en";  ///< of the document, for readers' tools
  std::string mark;             ///< on every page in large letters; empty: none
  std::string page_word = "Page %p of %n";
  std::string end_word = "End of report";
  std::string issued;  ///< ISO day
  bool letter = false;
  std::vector<Block> blocks;
  std::vector<Attachment> attachments;
};

/// A PDF (fonts embedded, attachments inside, the same bytes for the same report) or throws std::runtime_error.
std::string pdf_of(Report const& report);
/// One HTML page that loads nothing from anywhere.
std::string html_of(Report const& report);

}  // namespace benchward::report
