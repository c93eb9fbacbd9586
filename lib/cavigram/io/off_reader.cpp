// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/off_reader.h"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <limits>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/told.h"
#include "cavigram/io/polygon_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

class OffText {
  public:
    OffText(std::string_view text, std::string_view name, bool partial)
        : text_(text_start(text)), name_(name), partial_(partial) {}

    Soup parse() {
        soup_.format = "off";
        take_header();
        take_vertices();
        take_faces();
        soup_.triangles_in_file = soup_.mesh.triangles.size();
        return std::move(soup_);
    }

  private:
    // The next line that holds anything, without its comment; false at the end.
    bool next_line() {
        while (at_ < text_.size()) {
            const std::size_t end = std::min(text_.find_first_of("\n\r", at_), text_.size());
            line_ = text_.substr(at_, end - at_);
            at_ = end + 1;
            ++line_number_;
            if (text_.substr(end, 2) == "\r\n") {
                ++at_;
            }
            line_ = line_.substr(0, line_.find('#'));
            skip_blanks();
            if (!line_.empty()) {
                return true;
            }
        }
        return false;
    }
    void skip_blanks() {
        line_.remove_prefix(static_cast<std::size_t>(
            std::find_if_not(line_.begin(), line_.end(), is_blank) - line_.begin()));
    }
    // The next word of the line; empty at its end.
    std::string_view next_word() {
        skip_blanks();
        const auto size = static_cast<std::size_t>(
            std::find_if(line_.begin(), line_.end(), is_blank) - line_.begin());
        const std::string_view word = line_.substr(0, size);
        line_.remove_prefix(size);
        return word;
    }
    [[noreturn]] void refuse_line(const char* what) const {
        refuse(name_, fmt::format("line {} {}; export the part again", line_number_, what));
    }
    std::uint64_t next_count(const char* what) {
        const std::string_view word = next_word();
        std::uint64_t count = 0;
        const auto [stop, error] = std::from_chars(word.data(), word.data() + word.size(), count);
        if (error != std::errc() || stop != word.data() + word.size()) {
            refuse_line(what);
        }
        return count;
    }

    void take_header() {
        const char* const expected = "should give the numbers of vertices and faces";
        if (!next_line()) {
            refuse(name_, "it holds no triangles; export the part as a surface mesh");
        }
        const std::string_view whole = line_;
        if (!is_off_word(next_word())) {
            line_ = whole;  // The word may be missing; then the counts stand first.
        } else if (skip_blanks(); line_.starts_with("BINARY")) {
            refuse(name_,
                   "it is OFF of the binary kind, which this program does not know; export the "
                   "part as STL, PLY or 3MF");
        } else if (line_.empty() && !next_line()) {
            refuse_line(expected);
        }
        vertices_ = next_count(expected);
        faces_ = next_count(expected);
        // A vertex takes six bytes at least (`0 0 0` and its line's end), so a count beyond that is
        // no use.
        if (vertices_ > text_.size() / 6 + 1 ||
            vertices_ > std::numeric_limits<std::int32_t>::max()) {
            refuse(name_,
                   fmt::format("it says that it holds {} vertices but is too short for that, "
                               "or too long for this program; "
                               "export the part again",
                               static_cast<unsigned long long>(vertices_)));
        }
    }

    void take_vertices() {
        soup_.mesh.vertices.resize(vertices_);
        for (Vec3& v : soup_.mesh.vertices) {
            if (!next_line()) {
                refuse(name_,
                       fmt::format("it ends before its {} vertices do; copy or export it again",
                                   static_cast<unsigned long long>(vertices_)));
            }
            for (int k = 0; k < 3; ++k) {
                if (!parse_number(next_word(), v[k])) {
                    refuse_line("is not a vertex of three numbers");
                }
            }
        }
    }

    void take_faces() {
        std::vector<std::int32_t> corners;
        for (std::uint64_t i = 0; i < faces_; ++i) {
            if (!next_line()) {
                if (!partial_) {
                    refuse(name_, fmt::format("it says that it holds {} faces but ends after {}; "
                                              "copy or export it again, or take what is there with "
                                              "{}",
                                              faces_, i, setting("partial")));
                }
                soup_.findings.push_back(
                    {Severity::warning,
                     "file_cut_short",
                     fmt::format("The file says that it holds {} faces but ends "
                                 "after {}; as asked, what is there was taken.",
                                 static_cast<unsigned long long>(faces_),
                                 static_cast<unsigned long long>(i)),
                     {}});
                return;
            }
            take_face(corners);
        }
    }

    void take_face(std::vector<std::int32_t>& corners) {
        const std::uint64_t count = next_count("does not begin with a number of corners");
        if (count < 3) {
            return;  // A point or a line.
        }
        corners.clear();
        for (std::uint64_t k = 0; k < count; ++k) {
            const std::uint64_t index = next_count("is not a face that names its corners");
            if (index >= vertices_) {
                refuse(name_, fmt::format("line {} names vertex {}, but there are only {}; export "
                                          "the part again",
                                          line_number_, static_cast<unsigned long long>(index),
                                          static_cast<unsigned long long>(vertices_)));
            }
            corners.push_back(static_cast<std::int32_t>(index));
        }
        cut_polygon(corners, soup_.mesh.vertices, soup_.mesh.triangles);
        if (soup_.mesh.triangles.size() >
            static_cast<std::size_t>(std::numeric_limits<std::int32_t>::max())) {
            refuse(name_,
                   "it holds more triangles than this program can number; make the mesh coarser");
        }
    }

    std::string_view text_;
    std::string_view name_;
    bool partial_;
    std::size_t at_ = 0;
    std::size_t line_number_ = 0;
    std::string_view line_;
    std::uint64_t vertices_ = 0;
    std::uint64_t faces_ = 0;
    Soup soup_;
};

}  // namespace

bool is_off_word(std::string_view word) {
    for (const std::string_view prefix : {"ST", "C", "N"}) {
        if (word.starts_with(prefix)) {
            word.remove_prefix(prefix.size());
        }
    }
    return word == "OFF";
}

Soup parse_off(std::string_view bytes, std::string_view name, bool partial) {
    Soup soup = OffText(bytes, name, partial).parse();
    drop_bad_triangles(soup);
    finish_soup(soup, name, false);
    return soup;
}

}  // namespace cavigram
