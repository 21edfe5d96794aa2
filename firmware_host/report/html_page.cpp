// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <algorithm>

#include "firmware_host/report/chart_scale.hpp"
#include "firmware_host/report/report_page.hpp"

namespace benchward::report {
namespace {

std::string escaped(std::string const& text) {
  std::string out;
  for (char const c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string base64(std::string const& bytes) {
  static constexpr char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    unsigned block = static_cast<unsigned char>(bytes[i]) << 16;
    if (i + 1 < bytes.size()) block |= static_cast<unsigned>(static_cast<unsigned char>(bytes[i + 1])) << 8;
    if (i + 2 < bytes.size()) block |= static_cast<unsigned char>(bytes[i + 2]);
    out += letters[block >> 18 & 63];
    out += letters[block >> 12 & 63];
    out += i + 1 < bytes.size() ? letters[block >> 6 & 63] : '=';
    out += i + 2 < bytes.size() ? letters[block & 63] : '=';
  }
  return out;
}

struct Writer {
  std::string& out;

  // dir="auto": a name from right to left stands as it is written.
  void operator()(Heading const& heading) const { out += "<h2 dir=\"auto\">" + escaped(heading.text) + "</h2>\n"; }
  void operator()(Paragraph const& paragraph) const {
    out += paragraph.strong ? "<p dir=\"auto\"><strong>" + escaped(paragraph.text) + "</strong></p>\n"
                            : "<p dir=\"auto\">" + escaped(paragraph.text) + "</p>\n";
  }
  void operator()(Facts const& facts) const {
    out += "<table class=\"facts\">\n";
    for (auto const& [name, value] : facts.rows)
      out += "<tr><th scope=\"row\">" + escaped(name) + "</th><td dir=\"auto\">" + escaped(value) + "</td></tr>\n";
    out += "</table>\n";
  }
  void operator()(Table const& table) const {
    out += "<table>\n<thead><tr>";
    for (auto const& column : table.columns)
      out += fmt::format("<th scope=\"col\"{}>{}</th>", column.right ? " class=\"n\"" : "", escaped(column.title));
    out += "</tr></thead>\n<tbody>\n";
    for (std::size_t i = 0; i < table.rows.size(); ++i) {
      bool const strong = std::find(table.strong_rows.begin(), table.strong_rows.end(), i) != table.strong_rows.end();
      out += strong ? "<tr class=\"strong\">" : "<tr>";
      for (std::size_t c = 0; c < table.rows[i].size() && c < table.columns.size(); ++c) {
        out += fmt::format("<td dir=\"auto\"{}>{}</td>", table.columns[c].right ? " class=\"n\"" : "",
                           escaped(table.rows[i][c]));
      }
      out += "</tr>\n";
    }
    out += "</tbody></table>\n";
  }
  void operator()(Caution const& caution) const {
    out += "<p class=\"caution\" dir=\"auto\">" + escaped(caution.text) + "</p>\n";
  }
  void operator()(Fixed const& fixed) const { out += "<p class=\"fixed\">" + escaped(fixed.text) + "</p>\n"; }
  void operator()(Chart const& chart) const {
    constexpr double width = 680.0, height = 210.0, x0 = 70.0, y0 = 170.0, w = 590.0, h = 155.0;
    auto const scale = scale_of(chart);
    auto const px = [&](double x) { return x0 + w * (x - scale.x_low) / (scale.x_high - scale.x_low); };
    auto const py = [&](double y) { return y0 - h * (y - scale.y_low) / (scale.y_high - scale.y_low); };
    out += "<h3>" + escaped(chart.title) + "</h3>\n";
    out += fmt::format("<svg viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\">\n", width, height,
                       escaped(chart.title));
    out += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>\n", x0, y0 - h, w, h);
    auto const words = [this](double x, double y, char const* anchor, std::string const& text) {
      out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", x, y, anchor, escaped(text));
    };
    for (double const x : scale.x_ticks) words(px(x), y0 + 14.0, "middle", tick_words(x));
    for (double const y : scale.y_ticks) words(x0 - 5.0, py(y) + 4.0, "end", tick_words(y));
    words(x0 + w / 2.0, y0 + 30.0, "middle", chart.x_title);
    words(x0 + 5.0, y0 - h + 12.0, "start", chart.y_title);
    std::string path;
    for (auto const& [x, y] : chart.points) {
      if (chart.bars) {
        double const half = w * chart.bar_width / (scale.x_high - scale.x_low) / 2.0;
        out += fmt::format("<rect class=\"bar\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n",
                           px(x) - half, py(y), 2.0 * half, y0 - py(y));
      } else {
        path += fmt::format("{}{:.1f},{:.1f} ", path.empty() ? "M" : "L", px(x), py(y));
        out += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"2.5\"/>\n", px(x), py(y));
      }
    }
    if (chart.joined && !chart.bars) out += "<path d=\"" + path + "\"/>\n";
    auto const dashed = [this](double x1, double y1, double x2, double y2) {
      out += fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/>\n", x1, y1, x2, y2);
    };
    if (chart.limit_y) dashed(x0, py(*chart.limit_y), x0 + w, py(*chart.limit_y));
    if (chart.limit_x) dashed(px(*chart.limit_x), y0, px(*chart.limit_x), y0 - h);
    if (!chart.limit_words.empty()) words(x0 + w - 5.0, y0 - h + 12.0, "end", chart.limit_words);
    out += "</svg>\n";
  }
};

constexpr char const* style =
    "body{font:14px/1.4 'DejaVu Sans',sans-serif;color:#000;background:#fff;max-width:60em;margin:1em auto;padding:0 "
    "1em}"
    "table{border-collapse:collapse;width:100%;margin:.5em 0}th,td{text-align:left;vertical-align:top;padding:.2em "
    ".5em;"
    "border-bottom:1px solid #888}.facts th{width:30%;font-weight:normal}.n{text-align:right}.strong "
    "td{font-weight:bold}"
    ".caution{border:2px solid #000;padding:.5em;font-weight:bold}.fixed{font-family:'DejaVu Sans Mono',monospace;"
    "overflow-wrap:anywhere;font-size:12px}.mark{border:4px solid "
    "#000;text-align:center;font-weight:bold;font-size:1.4em;"
    "padding:.3em;position:sticky;top:0;background:#fff}svg{width:100%;max-width:680px}svg text{font-size:11px}svg "
    "rect,"
    "svg path{fill:none;stroke:#000}svg rect.bar{fill:#bbb}svg line{stroke:#000;stroke-dasharray:6 4}td{overflow-wrap:"
    "anywhere}@media print{.mark{position:fixed;top:0;left:0;right:0}body{padding-top:3em}}";

}  // namespace

std::string html_of(Report const& report) {
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"" + escaped(report.language) + "\">\n<head><meta charset=\"utf-8\">\n";
  // Nothing is loaded and nothing runs, whatever stands in a name.
  out += "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n";
  out += "<title>" + escaped(report.title + " " + report.number) + "</title>\n<style>" + style +
         "</style></head>\n<body>\n";
  if (!report.mark.empty()) out += "<p class=\"mark\">" + escaped(report.mark) + "</p>\n";
  out += "<h1>" + escaped(report.title) + "</h1>\n<p dir=\"auto\">" + escaped(report.subtitle) + "</p>\n";
  for (auto const& block : report.blocks) std::visit(Writer{out}, block);
  for (auto const& attachment : report.attachments) {
    out += fmt::format("<p><a download=\"{}\" href=\"data:{};base64,{}\">{}</a>: {}</p>\n", escaped(attachment.name),
                       escaped(attachment.type), base64(attachment.bytes), escaped(attachment.name),
                       escaped(attachment.description));
  }
  out += "<p><strong>" + escaped(report.end_word + " " + report.number) + "</strong></p>\n";
  if (!report.mark.empty()) out += "<p class=\"mark\">" + escaped(report.mark) + "</p>\n";
  return out + "</body>\n</html>\n";
}

}  // namespace benchward::report
