// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include <fmt/core.h>

#include "cavigram/io/ply_header_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

// Both families of names in use, and the 64-bit integers that some programs add.
constexpr std::array<std::pair<std::string_view, PlyScalar>, 20> kTypes{{
    {"char", PlyScalar::i8},    {"int8", PlyScalar::i8},     {"uchar", PlyScalar::u8},
    {"uint8", PlyScalar::u8},   {"short", PlyScalar::i16},   {"int16", PlyScalar::i16},
    {"ushort", PlyScalar::u16}, {"uint16", PlyScalar::u16},  {"int", PlyScalar::i32},
    {"int32", PlyScalar::i32},  {"uint", PlyScalar::u32},    {"uint32", PlyScalar::u32},
    {"int64", PlyScalar::i64},  {"long", PlyScalar::i64},    {"uint64", PlyScalar::u64},
    {"ulong", PlyScalar::u64},  {"float", PlyScalar::f32},   {"float32", PlyScalar::f32},
    {"double", PlyScalar::f64}, {"float64", PlyScalar::f64},
}};

class Header {
  public:
    Header(std::string_view bytes, std::string_view name) : bytes_(bytes), name_(name) {}

    PlyHeader parse() {
        if (!next_line() || next_word() != "ply") {
            refuse(name_, "it does not begin with the word ply; export the part again");
        }
        while (next_line()) {
            const std::string_view word = next_word();
            if (word == "end_header") {
                return finished();
            }
            if (word == "format") {
                take_format();
            } else if (word == "element") {
                take_element();
            } else if (word == "property") {
                take_property();
            } else if (!header_.elements.empty() && !word.empty() && word != "comment" &&
                       word != "obj_info") {
                // Before the first element some programs write a remark without its keyword.
                refuse_line("is not as a PLY header's should be");
            }
        }
        refuse(name_, "its PLY header has no end; the file is cut off, export it again");
    }

  private:
    // Lines end as the first one does: within the data behind the header, a carriage return or a
    // line feed may be a number's first byte.
    bool next_line() {
        if (eol_.empty()) {
            const std::size_t first = bytes_.substr(0, kLongestLine).find_first_of("\r\n");
            if (first == bytes_.npos) {
                return false;
            }
            eol_ = bytes_.substr(first, bytes_.substr(first, 2) == "\r\n" ? 2 : 1);
        }
        const std::size_t end = bytes_.substr(at_, kLongestLine).find(eol_);
        if (end == bytes_.npos) {
            return false;
        }
        line_ = bytes_.substr(at_, end);
        at_ += end + eol_.size();
        ++header_.lines;
        return true;
    }
    std::string_view next_word() {
        const auto blank = [](char c) { return is_blank(c); };
        line_.remove_prefix(static_cast<std::size_t>(
            std::find_if_not(line_.begin(), line_.end(), blank) - line_.begin()));
        const auto size = static_cast<std::size_t>(std::find_if(line_.begin(), line_.end(), blank) -
                                                   line_.begin());
        const std::string_view word = line_.substr(0, size);
        line_.remove_prefix(size);
        return word;
    }
    [[noreturn]] void refuse_line(const char* what) const {
        refuse(name_, fmt::format("line {} of its PLY header {}; export the part again",
                                  header_.lines, what));
    }

    void take_format() {
        const std::string_view word = next_word();
        if (word == "ascii") {
            header_.encoding = PlyEncoding::text;
        } else if (word == "binary_little_endian") {
            header_.encoding = PlyEncoding::little;
        } else if (word == "binary_big_endian") {
            header_.encoding = PlyEncoding::big;
        } else {
            refuse_line("names no known kind of numbers");
        }
        format_seen_ = true;
    }

    void take_element() {
        PlyElement element;
        element.name = std::string(next_word());
        const std::string_view word = next_word();
        const char* const end = word.data() + word.size();
        const auto [stop, error] = std::from_chars(word.data(), end, element.count);
        if (element.name.empty() || word.empty() || error != std::errc() || stop != end) {
            refuse_line("does not say how many of an element there are");
        }
        header_.elements.push_back(std::move(element));
    }

    [[nodiscard]] PlyScalar type_of(std::string_view word) const {
        const auto* const found = std::find_if(kTypes.begin(), kTypes.end(),
                                               [&](const auto& t) { return t.first == word; });
        if (found == kTypes.end()) {
            refuse_line("names no known type of number");
        }
        return found->second;
    }

    void take_property() {
        if (header_.elements.empty()) {
            refuse_line("gives a property before any element");
        }
        PlyProperty property;
        std::string_view word = next_word();
        if (word == "list") {
            property.count_type = type_of(next_word());
            if (*property.count_type == PlyScalar::f32 || *property.count_type == PlyScalar::f64) {
                refuse_line("counts a list's items by numbers with fractions");
            }
            word = next_word();
        }
        property.type = type_of(word);
        property.name = std::string(next_word());
        if (property.name.empty()) {
            refuse_line("gives a property without a name");
        }
        header_.elements.back().properties.push_back(std::move(property));
    }

    PlyHeader finished() {
        if (!format_seen_) {
            refuse(name_,
                   "its PLY header does not say whether the data are text or binary; export the "
                   "part again");
        }
        header_.bytes = at_;
        return std::move(header_);
    }

    static constexpr std::size_t kLongestLine = std::size_t{1} << 16;

    std::string_view bytes_;
    std::string_view name_;
    std::string_view eol_;
    std::size_t at_ = 0;
    std::string_view line_;
    bool format_seen_ = false;
    PlyHeader header_;
};

}  // namespace

std::size_t ply_scalar_bytes(PlyScalar type) {
    static constexpr std::array<std::size_t, 10> kBytes{1, 1, 2, 2, 4, 4, 8, 8, 4, 8};
    return kBytes[static_cast<std::size_t>(type)];
}

std::uint64_t PlyElement::least_bytes(PlyEncoding encoding) const {
    std::uint64_t sum = 0;
    for (const PlyProperty& property : properties) {
        sum += encoding == PlyEncoding::text
                   ? 2
                   : ply_scalar_bytes(property.count_type.value_or(property.type));
    }
    return sum;
}

PlyHeader parse_ply_header(std::string_view bytes, std::string_view name) {
    return Header(bytes, name).parse();
}

}  // namespace cavigram
