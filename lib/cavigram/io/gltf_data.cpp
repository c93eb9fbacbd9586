// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <fstream>
#include <limits>
#include <system_error>
#include <utility>

#include <fmt/core.h>
#include <meshoptimizer.h>

#include "cavigram/io/gltf_data_detail.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"

namespace cavigram {

namespace {

namespace fs = std::filesystem;

// Of numbers that stand in no buffer nothing but this bounds the count.
constexpr std::uint64_t kMostElements = 50'000'000;

std::size_t component_bytes(std::uint64_t type) {
    switch (type) {
        case 5120:
        case 5121:
            return 1;
        case 5122:
        case 5123:
            return 2;
        case 5125:
        case 5126:
            return 4;
        default:
            return 0;
    }
}

template <class Number>
double read_as(const char* from, bool normalized) {
    Number value{};
    std::memcpy(&value, from, sizeof value);
    const auto number = static_cast<double>(value);
    return normalized
               ? std::max(number / static_cast<double>(std::numeric_limits<Number>::max()), -1.0)
               : number;
}

double component(const char* from, std::uint64_t type, bool normalized) {
    switch (type) {
        case 5120:
            return read_as<std::int8_t>(from, normalized);
        case 5121:
            return read_as<std::uint8_t>(from, normalized);
        case 5122:
            return read_as<std::int16_t>(from, normalized);
        case 5123:
            return read_as<std::uint16_t>(from, normalized);
        case 5125:
            return read_as<std::uint32_t>(from, normalized);
        default:
            return read_as<float>(from, false);
    }
}

int hexadecimal(char c) {
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

std::string percent_decoded(std::string_view uri) {
    std::string text;
    for (std::size_t i = 0; i < uri.size(); ++i) {
        if (uri[i] == '%' && i + 2 < uri.size() && hexadecimal(uri[i + 1]) >= 0 &&
            hexadecimal(uri[i + 2]) >= 0) {
            text += static_cast<char>(16 * hexadecimal(uri[i + 1]) + hexadecimal(uri[i + 2]));
            i += 2;
        } else {
            text += uri[i];
        }
    }
    return text;
}

// RFC 4648, section 4. -1 for any other letter.
int base64_value(char c) {
    constexpr std::string_view kLetters =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const std::size_t at = kLetters.find(c);
    return at == kLetters.npos ? -1 : static_cast<int>(at);
}

// Empty if there is anything else in it.
std::string base64_decoded(std::string_view text) {
    while (text.ends_with('=')) {
        text.remove_suffix(1);
    }
    std::string bytes;
    bytes.reserve(text.size() / 4 * 3 + 3);
    std::uint32_t bits = 0;
    int count = 0;
    for (const char c : text) {
        const int value = base64_value(c);
        if (value < 0) {
            return {};
        }
        bits = (bits << 6) | static_cast<std::uint32_t>(value);
        count += 6;
        if (count >= 8) {
            count -= 8;
            bytes += static_cast<char>(bits >> count & 0xFFU);
        }
    }
    return bytes;
}

}  // namespace

GltfData::GltfData(const GltfDocument& document, std::optional<std::string_view> bin,
                   fs::path folder, std::string_view name)
    : document_(document), bin_(bin), folder_(std::move(folder)), name_(name) {}

// ---- buffers ----

std::string GltfData::from_file(const std::string& uri) const {
    const auto refuse_uri = [&](const char* why) {
        refuse(name_, "its data are in " + shown_text(uri) + ", " + why +
                          "; export the part as one GLB file");
    };
    const fs::path relative(percent_decoded(uri));
    if (relative.is_absolute() || uri.find('\\') != uri.npos || uri.find(':') != uri.npos ||
        relative.string().find('\0') != std::string::npos ||
        std::find(relative.begin(), relative.end(), "..") != relative.end()) {
        refuse_uri("which is not beside the file and is not read");
    }
    std::error_code error;
    const fs::path home = fs::canonical(folder_.empty() ? fs::path(".") : folder_, error);
    const fs::path path = error ? fs::path() : fs::canonical(home / relative, error);
    if (error || !fs::is_regular_file(path, error)) {
        refuse_uri("which is not there");
    }
    // A link may lead away.
    if (std::mismatch(home.begin(), home.end(), path.begin(), path.end()).first != home.end()) {
        refuse_uri("which is not beside the file and is not read");
    }
    std::ifstream file(path, std::ios::binary);
    std::string bytes(static_cast<std::size_t>(fs::file_size(path, error)), '\0');
    file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    if (error || static_cast<std::size_t>(file.gcount()) != bytes.size()) {
        refuse_uri("which can't be read");
    }
    return bytes;
}

std::string GltfData::from_uri(const std::string& uri) const {
    if (!uri.starts_with("data:")) {
        return from_file(uri);
    }
    const std::size_t comma = uri.find(',');
    if (comma == uri.npos || !std::string_view(uri).substr(0, comma).ends_with(";base64")) {
        refuse(name_, "it holds data that are not in base64; export the part as one GLB file");
    }
    return base64_decoded(std::string_view(uri).substr(comma + 1));
}

std::string_view GltfData::buffer(std::size_t index) {
    if (index >= document_.buffers.size()) {
        refuse(name_, "it names a buffer that it does not hold; export the part again");
    }
    const GltfBuffer& about = document_.buffers[index];
    std::string_view bytes;
    if (about.uri) {
        auto found = loaded_.find(index);
        if (found == loaded_.end()) {
            found = loaded_.emplace(index, from_uri(*about.uri)).first;
        }
        bytes = found->second;
    } else if (index == 0 && bin_) {
        bytes = *bin_;
    }
    if (bytes.size() < about.bytes) {
        refuse(name_,
               fmt::format("its data should be {} bytes but only {} are there; copy or export "
                           "it again",
                           static_cast<unsigned long long>(about.bytes), bytes.size()));
    }
    return bytes.substr(0, static_cast<std::size_t>(about.bytes));
}

std::string_view GltfData::slice(std::string_view bytes, std::uint64_t offset,
                                 std::uint64_t count) const {
    if (offset > bytes.size() || count > bytes.size() - offset) {
        refuse(name_, "it names data beyond the end of what it holds; export the part again");
    }
    return bytes.substr(static_cast<std::size_t>(offset), static_cast<std::size_t>(count));
}

// ---- views ----

std::string GltfData::unpacked(const GltfMeshopt& packed) {
    const std::string_view source = slice(buffer(packed.buffer), packed.offset, packed.bytes);
    // The codec's shortest code is two bits for sixteen bytes, so more than 64 times does not come
    // out of anything. Held before room is made.
    const bool sized = packed.stride > 0 && packed.stride <= 256 &&
                       packed.count <= (64 * packed.bytes + 1024) / packed.stride;
    std::string bytes(sized ? static_cast<std::size_t>(packed.count * packed.stride) : 0, '\0');
    const auto count = static_cast<std::size_t>(packed.count);
    const auto stride = static_cast<std::size_t>(packed.stride);
    const auto* const from = reinterpret_cast<const unsigned char*>(source.data());
    int result = -1;
    if (sized && packed.mode == "ATTRIBUTES" && stride % 4 == 0) {
        result = meshopt_decodeVertexBuffer(bytes.data(), count, stride, from, source.size());
    } else if (sized && packed.mode == "TRIANGLES" && (stride == 2 || stride == 4) &&
               count % 3 == 0) {
        result = meshopt_decodeIndexBuffer(bytes.data(), count, stride, from, source.size());
    } else if (sized && packed.mode == "INDICES" && (stride == 2 || stride == 4)) {
        result = meshopt_decodeIndexSequence(bytes.data(), count, stride, from, source.size());
    }
    if (result == 0 && packed.filter == "OCTAHEDRAL" && (stride == 4 || stride == 8)) {
        meshopt_decodeFilterOct(bytes.data(), count, stride);
    } else if (result == 0 && packed.filter == "QUATERNION" && stride == 8) {
        meshopt_decodeFilterQuat(bytes.data(), count, stride);
    } else if (result == 0 && packed.filter == "EXPONENTIAL" && stride % 4 == 0) {
        meshopt_decodeFilterExp(bytes.data(), count, stride);
    } else if (packed.filter != "NONE") {
        result = -1;
    }
    if (result != 0) {
        refuse(name_,
               "its packed data (EXT_meshopt_compression) are damaged; export the part "
               "again, without compression if you can");
    }
    return bytes;
}

std::string_view GltfData::view(std::size_t index) {
    if (index >= document_.views.size()) {
        refuse(name_, "it names a piece of its data that is not there; export the part again");
    }
    const GltfView& about = document_.views[index];
    if (!about.meshopt) {
        return slice(buffer(about.buffer), about.offset, about.bytes);
    }
    auto found = unpacked_.find(index);
    if (found == unpacked_.end()) {
        found = unpacked_.emplace(index, unpacked(*about.meshopt)).first;
    }
    return found->second;
}

// ---- accessors ----

const GltfAccessor& GltfData::accessor(std::size_t index) const {
    if (index >= document_.accessors.size()) {
        refuse(name_, "it names numbers that are not there; export the part again");
    }
    return document_.accessors[index];
}

// Calls take(element, from) for each element that stands in a buffer, `from` at its first
// component; the sparse ones last, over those before.
template <class Take>
void GltfData::each(const GltfAccessor& a, std::size_t width, const Take& take) {
    const std::uint64_t element = component_bytes(a.component_type) * width;
    const std::string_view bytes = a.view ? view(*a.view) : std::string_view();
    const std::uint64_t given = a.view ? document_.views[*a.view].stride : 0;
    const std::uint64_t stride = given == 0 ? element : given;
    // Strides are at most 252 (section 5.11); a bound of any kind keeps the product below in range.
    if (element == 0 || a.width != width || a.count == 0 || a.count > kMostElements ||
        stride < element || stride > 65536) {
        refuse(name_, "it describes its numbers in a way that no mesh may; export the part again");
    }
    if (a.view) {
        const std::string_view used = slice(bytes, a.offset, (a.count - 1) * stride + element);
        for (std::uint64_t i = 0; i < a.count; ++i) {
            take(static_cast<std::size_t>(i), used.data() + i * stride);
        }
    }
    if (!a.sparse) {
        return;
    }
    const GltfSparse& sparse = *a.sparse;
    const std::uint64_t index_bytes = component_bytes(sparse.index_type);
    if (sparse.count > a.count || index_bytes == 0 || sparse.index_type == 5126) {
        refuse(name_, "it describes its numbers in a way that no mesh may; export the part again");
    }
    const std::string_view indices =
        slice(view(sparse.index_view), sparse.index_offset, sparse.count * index_bytes);
    const std::string_view values =
        slice(view(sparse.value_view), sparse.value_offset, sparse.count * element);
    for (std::uint64_t i = 0; i < sparse.count; ++i) {
        const double at = component(indices.data() + i * index_bytes, sparse.index_type, false);
        if (!(at >= 0.0 && at < static_cast<double>(a.count))) {
            refuse(name_, "it replaces a number that is not there; export the part again");
        }
        take(static_cast<std::size_t>(at), values.data() + i * element);
    }
}

std::vector<double> GltfData::numbers(std::size_t index, std::size_t width) {
    const GltfAccessor& a = accessor(index);
    const std::size_t bytes = component_bytes(a.component_type);
    std::vector<double> result;
    const auto make_room = [&] {
        if (result.empty()) {
            result.resize(static_cast<std::size_t>(a.count) * width);
        }
    };
    each(a, width, [&](std::size_t element, const char* from) {
        make_room();
        for (std::size_t k = 0; k < width; ++k) {
            result[element * width + k] =
                component(from + k * bytes, a.component_type, a.normalized);
        }
    });
    make_room();
    return result;
}

std::vector<std::uint32_t> GltfData::indices(std::size_t index) {
    const GltfAccessor& a = accessor(index);
    if (a.component_type != 5121 && a.component_type != 5123 && a.component_type != 5125) {
        refuse(name_, "its corners are not whole numbers; export the part again");
    }
    const std::vector<double> numbers_here = numbers(index, 1);
    std::vector<std::uint32_t> result(numbers_here.size());
    for (std::size_t i = 0; i < result.size(); ++i) {
        result[i] = static_cast<std::uint32_t>(numbers_here[i]);
    }
    return result;
}

}  // namespace cavigram
