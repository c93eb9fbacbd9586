// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

std::string plural(std::size_t count, const char* one, const char* many) {
    return thousands(count) + " " + (count == 1 ? one : many);
}

namespace {

constexpr std::size_t kLabel = 13;
constexpr std::size_t kFewestColumns = 40;
constexpr std::size_t kHanging = 2;  // of a long line's other lines

// `text` behind `left`, its other lines behind `indent` spaces.
void lay_out(std::string& page, std::string left, std::size_t indent, std::string_view text,
             std::size_t columns) {
    while (true) {
        const std::size_t room = columns - std::min(left.size(), columns - 1);
        std::size_t cut = text.size();
        if (cut > room) {
            cut = text.rfind(' ', room);
            cut = cut == std::string_view::npos ? std::min(text.find(' '), text.size()) : cut;
        }
        page += left;
        page += text.substr(0, cut);
        page += '\n';
        if (cut >= text.size()) {
            return;
        }
        text.remove_prefix(cut + 1);
        left.assign(indent, ' ');
    }
}

using Cells = std::vector<std::vector<std::string>>;

std::vector<std::size_t> widths_of(const Cells& cells) {
    std::vector<std::size_t> widths;
    for (const std::vector<std::string>& row : cells) {
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t i = 0; i < row.size(); ++i) {
            widths[i] = std::max(widths[i], row[i].size());
        }
    }
    return widths;
}

std::string padded(std::string text, std::size_t width) {
    text.resize(std::max(width, text.size()), ' ');
    return text;
}

// A table too wide for the page: each row in a sentence, its cells behind their column's name.
void lay_out_one_by_one(std::string& page, const std::vector<PageRow>& rows, const Cells& cells,
                        std::size_t columns) {
    for (std::size_t r = 1; r < rows.size(); ++r) {
        std::string words;
        for (std::size_t i = 0; i < cells[r].size(); ++i) {
            const std::string& name = cells.front()[i];
            words += (i == 0                   ? ""
                      : name.empty() || i == 1 ? " "
                                               : "; ") +
                     (i < 2 || name.empty() ? "" : name + " ") + cells[r][i];
        }
        lay_out(page, padded(rows[r].label, std::max(kLabel, rows[r].label.size() + 1)), kLabel,
                words, columns);
    }
}

// The cells of a table's rows one below the other. \pre the first row names the columns
void lay_out_table(std::string& page, const std::vector<PageRow>& rows, const TextStyle& style) {
    constexpr std::size_t kApart = 2;
    Cells cells;
    for (const PageRow& row : rows) {
        cells.emplace_back();
        for (const std::string& cell : row.cells) {
            cells.back().push_back(rendered(cell, style.first));
        }
    }
    const std::vector<std::size_t> widths = widths_of(cells);
    std::size_t whole = kLabel;
    for (const std::size_t width : widths) {
        whole += width + kApart;
    }
    if (whole > style.columns + kApart) {
        lay_out_one_by_one(page, rows, cells, style.columns);
        return;
    }
    for (std::size_t r = 0; r < rows.size(); ++r) {
        std::string line = padded(rows[r].label, std::max(kLabel, rows[r].label.size() + 1));
        for (std::size_t i = 0; i < cells[r].size(); ++i) {
            line += padded(cells[r][i], widths[i] + kApart);
        }
        line.erase(line.find_last_not_of(' ') + 1);
        page += line + '\n';
    }
}

// The rows that are shown; a label whose row is left out goes to the next one below it.
std::vector<PageRow> shown_rows(const std::vector<PageRow>& rows, bool detail) {
    const RowWhen left_out = detail ? RowWhen::brief : RowWhen::detail;
    std::vector<PageRow> shown;
    std::string label;
    for (const PageRow& row : rows) {
        label = row.is_line ? "" : row.label.empty() ? label : row.label;
        const bool blank = row.is_line && row.text.empty();
        const bool blank_before =
            shown.empty() || (shown.back().is_line && shown.back().text.empty());
        if (row.when == left_out || (blank && blank_before)) {
            continue;
        }
        shown.push_back(row);
        shown.back().label = std::exchange(label, "");
    }
    return shown;
}

}  // namespace

std::string Page::text(const TextStyle& style) const {
    const std::size_t columns = std::max(style.columns, kFewestColumns);
    const std::vector<PageRow> shown = shown_rows(rows_, style.detail);
    std::string page;
    for (std::size_t i = 0; i < shown.size(); ++i) {
        std::vector<PageRow> table;
        for (; i < shown.size() && !shown[i].cells.empty(); ++i) {
            table.push_back(shown[i]);
        }
        if (!table.empty()) {
            lay_out_table(page, table, style);
        }
        if (i == shown.size()) {
            break;
        }
        const std::string words = rendered(shown[i].text, style.first);
        if (shown[i].is_line && words.find('\n') != std::string::npos) {
            page += words + "\n";
        } else if (shown[i].is_line) {
            lay_out(page, "", kHanging, words, columns);
        } else {
            std::string left = shown[i].label;
            left.resize(std::max(kLabel, left.size() + 1), ' ');
            lay_out(page, std::move(left), kLabel, words, columns);
        }
    }
    return page;
}

std::string thousands(std::size_t number) {
    std::string digits = std::to_string(number);
    for (std::size_t at = digits.size(); at > 3;) {
        at -= 3;
        digits.insert(at, ",");
    }
    return digits;
}

std::string letters(std::size_t i) {
    constexpr std::size_t kLetters = 26;
    const std::string last(1, static_cast<char>('a' + i % kLetters));
    return i < kLetters ? last : letters(i / kLetters - 1) + last;
}

std::string length_text(double mm) {
    return told(mm, Kind::length);
}

std::string volume_text(double mm3) {
    return told(mm3, Kind::volume, 4);
}

std::string area_text(double mm2) {
    return told(mm2, Kind::area);
}

std::string density_text(double kg_m3) {
    return told(kg_m3, Kind::density);
}

std::string mass_text(double g) {
    return told(g, Kind::mass);
}

std::string scale_grams(double g, double step_g) {
    const int places = std::max(0, static_cast<int>(std::ceil(-std::log10(step_g) - 1e-9)));
    return fmt::format("{:.{}f}", g, places);
}

std::string place_text(double x_mm, double y_mm, double z_mm) {
    return told_place(x_mm, y_mm, z_mm);
}

std::string up_text(double x, double y, double z) {
    const std::array<double, 3> up = {x, y, z};
    std::array<std::size_t, 3> order = {0, 1, 2};
    std::stable_sort(order.begin(), order.end(), [&](std::size_t p, std::size_t q) {
        return std::abs(up[p]) > std::abs(up[q]);
    });
    const auto axis = [&](std::size_t k) {
        return std::string(up[k] < 0.0 ? "-" : "+") + "xyz"[k];
    };
    const double length = std::hypot(x, y, z);
    const double lean =
        std::acos(std::min(1.0, std::abs(up[order[0]]) / length)) * 180.0 / std::numbers::pi;
    if (lean < 0.5) {
        return axis(order[0]);
    }
    // The third axis is named too where it has a real part in the lean.
    const bool both = std::abs(up[order[2]]) > 0.4 * std::abs(up[order[1]]);
    return axis(order[0]) + ", leaned " + significant(lean, 2) + " degrees toward " +
           axis(order[1]) + (both ? " and " + axis(order[2]) : "");
}

}  // namespace cavigram
