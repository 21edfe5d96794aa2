// SPDX-License-Identifier: MIT
#include <cairo-pdf.h>
#include <fmt/core.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <stdexcept>

#include "firmware_host/report/chart_scale.hpp"
#include "firmware_host/report/pdf_attachments.hpp"
#include "firmware_host/report/report_page.hpp"

namespace benchward::report {
namespace {

// All lengths in points.
constexpr double margin_side = 38.0, margin_top = 62.0, margin_bottom = 56.0;
constexpr double text_size = 8.5, small_size = 7.2, heading_size = 11.0, title_size = 16.0;
constexpr double padding = 3.5;

struct Free {
  void operator()(PangoLayout* layout) const { g_object_unref(layout); }
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
  void operator()(cairo_t* context) const { cairo_destroy(context); }
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Layout = std::unique_ptr<PangoLayout, Free>;

cairo_status_t append_bytes(void* closure, unsigned char const* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<char const*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

enum class Face { plain, strong, fixed };

/// One pass over the blocks; the first counts the pages, the second draws.
class Pages {
 public:
  Pages(Report const& report, int total)
      : report_(report),
        total_(total),
        width_(report.letter ? 612.0 : 595.276),
        height_(report.letter ? 792.0 : 841.89),
        surface_(cairo_pdf_surface_create_for_stream(append_bytes, &bytes_, width_, height_)),
        cairo_(cairo_create(surface_.get())) {
    auto const set = [this](cairo_pdf_metadata_t what, std::string const& text) {
      cairo_pdf_surface_set_metadata(surface_.get(), what, text.c_str());
    };
    set(CAIRO_PDF_METADATA_TITLE, report.title + " " + report.number);
    set(CAIRO_PDF_METADATA_SUBJECT, report.subtitle);
    set(CAIRO_PDF_METADATA_CREATOR, "Benchward");
    // The day of issue and not the clock: the same record gives the same bytes.
    set(CAIRO_PDF_METADATA_CREATE_DATE, report.issued + "T00:00:00Z");
    set(CAIRO_PDF_METADATA_MOD_DATE, report.issued + "T00:00:00Z");
  }

  void draw() {
    begin_page();
    title();
    for (std::size_t i = 0; i < report_.blocks.size(); ++i) {
      next_block_ = i + 1 < report_.blocks.size() ? &report_.blocks[i + 1] : nullptr;
      std::visit([this](auto const& block) { put(block); }, report_.blocks[i]);
    }
    room_for(20.0);
    y_ += 6.0;
    text(report_.end_word + " " + report_.number, left(), y_, inner_width(), small_size, Face::strong,
         PANGO_ALIGN_CENTER);
    end_page();
    cairo_surface_finish(surface_.get());
    if (auto const status = cairo_surface_status(surface_.get()); status != CAIRO_STATUS_SUCCESS) {
      throw std::runtime_error(std::string("the report cannot be drawn: ") + cairo_status_to_string(status));
    }
  }
  int pages() const { return page_; }
  std::string const& bytes() const { return bytes_; }

 private:
  double left() const { return margin_side; }
  double inner_width() const { return width_ - 2.0 * margin_side; }
  double bottom() const { return height_ - margin_bottom; }

  Layout layout_of(std::string const& words, double width, double size, Face face, PangoAlignment align) const {
    Layout layout(pango_cairo_create_layout(cairo_.get()));
    std::unique_ptr<PangoFontDescription, Free> const font(pango_font_description_new());
    pango_font_description_set_family(font.get(), face == Face::fixed ? "DejaVu Sans Mono" : "DejaVu Sans");
    pango_font_description_set_absolute_size(font.get(), size * PANGO_SCALE);
    if (face == Face::strong) pango_font_description_set_weight(font.get(), PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(layout.get(), font.get());
    pango_layout_set_width(layout.get(), static_cast<int>(width * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), face == Face::fixed ? PANGO_WRAP_CHAR : PANGO_WRAP_WORD_CHAR);
    pango_layout_set_alignment(layout.get(), align);
    // Names and numbers are broken where they must be, never with a hyphen that is not theirs.
    PangoAttrList* attributes = pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE));
    pango_layout_set_attributes(layout.get(), attributes);
    pango_attr_list_unref(attributes);
    pango_layout_set_text(layout.get(), words.data(), static_cast<int>(words.size()));
    return layout;
  }
  static double height_of(Layout const& layout) {
    int width = 0, height = 0;
    pango_layout_get_size(layout.get(), &width, &height);
    return static_cast<double>(height) / PANGO_SCALE;
  }
  double height_of(std::string const& words, double width, double size, Face face) const {
    return height_of(layout_of(words, width, size, face, PANGO_ALIGN_LEFT));
  }
  double text(std::string const& words, double x, double y, double width, double size, Face face,
              PangoAlignment align = PANGO_ALIGN_LEFT) {
    auto const layout = layout_of(words, width, size, face, align);
    cairo_move_to(cairo_.get(), x, y);
    pango_cairo_show_layout(cairo_.get(), layout.get());
    return height_of(layout);
  }
  void line(double x1, double y1, double x2, double y2, double thickness) {
    cairo_set_line_width(cairo_.get(), thickness);
    cairo_move_to(cairo_.get(), x1, y1);
    cairo_line_to(cairo_.get(), x2, y2);
    cairo_stroke(cairo_.get());
  }

  void begin_page() {
    ++page_;
    // Behind everything else, so that no number is hidden by it.
    if (!report_.mark.empty()) {
      cairo_save(cairo_.get());
      cairo_set_source_rgb(cairo_.get(), 0.88, 0.88, 0.88);
      cairo_translate(cairo_.get(), width_ / 2.0, height_ / 2.0);
      cairo_rotate(cairo_.get(), -std::atan2(height_, width_) * 0.93);
      auto const layout = layout_of(report_.mark, 900.0, 44.0, Face::strong, PANGO_ALIGN_CENTER);
      cairo_move_to(cairo_.get(), -450.0, -height_of(layout) / 2.0);
      pango_cairo_show_layout(cairo_.get(), layout.get());
      cairo_restore(cairo_.get());
    }
    cairo_set_source_rgb(cairo_.get(), 0.0, 0.0, 0.0);
    text(report_.title + "  " + report_.number, left(), 28.0, inner_width(), small_size, Face::plain);
    if (!report_.mark.empty()) {
      text(report_.mark, left(), 39.0, inner_width(), 10.0, Face::strong, PANGO_ALIGN_CENTER);
    }
    line(left(), 54.0, width_ - margin_side, 54.0, 0.6);
    y_ = margin_top;
  }
  void end_page() {
    double const y = height_ - 42.0;
    line(left(), y, width_ - margin_side, y, 0.6);
    auto words = report_.page_word;
    auto const replace = [&words](std::string const& what, std::string const& by) {
      if (auto const at = words.find(what); at != std::string::npos) words.replace(at, what.size(), by);
    };
    replace("%p", std::to_string(page_));
    replace("%n", std::to_string(total_));
    text(report_.subtitle, left(), y + 4.0, inner_width() * 0.72, small_size, Face::plain);
    text(words, left(), y + 4.0, inner_width(), small_size, Face::plain, PANGO_ALIGN_RIGHT);
    if (!report_.mark.empty())
      text(report_.mark, left(), y + 16.0, inner_width(), small_size, Face::strong, PANGO_ALIGN_CENTER);
    cairo_surface_show_page(surface_.get());
  }
  bool room_for(double height) {
    if (y_ + height <= bottom()) return false;
    end_page();
    begin_page();
    return true;
  }
  void title() {
    y_ += text(report_.title, left(), y_, inner_width(), title_size, Face::strong) + 2.0;
    y_ += text(report_.subtitle, left(), y_, inner_width(), heading_size, Face::plain) + 6.0;
  }

  /// What must stand under a heading on the same page.
  double first_part_of_next() const {
    if (next_block_ == nullptr) return 0.0;
    if (auto const* chart = std::get_if<Chart>(next_block_); chart != nullptr) return chart_height + 20.0;
    return 52.0;
  }

  void put(Heading const& heading) {
    room_for(26.0 + first_part_of_next());
    y_ += 8.0;
    y_ += text(heading.text, left(), y_, inner_width(), heading_size, Face::strong) + 1.0;
    line(left(), y_, width_ - margin_side, y_, 0.4);
    y_ += 4.0;
  }
  void put(Paragraph const& paragraph) {
    auto const face = paragraph.strong ? Face::strong : Face::plain;
    room_for(height_of(paragraph.text, inner_width(), text_size, face) + 3.0);
    y_ += text(paragraph.text, left(), y_, inner_width(), text_size, face) + 3.0;
  }
  void put(Facts const& facts) {
    double const name_width = inner_width() * 0.29, value_width = inner_width() * 0.70;
    for (auto const& [name, value] : facts.rows) {
      double const height = std::max(height_of(name, name_width, text_size, Face::plain),
                                     height_of(value, value_width, text_size, Face::plain));
      room_for(std::min(height, 300.0) + 2.0);
      text(name, left(), y_, name_width, text_size, Face::plain);
      text(value, left() + inner_width() * 0.30, y_, value_width, text_size, Face::plain);
      y_ += height + 2.0;
    }
    y_ += 2.0;
  }
  void put(Caution const& caution) {
    double const width = inner_width() - 12.0;
    double const height = height_of(caution.text, width, text_size, Face::strong) + 10.0;
    room_for(height + 6.0);
    cairo_set_line_width(cairo_.get(), 1.2);
    cairo_rectangle(cairo_.get(), left(), y_ + 1.0, inner_width(), height - 2.0);
    cairo_stroke(cairo_.get());
    text(caution.text, left() + 6.0, y_ + 5.0, width, text_size, Face::strong);
    y_ += height + 5.0;
  }
  void put(Fixed const& fixed) {
    room_for(height_of(fixed.text, inner_width(), small_size, Face::fixed) + 4.0);
    y_ += text(fixed.text, left(), y_, inner_width(), small_size, Face::fixed) + 4.0;
  }

  std::vector<double> widths_of(Table const& table) const {
    double sum = 0.0;
    for (auto const& column : table.columns) sum += column.share;
    std::vector<double> widths;
    for (auto const& column : table.columns) widths.push_back(inner_width() * column.share / sum);
    return widths;
  }
  double row_height(std::vector<std::string> const& row, std::vector<double> const& widths, Face face) const {
    double height = 0.0;
    for (std::size_t i = 0; i < widths.size() && i < row.size(); ++i)
      height = std::max(height, height_of(row[i], widths[i] - 2.0 * padding, small_size, face));
    return height + 2.0 * padding - 3.5;
  }
  void draw_row(std::vector<std::string> const& row, Table const& table, std::vector<double> const& widths, Face face) {
    double x = left();
    for (std::size_t i = 0; i < widths.size() && i < row.size(); ++i) {
      text(row[i], x + padding, y_ + padding - 1.75, widths[i] - 2.0 * padding, small_size, face,
           table.columns[i].right ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT);
      x += widths[i];
    }
  }
  void put(Table const& table) {
    auto const widths = widths_of(table);
    std::vector<std::string> titles;
    for (auto const& column : table.columns) titles.push_back(column.title);
    double const head = row_height(titles, widths, Face::strong);
    auto const draw_head = [&] {
      line(left(), y_, width_ - margin_side, y_, 0.8);
      draw_row(titles, table, widths, Face::strong);
      y_ += head;
      line(left(), y_, width_ - margin_side, y_, 0.8);
    };
    room_for(head + 30.0);
    draw_head();
    for (std::size_t i = 0; i < table.rows.size(); ++i) {
      bool const strong = std::find(table.strong_rows.begin(), table.strong_rows.end(), i) != table.strong_rows.end();
      auto const face = strong ? Face::strong : Face::plain;
      double const height = row_height(table.rows[i], widths, face);
      if (room_for(height + 2.0)) draw_head();
      draw_row(table.rows[i], table, widths, face);
      y_ += height;
      line(left(), y_, width_ - margin_side, y_, 0.2);
    }
    y_ += 6.0;
  }

  static constexpr double chart_height = 150.0;
  void put(Chart const& chart) {
    room_for(chart_height + 30.0);
    y_ += text(chart.title, left(), y_, inner_width(), text_size, Face::strong) + 3.0;
    double const x0 = left() + 52.0, y0 = y_ + chart_height - 26.0, w = inner_width() - 70.0, h = chart_height - 32.0;
    auto const scale = scale_of(chart);
    auto const px = [&](double x) { return x0 + w * (x - scale.x_low) / (scale.x_high - scale.x_low); };
    auto const py = [&](double y) { return y0 - h * (y - scale.y_low) / (scale.y_high - scale.y_low); };
    cairo_set_line_width(cairo_.get(), 0.6);
    cairo_rectangle(cairo_.get(), x0, y0 - h, w, h);
    cairo_stroke(cairo_.get());
    for (double const x : scale.x_ticks) {
      line(px(x), y0, px(x), y0 + 3.0, 0.5);
      text(tick_words(x), px(x) - 30.0, y0 + 4.0, 60.0, small_size - 0.7, Face::plain, PANGO_ALIGN_CENTER);
    }
    for (double const y : scale.y_ticks) {
      line(x0 - 3.0, py(y), x0, py(y), 0.5);
      text(tick_words(y), x0 - 55.0, py(y) - 5.0, 50.0, small_size - 0.7, Face::plain, PANGO_ALIGN_RIGHT);
    }
    text(chart.x_title, x0, y0 + 14.0, w, small_size, Face::plain, PANGO_ALIGN_CENTER);
    text(chart.y_title, x0 + 4.0, y0 - h + 2.0, w, small_size, Face::plain);
    if (chart.bars) {
      for (auto const& [x, y] : chart.points) {
        double const half = w * chart.bar_width / (scale.x_high - scale.x_low) / 2.0;
        cairo_set_source_rgb(cairo_.get(), 0.75, 0.75, 0.75);
        cairo_rectangle(cairo_.get(), px(x) - half, py(y), 2.0 * half, y0 - py(y));
        cairo_fill_preserve(cairo_.get());
        cairo_set_source_rgb(cairo_.get(), 0.0, 0.0, 0.0);
        cairo_stroke(cairo_.get());
      }
    } else {
      if (chart.joined) {
        bool first = true;
        for (auto const& [x, y] : chart.points) {
          if (first)
            cairo_move_to(cairo_.get(), px(x), py(y));
          else
            cairo_line_to(cairo_.get(), px(x), py(y));
          first = false;
        }
        cairo_set_line_width(cairo_.get(), 0.8);
        cairo_stroke(cairo_.get());
      }
      for (auto const& [x, y] : chart.points) {
        cairo_arc(cairo_.get(), px(x), py(y), 1.6, 0.0, 6.2831853);
        cairo_fill(cairo_.get());
      }
    }
    double const dashes[] = {5.0, 3.0};
    cairo_set_dash(cairo_.get(), dashes, 2, 0.0);
    if (chart.limit_y) line(x0, py(*chart.limit_y), x0 + w, py(*chart.limit_y), 1.0);
    if (chart.limit_x) line(px(*chart.limit_x), y0, px(*chart.limit_x), y0 - h, 1.0);
    cairo_set_dash(cairo_.get(), nullptr, 0, 0.0);
    if (!chart.limit_words.empty())
      text(chart.limit_words, x0, y0 - h + 2.0, w - 4.0, small_size, Face::plain, PANGO_ALIGN_RIGHT);
    y_ += chart_height + 6.0;
  }

  Report const& report_;
  int total_;
  double width_, height_;
  std::string bytes_;
  std::unique_ptr<cairo_surface_t, Free> surface_;
  std::unique_ptr<cairo_t, Free> cairo_;
  double y_ = 0.0;
  int page_ = 0;
  Block const* next_block_ = nullptr;
};

}  // namespace

std::string pdf_of(Report const& report) {
  Pages count(report, 0);
  count.draw();
  Pages pages(report, count.pages());
  pages.draw();
  return with_attachments(pages.bytes(), report);
}

}  // namespace benchward::report
