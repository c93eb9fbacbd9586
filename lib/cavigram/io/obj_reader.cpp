// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/obj_reader.h"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/large_array.h"
#include "cavigram/io/polygon_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostIndices = std::numeric_limits<std::int32_t>::max();

class ObjText {
  public:
    ObjText(std::string_view text, std::string_view name) : text_(text), name_(name) {}

    Soup parse() {
        soup_.format = "obj";
        while (at_ < text_.size()) {
            take_line();
            skip_line();
        }
        check_highest();
        cut_waiting();
        if (soup_.mesh.triangles.empty() && free_form_) {
            refuse(name_,
                   "it holds free-form curves or surfaces but no triangles; export the part as a "
                   "mesh");
        }
        soup_.triangles_in_file = soup_.mesh.triangles.size();
        drop_bad_triangles(soup_);
        finish_soup(soup_, name_, most_digits_ <= std::numeric_limits<float>::max_digits10);
        return std::move(soup_);
    }

  private:
    static bool ends_line(char c) { return c == '\n' || c == '\r'; }

    // The next word of the line; empty at its end. A backslash carries the line on.
    std::string_view next_word() {
        while (at_ < text_.size() && !ends_line(text_[at_])) {
            if (text_[at_] == '\\' && at_ + 1 < text_.size() && ends_line(text_[at_ + 1])) {
                at_ += text_.substr(at_ + 1, 2) == "\r\n" ? 3 : 2;
            } else if (is_blank(text_[at_])) {
                ++at_;
            } else {
                break;
            }
        }
        const std::size_t begin = at_;
        while (at_ < text_.size() && !is_blank(text_[at_]) && text_[at_] != '\\') {
            ++at_;
        }
        if (at_ == begin && at_ < text_.size() && text_[at_] == '\\') {
            ++at_;  // A backslash within a line is a word of its own.
        }
        return text_.substr(begin, at_ - begin);
    }
    void skip_line() {
        at_ = std::min(text_.find_first_of("\n\r", at_), text_.size());
        at_ += at_ < text_.size() ? 1 : 0;
    }
    [[nodiscard]] std::size_t line_number(std::size_t at) const {
        return 1 + static_cast<std::size_t>(std::count(
                       text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
    }
    [[noreturn]] void refuse_line(const char* what) const {
        refuse(name_,
               fmt::format("line {} {}; export the part again", line_number(line_at_), what));
    }

    void take_line() {
        line_at_ = at_;
        const std::string_view word = next_word();
        if (word == "v") {
            take_vertex();
        } else if (word == "f" ||
                   word == "fo") {  // `fo` is how the format's first version wrote it.
            take_face();
        } else if (word == "curv" || word == "surf") {
            free_form_ = true;
        }
    }

    void take_vertex() {
        Vec3 v;
        for (int k = 0; k < 3; ++k) {
            const std::string_view word = next_word();
            if (!parse_number(word, v[k])) {
                refuse_line("is not a vertex of three numbers with decimal points");
            }
            most_digits_ = std::max(most_digits_, significant_digits(word));
        }
        soup_.mesh.vertices.push_back(v);
        check_room(soup_.mesh.vertices.size());
    }

    void take_face() {
        corners_.clear();
        for (std::string_view word = next_word(); !word.empty() && word[0] != '#';
             word = next_word()) {
            corners_.push_back(corner(word));
        }
        if (corners_.size() == 3) {
            soup_.mesh.triangles.push_back({corners_[0], corners_[1], corners_[2]});
        } else if (corners_.size() > 3) {
            // Where to cut depends on places that may come only later.
            waiting_.insert(waiting_.end(), corners_.begin(), corners_.end());
            waiting_sizes_.push_back(corners_.size());
            waiting_triangles_ += corners_.size() - 2;
        }
        check_room(soup_.mesh.triangles.size() + waiting_triangles_);
    }

    std::int32_t corner(std::string_view word) {
        std::int64_t index = 0;
        const char* const end = word.data() + word.size();
        const auto [stop, error] = std::from_chars(word.data(), end, index);
        const auto count = static_cast<std::int64_t>(soup_.mesh.vertices.size());
        if (error != std::errc() || (stop != end && *stop != '/') || index == 0 ||
            index > static_cast<std::int64_t>(kMostIndices)) {
            refuse_line("is not a face that names its vertices by numbers from 1");
        }
        if (index < -count) {
            refuse(name_, fmt::format("line {} names vertex {}, but only {} stand before it; "
                                      "export the part again",
                                      line_number(line_at_), static_cast<long long>(index),
                                      static_cast<long long>(count)));
        }
        if (index > highest_) {
            highest_ = index;
            highest_at_ = line_at_;
        }
        return static_cast<std::int32_t>(index > 0 ? index - 1 : count + index);
    }

    void check_highest() const {
        if (highest_ > static_cast<std::int64_t>(soup_.mesh.vertices.size())) {
            refuse(name_, fmt::format("line {} names vertex {}, but there are only {}; export the "
                                      "part again",
                                      line_number(highest_at_), static_cast<long long>(highest_),
                                      soup_.mesh.vertices.size()));
        }
    }

    void cut_waiting() {
        std::size_t at = 0;
        for (const std::size_t size : waiting_sizes_) {
            cut_polygon(std::span(waiting_).subspan(at, size), soup_.mesh.vertices,
                        soup_.mesh.triangles);
            at += size;
        }
    }

    void check_room(std::size_t count) const {
        if (count > kMostIndices) {
            refuse(name_,
                   "it holds more vertices or triangles than this program can number; make the "
                   "mesh coarser");
        }
    }

    std::string_view text_;
    std::string_view name_;
    std::size_t at_ = 0;
    std::size_t line_at_ = 0;
    int most_digits_ = 0;
    bool free_form_ = false;
    std::int64_t highest_ = 0;
    std::size_t highest_at_ = 0;
    std::vector<std::int32_t> corners_;
    std::vector<std::int32_t> waiting_;
    std::vector<std::size_t> waiting_sizes_;
    std::size_t waiting_triangles_ = 0;
    Soup soup_;
};

}  // namespace

Soup parse_obj(std::string_view bytes, std::string_view name) {
    return ObjText(text_start(bytes), name).parse();
}

}  // namespace cavigram
