// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/parting_template.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/report/paper_detail.h"
#include "cavigram/report/svg_text_detail.h"

namespace cavigram {

namespace {

constexpr double kMargin_mm = 30.0;  // around the outline: rulers, names of the ends
constexpr double kSmall = 2.6;       // size of heights and of the rulers' numbers
constexpr double kRuler_mm = 3.0;    // from the outline to the rulers beside it
constexpr double kInch_mm = 25.4;

std::string side_words(LineSide side) {
    const std::string word = to_text(side);
    return side == LineSide::above || side == LineSide::below ? "from " + word : "from the " + word;
}

// One side's drawing in the making.
class Sheet {
  public:
    Sheet(const Plan& plan, std::size_t index)
        : line_(plan.display->line),
          view_(line_.views[index]),
          outline_(plan.display->line_outlines[index]),
          from_side_(view_.side != LineSide::above && view_.side != LineSide::below),
          room_(Box2()) {
        for (const auto& loop : outline_.loops) {
            for (const Vec2& p : loop) {
                box_.extend(p);
            }
        }
        if (from_side_) {
            // The table is the lowest place of the part itself, not of the outline drawn of it.
            box_.extend(Vec2(box_.min().x(), line_.table_mm));
            low_ = line_.table_mm;
        } else {
            low_ = box_.min().y();
        }
        drawing_.title = plan.input.file + ": parting line " + side_words(view_.side);
        drawing_.notes = notes(plan);
        drawing_.width = std::max(width() + 2 * kMargin_mm, kLeastDrawing_mm + 2 * kMargin_mm);
        drawing_.height = height() + 2 * kMargin_mm;
        left_ = 0.5 * (drawing_.width - width());
        room_ = LabelRoom(Box2(Vec2(1.0, 1.0), Vec2(drawing_.width - 1.0, drawing_.height - 1.0)));
    }

    Drawing drawn() {
        draw_grid();
        draw_outline();
        draw_line();
        if (from_side_) {
            draw_table();
            draw_rulers();
        }
        name_ends();
        draw_marks();
        return std::move(drawing_);
    }

  private:
    [[nodiscard]] double width() const { return box_.sizes().x(); }
    [[nodiscard]] double height() const { return box_.max().y() - low_; }
    [[nodiscard]] double bottom() const { return kMargin_mm + height(); }
    [[nodiscard]] Vec2 on_sheet(const Vec2& p) const {
        return {left_ + p.x() - box_.min().x(), kMargin_mm + box_.max().y() - p.y()};
    }
    [[nodiscard]] Vec2 on_sheet(const Vec3& p) const { return on_sheet(view_.view.on_paper(p)); }

    [[nodiscard]] std::vector<std::string> notes(const Plan& plan) const {
        std::vector<std::string> words = {
            "Print at 100 %, not fitted to the page; measure the bars. Outline true to " +
            significant(outline_.cell_mm + plan.display->deviation_mm, 2) + " mm."};
        words.push_back(
            from_side_
                ? "Stand the part with the arrow up. Numbers: height of the line above the "
                  "table, in mm. Dashed: behind the part."
                : "Numbers: height of the line in mm above the table, the part standing with "
                  "the pull up. Dashed: hidden.");
        constexpr double kTold = 0.02;  // of the line
        if (line_.unseen_mm > kTold * line_.length_mm) {
            words.push_back(significant(line_.unseen_mm, 2) + " mm of the line's " +
                            significant(line_.length_mm, 3) +
                            " are seen edge-on or within holes, on none of these sheets.");
        }
        return words;
    }

    void say(double x, double y, double size, const char* anchor, const std::string& words) {
        room_.take(text_box(x, y, size, anchor, words));
        drawing_.body += svg_text(x, y, size, anchor, words);
    }

    void stroke(const std::string& path, const char* color, double width_mm,
                const char* more = "") {
        drawing_.body +=
            fmt::format("<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:g}\"{}/>\n",
                        path, color, width_mm, more);
    }

    // Squares of 10 mm from the table and the left end, to find a place by.
    void draw_grid() {
        constexpr double kSquare_mm = 10.0;
        std::string path;
        for (double x = 0.0; x <= width() + 1e-9; x += kSquare_mm) {
            path += fmt::format("M{:.2f} {:.2f}V{:.2f}", left_ + x, kMargin_mm, bottom());
        }
        for (double y = 0.0; y <= height() + 1e-9; y += kSquare_mm) {
            path += fmt::format("M{:.2f} {:.2f}H{:.2f}", left_, bottom() - y, left_ + width());
        }
        stroke(path, "#bbb", 0.1);
    }

    void draw_outline() {
        std::string path;
        for (const auto& loop : outline_.loops) {
            for (std::size_t i = 0; i < loop.size(); ++i) {
                const Vec2 p = on_sheet(loop[i]);
                path += fmt::format("{}{:.2f} {:.2f}", i == 0 ? "M" : "L", p.x(), p.y());
                keep_clear(p, on_sheet(loop[(i + 1) % loop.size()]));
            }
            path += "z";
        }
        stroke(path, "#000", 0.35);
    }

    // No number lies on what is drawn from a to b.
    void keep_clear(const Vec2& a, const Vec2& b) {
        constexpr double kStep_mm = 1.0;
        const Vec2 half(0.3, 0.3);
        const double steps = std::max(1.0, std::ceil((b - a).norm() / kStep_mm));
        for (double k = 0.0; k < steps; ++k) {
            const Vec2 p = a + k / steps * (b - a);
            room_.take(Box2(p - half, p + half));
        }
    }

    void draw_line() {
        std::string seen;
        std::string hidden;
        for (const LineStretch& stretch : view_.stretches) {
            std::string& path = stretch.seen ? seen : hidden;
            for (std::size_t i = 0; i < stretch.points_mm.size(); ++i) {
                const Vec2 p = on_sheet(stretch.points_mm[i]);
                path += fmt::format("{}{:.2f} {:.2f}", i == 0 ? "M" : "L", p.x(), p.y());
                if (stretch.seen) {
                    keep_clear(p, p);
                }
            }
        }
        stroke(hidden, "#777", 0.3, " stroke-dasharray=\"2 1.5\"");
        stroke(seen, "#000", 0.6);
    }

    // The table, with a ruler from the part's left end.
    void draw_table() {
        const double y = bottom();
        std::string path =
            fmt::format("M{:.2f} {:.2f}H{:.2f}", left_ - 8.0, y, left_ + width() + 8.0);
        for (int k = 0; k * 10.0 <= width() + 1e-9; ++k) {
            path += fmt::format("M{:.2f} {:.2f}v{:g}", left_ + 10.0 * k, y, k % 5 == 0 ? 3.0 : 1.8);
            if (k % 5 == 0) {
                say(left_ + 10.0 * k, y + 6.0, kSmall, "middle", fmt::format("{}", 10 * k));
            }
        }
        stroke(path, "#000", 0.35);
        say(left_ + 0.5 * width(), y + 11.5, 3.0, "middle",
            "table; mm from the left end of the part");
    }

    // Upward from the table: mm at the left, inches at the right.
    void draw_rulers() {
        const double mm_x = left_ - kRuler_mm;
        std::string path = fmt::format("M{:.2f} {:.2f}V{:.2f}", mm_x, bottom(), kMargin_mm);
        for (int k = 0; k * 5.0 <= height() + 1e-9; ++k) {
            path += fmt::format("M{:.2f} {:.2f}h{:g}", mm_x, bottom() - 5.0 * k,
                                k % 2 == 0 ? -2.5 : -1.5);
            if (k % 4 == 0 && k > 0) {
                say(mm_x - 3.2, bottom() - 5.0 * k + 0.9, kSmall, "end", fmt::format("{}", 5 * k));
            }
        }
        const double inch_x = left_ + width() + kRuler_mm;
        path += fmt::format("M{:.2f} {:.2f}V{:.2f}", inch_x, bottom(), kMargin_mm);
        for (int k = 0; k * kInch_mm / 4.0 <= height() + 1e-9; ++k) {
            path += fmt::format("M{:.2f} {:.2f}h{:g}", inch_x, bottom() - k * kInch_mm / 4.0,
                                k % 4 == 0 ? 2.5 : 1.5);
            if (k % 4 == 0 && k > 0) {
                say(inch_x + 3.2, bottom() - k * kInch_mm / 4.0 + 0.9, kSmall, "start",
                    fmt::format("{} in", k / 4));
            }
        }
        stroke(path, "#000", 0.25);
    }

    void name_ends() {
        constexpr double kSize = 3.5;
        const View& view = view_.view;
        const double low = bottom() + (from_side_ ? 17.5 : 12.0);
        say(left_, low, kSize, "start", "left (" + axis_name(-view.right) + ")");
        say(left_ + width(), low, kSize, "end", "right (" + axis_name(view.right) + ")");
        const double middle = left_ + 0.5 * width();
        if (!from_side_) {
            say(middle, kMargin_mm - 8.0, kSize, "middle", "(" + axis_name(view.up) + ")");
            return;
        }
        const double tip = kMargin_mm - 16.0;
        stroke(
            fmt::format("M{0:.2f} {1:.2f}V{2:.2f}M{3:.2f} {4:.2f}L{0:.2f} {2:.2f}L{5:.2f} {4:.2f}",
                        middle, tip + 10.0, tip, middle - 1.5, tip + 3.0, middle + 1.5),
            "#000", 0.4);
        room_.take(Box2(Vec2(middle - 2.0, tip), Vec2(middle + 2.0, tip + 10.0)));
        say(middle + 4.0, tip + 5.5, kSize, "start",
            "up, the way of the pull (" + axis_name(view.up) + ")");
    }

    void draw_marks() {
        constexpr double kCross_mm = 1.2;
        std::string path;
        for (const HeightMark& mark : view_.marks) {
            const Vec2 at = on_sheet(mark.at_mm);
            path += fmt::format("M{:.2f} {:.2f}v{:g}", at.x(), at.y() - kCross_mm, 2 * kCross_mm);
            room_.take(Box2(at - Vec2(0.3, kCross_mm), at + Vec2(0.3, kCross_mm)));
        }
        for (const HeightMark& mark : view_.marks) {
            const Vec2 at = on_sheet(mark.at_mm);
            const std::string words = fmt::format("{:.1f}", mark.height_mm);
            const Vec2 put = room_.place(at, kCross_mm + 0.3, kSmall, words);
            const Vec2 near =
                put + Vec2(std::clamp(at.x() - put.x(), 0.0, text_width(words, kSmall)),
                           at.y() < put.y() ? -0.7 * kSmall : 0.0);
            if ((near - at).norm() > 2.0 * kSmall) {
                path +=
                    fmt::format("M{:.2f} {:.2f}L{:.2f} {:.2f}", at.x(), at.y(), near.x(), near.y());
            }
            drawing_.body += svg_text(put.x(), put.y(), kSmall, "start", words, "class=\"height\"");
        }
        stroke(path, "#000", 0.2);
    }

    const LineViews& line_;
    const LineView& view_;
    const Silhouette& outline_;
    bool from_side_;
    Box2 box_;
    double low_ = 0.0;
    double left_ = 0.0;
    LabelRoom room_;
    Drawing drawing_;
};

}  // namespace

std::string parting_svg(const Plan& plan, std::size_t view) {
    CAVIGRAM_ASSERT(plan.display && view < plan.display->line.views.size());
    return drawing_svg(Sheet(plan, view).drawn());
}

std::string parting_tiles_html(const Plan& plan, std::size_t view) {
    CAVIGRAM_ASSERT(plan.display && view < plan.display->line.views.size());
    return drawing_tiles_html(Sheet(plan, view).drawn());
}

std::vector<std::pair<std::string, std::string>> parting_files(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    std::vector<std::pair<std::string, std::string>> files;
    for (std::size_t i = 0; i < plan.display->line.views.size(); ++i) {
        const std::string name =
            std::string("parting_") + to_text(plan.display->line.views[i].side);
        files.emplace_back(name + ".svg", parting_svg(plan, i));
        if (std::string tiles = parting_tiles_html(plan, i); !tiles.empty()) {
            files.emplace_back(name + "_tiles.html", std::move(tiles));
        }
    }
    return files;
}

}  // namespace cavigram
