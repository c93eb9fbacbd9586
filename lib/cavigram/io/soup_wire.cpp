// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <span>
#include <type_traits>
#include <vector>

#include "cavigram/core/large_array.h"
#include "cavigram/core/told.h"
#include "cavigram/io/guarded_child_detail.h"
#include "cavigram/io/soup_wire_detail.h"

namespace cavigram {

namespace {

constexpr std::uint64_t kMagic = 0x31505553'47564143;  // "CAVGSUP1" on a little-endian machine
constexpr std::uint32_t kSoup = 1;
constexpr std::uint32_t kRefusal = 2;
constexpr std::uint32_t kFloatPositions = 1;
constexpr std::uint32_t kCountingIndices = 2;
constexpr std::size_t kLongestSentence = 4000;
constexpr std::size_t kMostFindings = 1000;

struct Header {
    std::uint64_t magic = kMagic;
    std::uint32_t kind = 0;
    std::uint32_t flags = 0;
    std::uint64_t vertices = 0;
    std::uint64_t triangles = 0;
    std::uint64_t triangles_in_file = 0;
    std::uint64_t dropped_nonfinite = 0;
    std::uint64_t dropped_out_of_range = 0;
    double unit_mm = 0.0;  // 0: not stated
    std::uint64_t text_bytes = 0;
};
static_assert(std::is_trivially_copyable_v<Header>);
static_assert(sizeof(Vec3) == 3 * sizeof(double) && sizeof(Triangle) == 12);

// ---- sending ----

template <class T>
void append(std::string& text, const T& value) {
    static_assert(std::is_trivially_copyable_v<T>);
    text.append(reinterpret_cast<const char*>(&value), sizeof value);
}

void append_string(std::string& text, std::string_view value) {
    append(text, static_cast<std::uint32_t>(value.size()));
    text += value;
}

std::string packed_words(const Soup& soup) {
    std::string text;
    append_string(text, soup.format);
    append(text, static_cast<std::uint32_t>(soup.findings.size()));
    for (const Finding& finding : soup.findings) {
        append(text, static_cast<std::uint32_t>(finding.severity));
        append_string(text, to_text(finding.code));
        append_string(text, finding.text);
        append(text, static_cast<std::uint32_t>(finding.at_mm.size()));
        for (const auto& place : finding.at_mm) {
            append(text, place);
        }
    }
    return text;
}

bool fits_float(const std::vector<Vec3>& vertices) {
    bool fits = true;
    for (const Vec3& v : vertices) {
        fits &= static_cast<double>(static_cast<float>(v[0])) == v[0];
        fits &= static_cast<double>(static_cast<float>(v[1])) == v[1];
        fits &= static_cast<double>(static_cast<float>(v[2])) == v[2];
    }
    return fits;
}

bool counts_up(const TriMesh& mesh) {
    if (mesh.vertices.size() != 3 * mesh.triangles.size()) {
        return false;
    }
    bool counting = true;
    std::int32_t next = 0;
    for (const Triangle& t : mesh.triangles) {
        counting &= t[0] == next && t[1] == next + 1 && t[2] == next + 2;
        next += 3;
    }
    return counting;
}

void send_positions(int file, const std::vector<Vec3>& vertices, bool as_float) {
    if (!as_float) {
        write_all(file, std::as_bytes(std::span(vertices)));
        return;
    }
    constexpr std::size_t kVerticesAtOnce = std::size_t{1} << 16;
    std::vector<float> buffer;
    for (std::size_t begin = 0; begin < vertices.size(); begin += kVerticesAtOnce) {
        const std::size_t end = std::min(begin + kVerticesAtOnce, vertices.size());
        buffer.resize(3 * (end - begin));
        const double* from = vertices[begin].data();
        for (std::size_t i = 0; i < buffer.size(); ++i) {
            buffer[i] = static_cast<float>(from[i]);
        }
        write_all(file, std::as_bytes(std::span(buffer)));
    }
}

// ---- receiving ----

class Cursor {
  public:
    explicit Cursor(std::span<const std::byte> bytes) : bytes_(bytes) {}

    template <class T>
    bool take(T& value) {
        static_assert(std::is_trivially_copyable_v<T>);
        if (bytes_.size() < sizeof value) {
            return false;
        }
        std::memcpy(&value, bytes_.data(), sizeof value);
        bytes_ = bytes_.subspan(sizeof value);
        return true;
    }
    // A string without control characters but marks, of at most `longest` bytes.
    bool take_string(std::string& value, std::size_t longest) {
        std::uint32_t count = 0;
        if (!take(count) || count > longest || count > bytes_.size()) {
            return false;
        }
        value.assign(reinterpret_cast<const char*>(bytes_.data()), count);
        bytes_ = bytes_.subspan(count);
        return std::all_of(value.begin(), value.end(), [](char c) {
            return static_cast<unsigned char>(c) >= 0x20 || is_mark(c);
        });
    }
    [[nodiscard]] bool empty() const { return bytes_.empty(); }

  private:
    std::span<const std::byte> bytes_;
};

bool unpack_words(std::span<const std::byte> bytes, Soup& soup) {
    Cursor cursor(bytes);
    std::uint32_t count = 0;
    if (!cursor.take_string(soup.format, 40) || soup.format.empty() || !cursor.take(count) ||
        count > kMostFindings) {
        return false;
    }
    for (std::uint32_t i = 0; i < count; ++i) {
        Finding finding;
        std::uint32_t severity = 0;
        std::uint32_t places = 0;
        std::string code;
        if (!cursor.take(severity) || severity > static_cast<std::uint32_t>(Severity::stop) ||
            !cursor.take_string(code, 80) || !cursor.take_string(finding.text, kLongestSentence) ||
            !cursor.take(places)) {
            return false;
        }
        const std::optional<FindingCode> known = FindingCode::parse(code);
        if (!known) {
            return false;
        }
        finding.severity = static_cast<Severity>(severity);
        finding.code = *known;
        for (std::uint32_t k = 0; k < places; ++k) {
            std::array<double, 3> place{};
            if (!cursor.take(place) || !std::all_of(place.begin(), place.end(),
                                                    [](double c) { return std::isfinite(c); })) {
                return false;
            }
            finding.at_mm.push_back(place);
        }
        soup.findings.push_back(std::move(finding));
    }
    return cursor.empty();
}

// Widens `count` numbers into `to` and tells whether all lie within the limit (a NaN does not).
template <class Number>
bool take_positions(const std::byte* from, std::size_t count, double* to) {
    bool within = true;
    for (std::size_t i = 0; i < count; ++i) {
        Number value{};
        std::memcpy(&value, from + i * sizeof value, sizeof value);
        to[i] = static_cast<double>(value);
        within &= std::abs(to[i]) <= kLargestCoordinate;
    }
    return within;
}

bool take_triangles(std::span<const std::byte> bytes, std::size_t vertices,
                    std::vector<Triangle>& triangles) {
    std::ranges::copy(bytes, std::as_writable_bytes(std::span(triangles)).begin());
    // As unsigned numbers negative indices are larger than any count.
    bool within = true;
    for (const Triangle& t : triangles) {
        for (const std::int32_t i : t) {
            within &= static_cast<std::uint32_t>(i) < vertices;
        }
    }
    return within;
}

bool plausible(const Header& head, std::size_t bytes) {
    constexpr std::uint64_t kMost = std::numeric_limits<std::int32_t>::max();
    if (head.vertices > kMost || head.triangles > kMost || head.triangles == 0 ||
        head.text_bytes > bytes ||
        !(head.unit_mm >= 0.0 && std::isfinite(head.unit_mm * kLargestCoordinate)) ||
        head.triangles_in_file > std::numeric_limits<std::uint64_t>::max() / 2) {
        return false;
    }
    // What came and what was left out is no more than there was; compared so that no sum overflows.
    if (head.dropped_nonfinite > head.triangles_in_file ||
        head.dropped_out_of_range > head.triangles_in_file - head.dropped_nonfinite ||
        head.triangles >
            head.triangles_in_file - head.dropped_nonfinite - head.dropped_out_of_range) {
        return false;
    }
    const std::uint64_t number = (head.flags & kFloatPositions) != 0 ? 4 : 8;
    const bool counting = (head.flags & kCountingIndices) != 0;
    if (counting && head.vertices != 3 * head.triangles) {
        return false;
    }
    return bytes == head.text_bytes + 3 * number * head.vertices +
                        (counting ? 0 : sizeof(Triangle) * head.triangles);
}

std::optional<WireAnswer> receive_soup(const Header& head, std::span<const std::byte> body) {
    Soup soup;
    if (!plausible(head, body.size()) || !unpack_words(body.first(head.text_bytes), soup)) {
        return std::nullopt;
    }
    body = body.subspan(head.text_bytes);
    soup.triangles_in_file = head.triangles_in_file;
    soup.dropped_nonfinite = head.dropped_nonfinite;
    soup.dropped_out_of_range = head.dropped_out_of_range;
    if (head.unit_mm > 0.0) {
        soup.unit_mm = head.unit_mm;
    }
    const bool as_float = (head.flags & kFloatPositions) != 0;
    resize_large(soup.mesh.vertices, head.vertices);
    const std::size_t numbers = 3 * head.vertices;
    double* to = soup.mesh.vertices.empty() ? nullptr : soup.mesh.vertices.front().data();
    if (!(as_float ? take_positions<float>(body.data(), numbers, to)
                   : take_positions<double>(body.data(), numbers, to))) {
        return std::nullopt;
    }
    body = body.subspan(numbers * (as_float ? sizeof(float) : sizeof(double)));
    resize_large(soup.mesh.triangles, head.triangles);
    if ((head.flags & kCountingIndices) != 0) {
        std::int32_t next = 0;
        for (Triangle& t : soup.mesh.triangles) {
            t = {next, next + 1, next + 2};
            next += 3;
        }
    } else if (!take_triangles(body, head.vertices, soup.mesh.triangles)) {
        return std::nullopt;
    }
    return WireAnswer{std::move(soup), {}};
}

}  // namespace

void send_soup(int file, const Soup& soup) {
    const std::string words = packed_words(soup);
    const bool as_float = fits_float(soup.mesh.vertices);
    const bool counting = counts_up(soup.mesh);
    Header head;
    head.kind = kSoup;
    head.flags = (as_float ? kFloatPositions : 0) | (counting ? kCountingIndices : 0);
    head.vertices = soup.mesh.vertices.size();
    head.triangles = soup.mesh.triangles.size();
    head.triangles_in_file = soup.triangles_in_file;
    head.dropped_nonfinite = soup.dropped_nonfinite;
    head.dropped_out_of_range = soup.dropped_out_of_range;
    head.unit_mm = soup.unit_mm.value_or(0.0);
    head.text_bytes = words.size();
    write_all(file, std::as_bytes(std::span(&head, 1)));
    write_all(file, std::as_bytes(std::span(words)));
    send_positions(file, soup.mesh.vertices, as_float);
    if (!counting) {
        write_all(file, std::as_bytes(std::span(soup.mesh.triangles)));
    }
}

void send_refusal(int file, std::string_view sentence) {
    std::string words;
    append_string(words, sentence.substr(0, kLongestSentence));
    Header head;
    head.kind = kRefusal;
    head.text_bytes = words.size();
    write_all(file, std::as_bytes(std::span(&head, 1)));
    write_all(file, std::as_bytes(std::span(words)));
}

std::optional<WireAnswer> receive(std::span<const std::byte> bytes) {
    Header head;
    if (!Cursor(bytes).take(head) || head.magic != kMagic) {
        return std::nullopt;
    }
    const auto body = bytes.subspan(sizeof head);
    if (head.kind == kSoup) {
        return receive_soup(head, body);
    }
    WireAnswer answer;
    Cursor cursor(body);
    if (head.kind != kRefusal || !cursor.take_string(answer.refusal, kLongestSentence) ||
        answer.refusal.empty() || !cursor.empty()) {
        return std::nullopt;
    }
    return answer;
}

}  // namespace cavigram
