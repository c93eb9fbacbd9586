// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <utility>

#include <zlib.h>

#include "cavigram/io/stated_unit_detail.h"

namespace cavigram {

namespace {

// Layout of zip archives: PKWARE's APPNOTE, sections 4.3.7, 4.3.12 and 4.3.16.
constexpr std::string_view kEndMark("PK\x05\x06", 4);
constexpr std::string_view kCentralMark("PK\x01\x02", 4);
constexpr std::string_view kLocalMark("PK\x03\x04", 4);
constexpr std::size_t kEndBytes = 22;
constexpr std::size_t kCentralBytes = 46;
constexpr std::size_t kLocalBytes = 30;

std::uint32_t number(std::string_view bytes, std::size_t at, std::size_t width) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes.data() + at, width);
    return value;
}

bool ends_with_any_case(std::string_view text, std::string_view ending) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? c + 32 : c; };
    return text.size() >= ending.size() &&
           std::equal(ending.rbegin(), ending.rend(), text.rbegin(),
                      [&](char a, char b) { return lower(a) == lower(b); });
}

std::string inflate_start(std::string_view packed, std::size_t most_bytes) {
    z_stream stream{};
    if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) {  // Negative: raw deflate, no zlib header.
        return {};
    }
    std::string text(most_bytes, '\0');
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream.avail_in = static_cast<uInt>(std::min<std::size_t>(packed.size(), 1U << 30));
    stream.next_out = reinterpret_cast<Bytef*>(text.data());
    stream.avail_out = static_cast<uInt>(text.size());
    inflate(&stream, Z_FINISH);  // Ends early when the room is full; what came is what is wanted.
    text.resize(text.size() - stream.avail_out);
    inflateEnd(&stream);
    return text;
}

std::optional<std::string> entry_start(std::string_view archive, std::string_view central,
                                       std::size_t most_bytes) {
    const std::uint32_t flags = number(central, 8, 2);
    const std::uint32_t method = number(central, 10, 2);
    const std::size_t packed_size = number(central, 20, 4);
    const std::size_t local_at = number(central, 42, 4);
    if ((flags & 1) != 0 || local_at > archive.size() || archive.size() - local_at < kLocalBytes ||
        archive.substr(local_at, 4) != kLocalMark) {
        return std::nullopt;
    }
    const std::string_view local = archive.substr(local_at);
    const std::size_t skip = kLocalBytes + number(local, 26, 2) + number(local, 28, 2);
    if (skip > local.size() || local.size() - skip < packed_size) {
        return std::nullopt;
    }
    const std::string_view packed = local.substr(skip, packed_size);
    if (method == 0) {
        return std::string(packed.substr(0, most_bytes));
    }
    return method == 8 ? std::optional(inflate_start(packed, most_bytes)) : std::nullopt;
}

bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

// Where a tag ends: at the first > outside of quotes.
std::size_t tag_end(std::string_view tag) {
    char quote = '\0';
    for (std::size_t i = 0; i < tag.size(); ++i) {
        if (quote != '\0') {
            quote = tag[i] == quote ? '\0' : quote;
        } else if (tag[i] == '"' || tag[i] == '\'') {
            quote = tag[i];
        } else if (tag[i] == '>') {
            return i;
        }
    }
    return tag.npos;
}

// The inside of the first start tag, without declarations, comments and processing instructions.
std::optional<std::string_view> first_tag(std::string_view xml) {
    while (true) {
        const std::size_t open = xml.find('<');
        if (open == xml.npos) {
            return std::nullopt;
        }
        xml.remove_prefix(open);
        const bool comment = xml.starts_with("<!--");
        const bool aside = comment || xml.starts_with("<?") || xml.starts_with("<!");
        const std::size_t close = comment ? xml.find("-->") : tag_end(xml);
        if (close == xml.npos) {
            return std::nullopt;
        }
        if (!aside) {
            return xml.substr(1, close - 1);
        }
        xml.remove_prefix(close + 1);
    }
}

std::string_view take_name(std::string_view& tag) {
    const auto ends_name = [](char c) { return is_blank(c) || c == '=' || c == '/'; };
    const auto end =
        static_cast<std::size_t>(std::find_if(tag.begin(), tag.end(), ends_name) - tag.begin());
    const std::string_view name = tag.substr(0, end);
    tag.remove_prefix(end);
    return name;
}

void skip_blanks(std::string_view& tag) {
    while (!tag.empty() && is_blank(tag.front())) {
        tag.remove_prefix(1);
    }
}

}  // namespace

std::optional<ZipEntry> zip_entry(std::string_view archive, std::string_view ending,
                                  std::size_t most_bytes) {
    const std::size_t end_at = archive.rfind(kEndMark);
    if (end_at == archive.npos || archive.size() - end_at < kEndBytes) {
        return std::nullopt;
    }
    const std::size_t entries = number(archive, end_at + 10, 2);
    std::size_t at = number(archive, end_at + 16, 4);
    for (std::size_t i = 0; i < entries; ++i) {
        if (at > archive.size() || archive.size() - at < kCentralBytes ||
            archive.substr(at, 4) != kCentralMark) {
            return std::nullopt;
        }
        const std::string_view central = archive.substr(at);
        const std::size_t name_bytes = number(central, 28, 2);
        const std::size_t total =
            kCentralBytes + name_bytes + number(central, 30, 2) + number(central, 32, 2);
        if (total > central.size()) {
            return std::nullopt;
        }
        const std::string_view name = central.substr(kCentralBytes, name_bytes);
        if (ends_with_any_case(name, ending)) {
            auto start = entry_start(archive, central, most_bytes);
            return start ? std::optional(ZipEntry{std::string(name), std::move(*start)})
                         : std::nullopt;
        }
        at += total;
    }
    return std::nullopt;
}

std::optional<std::string> root_attribute(std::string_view xml, std::string_view element,
                                          std::string_view attribute) {
    const auto found = first_tag(xml);
    if (!found) {
        return std::nullopt;
    }
    std::string_view tag = *found;
    std::string_view name = take_name(tag);
    name.remove_prefix(std::min(name.find(':') + 1, name.size()));  // npos + 1 is 0
    if (name != element) {
        return std::nullopt;
    }
    while (true) {
        skip_blanks(tag);
        const std::string_view key = take_name(tag);
        skip_blanks(tag);
        if (key.empty() || !tag.starts_with('=')) {
            return std::string();
        }
        tag.remove_prefix(1);
        skip_blanks(tag);
        const std::size_t end = tag.empty() ? tag.npos : tag.find(tag.front(), 1);
        if (end == tag.npos || (tag.front() != '"' && tag.front() != '\'')) {
            return std::string();
        }
        if (key == attribute) {
            return std::string(tag.substr(1, end - 1));
        }
        tag.remove_prefix(end + 1);
    }
}

std::optional<double> unit_named(std::string_view word) {
    static constexpr std::array<std::pair<std::string_view, double>, 10> kUnits{{
        {"micron", 0.001},
        {"micrometer", 0.001},
        {"millimeter", 1.0},
        {"centimeter", 10.0},
        {"inch", 25.4},
        {"foot", 304.8},
        {"feet", 304.8},
        {"meter", 1000.0},
        {"millimetre", 1.0},
        {"metre", 1000.0},
    }};
    const auto* const found = std::find_if(kUnits.begin(), kUnits.end(),
                                           [&](const auto& unit) { return unit.first == word; });
    return found == kUnits.end() ? std::nullopt : std::optional(found->second);
}

namespace {

std::optional<double> stated(const std::optional<std::string>& attribute) {
    if (!attribute) {
        return std::nullopt;
    }
    return attribute->empty() ? 1.0 : unit_named(*attribute);
}

// The root element of a model stands within the first kilobytes, behind at most a comment.
constexpr std::size_t kXmlStartBytes = std::size_t{1} << 16;

}  // namespace

std::optional<double> unit_of_amf(std::string_view file) {
    return stated(root_attribute(file.substr(0, kXmlStartBytes), "amf", "unit"));
}

}  // namespace cavigram
