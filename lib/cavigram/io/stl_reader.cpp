// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/stl_reader.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>

#include <fmt/core.h>

#include "cavigram/core/large_array.h"
#include "cavigram/core/told.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

static_assert(std::endian::native == std::endian::little,
              "STL is little-endian and is copied as it lies");

namespace cavigram {

namespace {

constexpr std::size_t kHeaderBytes = 84;  // 80 of header, 4 of count
constexpr std::size_t kRecordBytes = 50;  // normal, three corners (12 floats), 2 attribute bytes
constexpr std::size_t kMostTriangles = std::numeric_limits<std::int32_t>::max() / 3;

// ---- telling them apart ----

std::uint64_t declared_count(std::string_view bytes) {
    std::uint32_t count = 0;
    std::memcpy(&count, bytes.data() + 80, sizeof count);
    return count;
}

char lower(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
}
bool is_blank(char c) {
    return c == ' ' || (c >= '\t' && c <= '\r');
}

bool begins_with_word(std::string_view text, std::string_view word) {
    return text.size() >= word.size() && std::equal(word.begin(), word.end(), text.begin(),
                                                    [](char a, char b) { return a == lower(b); });
}

bool count_fits_size(std::string_view bytes) {
    return bytes.size() >= kHeaderBytes && declared_count(bytes) > 0 &&
           bytes.size() == kHeaderBytes + kRecordBytes * declared_count(bytes);
}

bool is_stl_text(std::string_view bytes) {
    const std::string_view start = text_start(bytes);
    return is_text(bytes) && (begins_with_word(start, "solid") || begins_with_word(start, "facet"));
}

// ---- binary ----

// Copies the corners of `count` records; those with a bad number are passed over and counted.
void take_records(std::string_view bytes, std::size_t count, Soup& soup) {
    const auto limit = std::bit_cast<std::uint32_t>(static_cast<float>(kLargestCoordinate));
    const auto infinity = std::bit_cast<std::uint32_t>(std::numeric_limits<float>::infinity());
    resize_large(soup.mesh.vertices, 3 * count);
    std::size_t taken = 0;
    for (std::size_t k = 0; k < count; ++k) {
        std::array<float, 9> corner{};
        std::memcpy(corner.data(), bytes.data() + kHeaderBytes + kRecordBytes * k + 12,
                    sizeof corner);
        // Without their sign bit, floats order as unsigned numbers do, infinity and then the NaNs
        // last.
        std::uint32_t largest = 0;
        for (const float c : corner) {
            largest = std::max(largest, std::bit_cast<std::uint32_t>(c) & 0x7FFFFFFFU);
        }
        if (largest > limit) {
            ++(largest >= infinity ? soup.dropped_nonfinite : soup.dropped_out_of_range);
            continue;
        }
        double* to = soup.mesh.vertices[3 * taken].data();
        for (std::size_t i = 0; i < 9; ++i) {
            to[i] = static_cast<double>(corner[i]);
        }
        ++taken;
    }
    soup.mesh.vertices.resize(3 * taken);
}

// What programs do to a binary file that they take for text: each byte from 0x80 up becomes U+FFFD
// (EF BF BD), or each line feed gets a carriage return before it. Of float32 records some bytes
// would be otherwise.
bool handled_as_text(std::string_view bytes) {
    std::size_t replaced = 0;
    std::size_t at = 0;
    while (at < bytes.size() && (static_cast<unsigned char>(bytes[at]) < 0x80 ||
                                 bytes.substr(at, 3) == "\xEF\xBF\xBD")) {
        const bool high = static_cast<unsigned char>(bytes[at]) >= 0x80;
        replaced += high ? 1 : 0;
        at += high ? 3 : 1;
    }
    constexpr std::size_t kEnough = 4;  // By chance that happens once in 256^4 files.
    if (at >= bytes.size() && replaced >= kEnough) {
        return true;
    }
    std::size_t feeds = 0;
    for (std::size_t feed = bytes.find('\n'); feed != bytes.npos;
         feed = bytes.find('\n', feed + 1)) {
        if (feed == 0 || bytes[feed - 1] != '\r') {
            return false;
        }
        ++feeds;
    }
    return feeds >= kEnough;
}

void note_count(std::uint64_t declared, std::size_t records, std::size_t rest, Soup& soup) {
    if (declared == 0) {
        soup.findings.push_back(
            {Severity::warning,
             "count_zero",
             fmt::format("The file says that it holds no triangles but goes on with "
                         "{} of them, which were taken.",
                         records),
             {}});
    } else if (declared > records) {
        soup.findings.push_back(
            {Severity::warning,
             "file_cut_short",
             fmt::format("The file says that it holds {} triangles but ends after "
                         "{} whole ones; as asked, what is there was taken.",
                         static_cast<unsigned long long>(declared), records),
             {}});
    } else if (declared < records || rest > 0) {
        const std::size_t extra = (records - declared) * kRecordBytes + rest;
        soup.findings.push_back({declared < records ? Severity::warning : Severity::note,
                                 "trailing_bytes",
                                 fmt::format("The file goes on for {} bytes after the {} triangles "
                                             "that it says it holds; they were left out.",
                                             extra, static_cast<unsigned long long>(declared)),
                                 {}});
    }
}

Soup parse_binary(std::string_view bytes, std::string_view name, bool partial) {
    if (bytes.size() < kHeaderBytes + kRecordBytes) {
        refuse(name, fmt::format(
                         "with {} bytes it is too short to hold a triangle; export the part again",
                         bytes.size()));
    }
    const std::uint64_t declared = declared_count(bytes);
    const std::size_t records = (bytes.size() - kHeaderBytes) / kRecordBytes;
    const std::size_t rest = (bytes.size() - kHeaderBytes) % kRecordBytes;
    const std::size_t count =
        declared == 0 ? records
                      : static_cast<std::size_t>(std::min<std::uint64_t>(declared, records));
    if (count > kMostTriangles) {
        refuse(
            name,
            fmt::format(
                "it holds {} triangles, more than this program can number; make the mesh coarser",
                count));
    }
    if (!count_fits_size(bytes) &&
        handled_as_text(bytes.substr(kHeaderBytes, kRecordBytes * count))) {
        refuse(name,
               "it is a binary file that was damaged when some program took it for text; copy it "
               "again unchanged, or export the part again");
    }
    Soup soup;
    soup.format = "stl-binary";
    soup.triangles_in_file = count;
    take_records(bytes, count, soup);
    // Bytes that are no STL at all have no count that fits, and their numbers are all over the
    // place.
    const std::size_t dropped = soup.dropped_nonfinite + soup.dropped_out_of_range;
    if (!count_fits_size(bytes) && 10 * dropped > count) {
        refuse(name,
               "it is neither STL nor another mesh that this program knows; export the part as "
               "STL, OBJ, PLY or 3MF");
    }
    if (declared > records && !partial) {
        refuse(name, fmt::format("it says that it holds {} triangles but ends after {} whole ones; "
                                 "copy or export it again, or take what is there with {}",
                                 declared, records, setting("partial")));
    }
    note_count(declared, records, rest, soup);
    return soup;
}

// ---- ASCII ----

class StlText {
  public:
    StlText(std::string_view text, std::string_view name, bool partial)
        : text_(text_start(text)), name_(name), partial_(partial) {}

    Soup parse() {
        soup_.format = "stl-ascii";
        while (next_word()) {
            if (is_word("solid") || is_word("endsolid")) {
                ended_ = is_word("endsolid");
                close_facet();
                within_facet_ = false;
                skip_line();  // A solid's name may hold any word, `facet` and `vertex` too.
            } else if (is_word("facet") || is_word("endfacet")) {
                close_facet();
                within_facet_ = is_word("facet");
            } else if (is_word("normal")) {
                skip_numbers();
            } else if (is_word("vertex")) {
                take_vertex();
            } else if (!is_word("outer") && !is_word("loop") && !is_word("endloop") &&
                       at_ < text_.size()) {  // The very last word may be half a keyword of a file
                                              // cut short.
                refuse(name_,
                       fmt::format("line {} is not ASCII STL; export the part again, as binary "
                                   "STL if you can",
                                   line_number()));
            }
        }
        note_end();
        return std::move(soup_);
    }

  private:
    bool next_word() {
        while (at_ < text_.size() && is_blank(text_[at_])) {
            ++at_;
        }
        const std::size_t begin = at_;
        while (at_ < text_.size() && !is_blank(text_[at_]) && text_[at_] != '\x1A') {
            ++at_;
        }
        word_ = text_.substr(begin, at_ - begin);
        return !word_.empty();
    }
    [[nodiscard]] bool is_word(std::string_view keyword) const {
        return word_.size() == keyword.size() && begins_with_word(word_, keyword);
    }
    void skip_line() {
        while (at_ < text_.size() && text_[at_] != '\n' && text_[at_] != '\r') {
            ++at_;
        }
    }
    // A normal is not used, so its numbers may be anything, or missing.
    void skip_numbers() {
        for (int i = 0; i < 3; ++i) {
            const std::size_t before = at_;
            if (!next_word()) {
                return;
            }
            if (is_word("outer") || is_word("vertex") || is_word("endfacet") || is_word("facet")) {
                at_ = before;
                return;
            }
        }
    }

    void take_vertex() {
        Vec3 corner;
        for (int i = 0; i < 3; ++i) {
            if (!next_word()) {
                return;  // The file ends within a vertex; note_end sees that it stands open.
            }
            if (!parse_number(word_, corner[i])) {
                if (at_ == text_.size()) {
                    return;
                }
                refuse(name_,
                       fmt::format("line {} has a corner that is not three numbers with decimal "
                                   "points; export the part "
                                   "again, as binary STL if you can",
                                   line_number()));
            }
        }
        corners_.push_back(corner);
    }

    void close_facet() {
        if (corners_.empty()) {
            return;
        }
        if (corners_.size() < 3) {
            ++incomplete_;
            corners_.clear();
            return;
        }
        bool finite = true;
        bool within = true;
        for (const Vec3& corner : corners_) {
            finite = finite && corner.allFinite();
            within = within && corner.cwiseAbs().maxCoeff() <= kLargestCoordinate;
        }
        const std::size_t count = corners_.size() - 2;  // More than three corners: a fan.
        soup_.triangles_in_file += count;
        if (!finite || !within) {
            (finite ? soup_.dropped_out_of_range : soup_.dropped_nonfinite) += count;
        } else {
            for (std::size_t i = 1; i <= count; ++i) {
                soup_.mesh.vertices.insert(soup_.mesh.vertices.end(),
                                           {corners_[0], corners_[i], corners_[i + 1]});
            }
        }
        corners_.clear();
        if (soup_.mesh.vertices.size() / 3 > kMostTriangles) {
            refuse(name_,
                   "it holds more triangles than this program can number; make the mesh coarser");
        }
    }

    void note_end() {
        if (within_facet_ && !partial_) {
            refuse(name_,
                   fmt::format("it ends within a facet, in line {}, so that the rest of it is "
                               "missing; copy or export it again, or take what is there with {}",
                               line_number(), setting("partial")));
        }
        // What stands open at the end may have lost digits of its last number, so it is no use.
        incomplete_ += corners_.empty() ? 0 : 1;
        soup_.triangles_in_file += incomplete_;
        if (incomplete_ > 0) {
            soup_.findings.push_back({Severity::warning,
                                      "facets_incomplete",
                                      fmt::format("{} of the file's facets are incomplete and were "
                                                  "left out; copy or export it again.",
                                                  incomplete_),
                                      {}});
        }
        if (!ended_) {
            soup_.findings.push_back({Severity::warning,
                                      "no_endsolid",
                                      "The file ends without the word endsolid, as one that was "
                                      "cut between two facets does; if the part looks cut off, "
                                      "copy or export it again.",
                                      {}});
        }
    }

    [[nodiscard]] std::size_t line_number() const {
        return 1 + static_cast<std::size_t>(std::count(
                       text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at_), '\n'));
    }

    std::string_view text_;
    std::string_view name_;
    bool partial_;
    std::size_t at_ = 0;
    std::string_view word_;
    std::vector<Vec3> corners_;
    std::size_t incomplete_ = 0;
    bool ended_ = false;
    bool within_facet_ = false;
    Soup soup_;
};

}  // namespace

bool looks_like_stl(std::string_view bytes) {
    return count_fits_size(bytes) || is_stl_text(bytes);
}

Soup parse_stl(std::string_view bytes, std::string_view name, bool partial) {
    if (bytes.empty()) {
        refuse(name, "it is empty; export the part again");
    }
    Soup soup;
    if (!count_fits_size(bytes) && is_stl_text(bytes)) {
        soup = StlText(bytes, name, partial).parse();
    } else if (!count_fits_size(bytes) && is_text(bytes)) {
        refuse(name, "it is text but no mesh; export the part as STL, OBJ, PLY or 3MF");
    } else {
        soup = parse_binary(bytes, name, partial);
    }
    resize_large(soup.mesh.triangles, soup.mesh.vertices.size() / 3);
    std::int32_t next = 0;
    for (Triangle& t : soup.mesh.triangles) {
        t = {next, next + 1, next + 2};
        next += 3;
    }
    finish_soup(soup, name, soup.format == "stl-binary");
    return soup;
}

}  // namespace cavigram
