// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/ply_reader.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include <fmt/core.h>

#include "cavigram/core/large_array.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/io/ply_header_detail.h"
#include "cavigram/io/polygon_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

static_assert(std::endian::native == std::endian::little, "PLY's little-endian kind is copied");

namespace cavigram {

namespace {

constexpr std::uint64_t kMostIndices = std::numeric_limits<std::int32_t>::max();

// The data end where more were promised.
struct Ended {};

// ---- numbers from bytes and from text ----

template <class Number>
double swapped(const char* from, bool swap) {
    std::array<char, sizeof(Number)> bytes{};
    std::memcpy(bytes.data(), from, sizeof(Number));
    if (swap) {
        std::reverse(bytes.begin(), bytes.end());
    }
    return static_cast<double>(std::bit_cast<Number>(bytes));
}

template <bool kSwap>
class BinaryData {
  public:
    explicit BinaryData(std::string_view bytes) : bytes_(bytes) {}

    [[nodiscard]] std::size_t left() const { return bytes_.size() - at_; }
    double number(PlyScalar type) {
        const char* const from = take(ply_scalar_bytes(type));
        switch (type) {
            case PlyScalar::i8:
                return swapped<std::int8_t>(from, kSwap);
            case PlyScalar::u8:
                return swapped<std::uint8_t>(from, kSwap);
            case PlyScalar::i16:
                return swapped<std::int16_t>(from, kSwap);
            case PlyScalar::u16:
                return swapped<std::uint16_t>(from, kSwap);
            case PlyScalar::i32:
                return swapped<std::int32_t>(from, kSwap);
            case PlyScalar::u32:
                return swapped<std::uint32_t>(from, kSwap);
            case PlyScalar::i64:
                return swapped<std::int64_t>(from, kSwap);
            case PlyScalar::u64:
                return swapped<std::uint64_t>(from, kSwap);
            case PlyScalar::f32:
                return swapped<float>(from, kSwap);
            case PlyScalar::f64:
                break;
        }
        return swapped<double>(from, kSwap);
    }
    double coordinate(PlyScalar type) {
        beyond_float_ = beyond_float_ || (type != PlyScalar::f32 && ply_scalar_bytes(type) > 2);
        return number(type);
    }
    void pass_over(PlyScalar type, std::uint64_t count) {
        const std::size_t size = ply_scalar_bytes(type);
        if (count > left() / size) {
            throw Ended{};
        }
        at_ += static_cast<std::size_t>(count) * size;
    }
    void end_row() {}
    // True if some coordinate may have more digits than a float32.
    [[nodiscard]] bool beyond_float() const { return beyond_float_; }
    [[nodiscard]] bool at_end() const { return left() == 0; }
    [[nodiscard]] std::string place() const { return fmt::format("byte {} of its data", at_); }

  private:
    const char* take(std::size_t count) {
        if (left() < count) {
            throw Ended{};
        }
        const char* const from = bytes_.data() + at_;
        at_ += count;
        return from;
    }

    std::string_view bytes_;
    std::size_t at_ = 0;
    bool beyond_float_ = false;
};

class TextData {
  public:
    TextData(std::string_view text, std::size_t header_lines, std::string_view name)
        : text_(text), header_lines_(header_lines), name_(name) {}

    [[nodiscard]] std::size_t left() const { return text_.size() - at_ + 1; }
    double number(PlyScalar /*type*/) {
        double value = 0.0;
        if (!parse_number(next_word(), value)) {
            refuse(name_,
                   fmt::format("{} has a value that is no number; export the part again", place()));
        }
        return value;
    }
    double coordinate(PlyScalar type) {
        const double value = number(type);
        most_digits_ = std::max(most_digits_, significant_digits(word_));
        return value;
    }
    void pass_over(PlyScalar /*type*/, std::uint64_t count) {
        for (std::uint64_t i = 0; i < count; ++i) {
            next_word();
        }
    }
    // One value too many on a line would shift all that follows into a closed but wrong mesh.
    void end_row() {
        while (at_ < text_.size() && is_blank(text_[at_])) {
            if (text_[at_] == '\n' || text_[at_] == '\r') {
                return;
            }
            ++at_;
        }
        if (at_ < text_.size()) {
            refuse(name_,
                   fmt::format("{} holds more values than its header says; export the part again",
                               place()));
        }
    }
    [[nodiscard]] bool beyond_float() const {
        return most_digits_ > std::numeric_limits<float>::max_digits10;
    }
    [[nodiscard]] bool at_end() {
        while (at_ < text_.size() && is_blank(text_[at_])) {
            ++at_;
        }
        return at_ >= text_.size();
    }
    [[nodiscard]] std::string place() const {
        return fmt::format(
            "line {}",
            header_lines_ + 1 +
                static_cast<std::size_t>(std::count(
                    text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at_), '\n')));
    }

  private:
    std::string_view next_word() {
        if (at_end()) {
            throw Ended{};
        }
        const std::size_t begin = at_;
        while (at_ < text_.size() && !is_blank(text_[at_])) {
            ++at_;
        }
        return word_ = text_.substr(begin, at_ - begin);
    }

    std::string_view text_;
    std::size_t header_lines_;
    std::string_view name_;
    std::size_t at_ = 0;
    std::string_view word_;
    int most_digits_ = 0;
};

// ---- elements ----

template <class Data>
class PlyBody {
  public:
    PlyBody(const PlyHeader& header, Data data, std::string_view name, bool partial)
        : header_(header), data_(std::move(data)), name_(name), partial_(partial) {}

    Soup read() {
        soup_.format = "ply";
        vertices_ = vertex_count();
        for (const PlyElement& element : header_.elements) {
            if (!take_element(element)) {
                break;  // Cut off, and the rest is wanted nevertheless.
            }
        }
        if (!cut_ && !data_.at_end()) {
            soup_.findings.push_back(
                {Severity::warning,
                 "trailing_bytes",
                 "The file goes on after all that its header says it holds; the rest was left out.",
                 {}});
        }
        cut_waiting();
        soup_.triangles_in_file = soup_.mesh.triangles.size();
        drop_bad_triangles(soup_);
        finish_soup(soup_, name_, !data_.beyond_float());
        return std::move(soup_);
    }

  private:
    [[nodiscard]] std::uint64_t vertex_count() const {
        const auto is_vertex = [](const PlyElement& e) { return e.name == "vertex"; };
        const auto found =
            std::find_if(header_.elements.begin(), header_.elements.end(), is_vertex);
        const bool faces =
            std::any_of(header_.elements.begin(), header_.elements.end(), [](const PlyElement& e) {
                return (e.name == "face" || e.name == "tristrips") && e.count > 0;
            });
        if (found == header_.elements.end() || found->count == 0) {
            refuse(name_, "it holds no vertices; export the part as a surface mesh");
        }
        if (!faces) {
            refuse(name_,
                   "it holds points but no faces between them; make a surface of the points in "
                   "the scanner's program and export that");
        }
        if (found->count > kMostIndices) {
            refuse(name_,
                   fmt::format("it says that it holds {} vertices, more than this program can "
                               "number; make the mesh coarser, or export it again",
                               static_cast<unsigned long long>(found->count)));
        }
        return found->count;
    }

    // False if the data end within the element and that is borne.
    bool take_element(const PlyElement& element) {
        const std::uint64_t least = element.least_bytes(header_.encoding);
        row_ = 0;
        try {
            if (element.name == "vertex" && !have_vertices_) {
                if (element.count > data_.left() / std::max<std::uint64_t>(least, 1)) {
                    refuse_cut(element, data_.left() / std::max<std::uint64_t>(least, 1));
                }
                take_vertices(element);
            } else if (element.name == "face" || element.name == "tristrips") {
                take_faces(element);
            } else if (least > 0) {  // Rows without properties take no room, whatever their count.
                for (; row_ < element.count; ++row_) {
                    pass_over(element.properties);
                }
            }
        } catch (const Ended&) {
            if (!partial_ || !have_vertices_) {
                refuse_cut(element, row_);
            }
            cut_ = true;
            soup_.findings.push_back(
                {Severity::warning,
                 "file_cut_short",
                 fmt::format(
                     "The file says that it holds {} of {} but ends after {}; as asked, what "
                     "is there was taken.",
                     static_cast<unsigned long long>(element.count), shown_text(element.name),
                     static_cast<unsigned long long>(row_)),
                 {}});
        }
        return !cut_;
    }

    [[noreturn]] void refuse_cut(const PlyElement& element, std::uint64_t there) const {
        refuse(name_,
               fmt::format("it says that it holds {} of {} but ends after about {}; copy or export "
                           "it again, or take what is there with {}",
                           element.count, shown_text(element.name), there, setting("partial")));
    }

    void pass_over(std::span<const PlyProperty> properties) {
        for (const PlyProperty& property : properties) {
            data_.pass_over(property.type, property.count_type ? list_count(property) : 1);
        }
        data_.end_row();
    }

    std::uint64_t list_count(const PlyProperty& property) {
        const double count = data_.number(*property.count_type);
        if (!(count >= 0.0 && count <= 1e15) || count != std::floor(count)) {
            refuse(name_, fmt::format("{} counts a list's items by {}; export the part again",
                                      data_.place(), significant(count, 6)));
        }
        return static_cast<std::uint64_t>(count);
    }

    void take_vertices(const PlyElement& element) {
        std::vector<int> axes;
        std::array<int, 3> seen{};
        for (const PlyProperty& property : element.properties) {
            const bool named = property.name.size() == 1 && property.name[0] >= 'x' &&
                               property.name[0] <= 'z' && !property.count_type;
            axes.push_back(named ? property.name[0] - 'x' : -1);
            if (named) {
                ++seen[static_cast<std::size_t>(axes.back())];
            }
        }
        if (seen != std::array{1, 1, 1}) {
            refuse(name_, "its vertices lack x, y or z; export the part again");
        }
        resize_large(soup_.mesh.vertices, static_cast<std::size_t>(element.count),
                     Vec3(Vec3::Zero()));
        for (; row_ < element.count; ++row_) {
            Vec3& v = soup_.mesh.vertices[static_cast<std::size_t>(row_)];
            for (std::size_t i = 0; i < axes.size(); ++i) {
                const PlyProperty& property = element.properties[i];
                if (axes[i] >= 0) {
                    v[axes[i]] = data_.coordinate(property.type);
                } else {
                    data_.pass_over(property.type, property.count_type ? list_count(property) : 1);
                }
            }
            data_.end_row();
        }
        have_vertices_ = true;
    }

    void take_faces(const PlyElement& element) {
        const std::size_t list = corner_list(element);
        const auto properties = std::span(element.properties);
        const bool strips = element.name == "tristrips";
        const std::uint64_t room =
            data_.left() / std::max<std::uint64_t>(element.least_bytes(header_.encoding), 1);
        reserve_large(soup_.mesh.triangles, soup_.mesh.triangles.size() +
                                                static_cast<std::size_t>(std::min(
                                                    element.count, std::min(room, kMostIndices))));
        for (; row_ < element.count; ++row_) {
            for (std::size_t i = 0; i < properties.size(); ++i) {
                if (i == list) {
                    take_corners(properties[i], strips);
                } else {
                    data_.pass_over(properties[i].type,
                                    properties[i].count_type ? list_count(properties[i]) : 1);
                }
            }
            data_.end_row();
            if (!strips) {
                add_polygon();
            }
        }
    }

    [[nodiscard]] std::size_t corner_list(const PlyElement& element) const {
        std::size_t lists = 0;
        std::size_t last = 0;
        for (std::size_t i = 0; i < element.properties.size(); ++i) {
            const PlyProperty& property = element.properties[i];
            if (!property.count_type) {
                continue;
            }
            if (property.name == "vertex_indices" || property.name == "vertex_index") {
                return i;
            }
            ++lists;
            last = i;
        }
        if (lists != 1) {
            refuse(name_, "its faces lack the list vertex_indices; export the part again");
        }
        return last;
    }

    void take_corners(const PlyProperty& property, bool strips) {
        const std::uint64_t count = list_count(property);
        corners_.clear();
        std::size_t in_strip = 0;
        for (std::uint64_t i = 0; i < count; ++i) {
            const double index = data_.number(property.type);
            if (strips && index == -1.0) {
                corners_.clear();
                in_strip = 0;
                continue;
            }
            if (!(index >= 0.0 && index < static_cast<double>(vertices_)) ||
                index != std::floor(index)) {
                refuse(name_,
                       fmt::format("a face names vertex {}, but there are only {}; export the "
                                   "part again",
                                   fmt::format("{:.0f}", index),
                                   static_cast<unsigned long long>(vertices_)));
            }
            corners_.push_back(static_cast<std::int32_t>(index));
            if (strips && ++in_strip >= 3) {
                add_strip_triangle(in_strip);
            }
        }
    }

    // Every second triangle of a strip runs the other way around; those with a corner twice only
    // join strips.
    void add_strip_triangle(std::size_t in_strip) {
        const std::size_t end = corners_.size();
        Triangle t{corners_[end - 3], corners_[end - 2], corners_[end - 1]};
        if (in_strip % 2 == 0) {
            std::swap(t[0], t[1]);
        }
        if (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]) {
            soup_.mesh.triangles.push_back(t);
            check_room();
        }
        if (corners_.size() > 4096) {
            corners_.erase(corners_.begin(), corners_.end() - 2);
        }
    }

    void add_polygon() {
        if (corners_.size() == 3) {
            soup_.mesh.triangles.push_back({corners_[0], corners_[1], corners_[2]});
            check_room();
        } else if (corners_.size() > 3) {
            // Where to cut depends on places that may come only later.
            waiting_.insert(waiting_.end(), corners_.begin(), corners_.end());
            waiting_sizes_.push_back(corners_.size());
            waiting_triangles_ += corners_.size() - 2;
            check_room();
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

    void check_room() const {
        if (soup_.mesh.triangles.size() + waiting_triangles_ > kMostIndices) {
            refuse(name_,
                   "it holds more triangles than this program can number; make the mesh coarser");
        }
    }

    const PlyHeader& header_;
    Data data_;
    std::string_view name_;
    bool partial_;
    std::uint64_t vertices_ = 0;
    std::uint64_t row_ = 0;
    bool have_vertices_ = false;
    bool cut_ = false;
    std::vector<std::int32_t> corners_;
    std::vector<std::int32_t> waiting_;
    std::vector<std::size_t> waiting_sizes_;
    std::size_t waiting_triangles_ = 0;
    Soup soup_;
};

}  // namespace

Soup parse_ply(std::string_view bytes, std::string_view name, bool partial) {
    bytes = text_start(bytes);
    const PlyHeader header = parse_ply_header(bytes, name);
    const std::string_view data = bytes.substr(header.bytes);
    switch (header.encoding) {
        case PlyEncoding::text:
            return PlyBody(header, TextData(data, header.lines, name), name, partial).read();
        case PlyEncoding::little:
            return PlyBody(header, BinaryData<false>(data), name, partial).read();
        case PlyEncoding::big:
            break;
    }
    return PlyBody(header, BinaryData<true>(data), name, partial).read();
}

}  // namespace cavigram
