// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <fstream>
#include <map>
#include <utility>
#include <vector>

namespace fuzz {

namespace {

// How many bytes the character at `at` has; 0: it is no UTF-8 (RFC 3629, section 4; what is longer
// than need be or half of a pair counts as damage too).
std::size_t utf8_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) {
        return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
    };
    const unsigned first = byte(at);
    if (first < 0x80) {
        return 1;
    }
    const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
    static constexpr std::array<std::uint32_t, 5> kLeast{0, 0, 0x80, 0x800, 0x10000};
    std::uint32_t code = first & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(at + i) & 0xC0U) != 0x80) {
            return 0;
        }
        code = code << 6U | (byte(at + i) & 0x3FU);
    }
    const bool valid = first >= 0xC2 && code >= kLeast[length] && code <= 0x10FFFF &&
                       (code < 0xD800 || code > 0xDFFF);
    return valid ? length : 0;
}

struct Scratch {
    std::filesystem::path path;
    Scratch() {
        std::string name = (std::filesystem::temp_directory_path() / "cavigram_fuzz_XXXXXX");
        if (::mkdtemp(name.data()) == nullptr) {
            throw std::runtime_error("no folder for temporary files");
        }
        path = name;
    }
    Scratch(const Scratch&) = delete;
    Scratch& operator=(const Scratch&) = delete;
    ~Scratch() {
        std::error_code ignored;
        std::filesystem::remove_all(path, ignored);
    }
};

}  // namespace

void require(bool holds, const char* promise) {
    if (!holds) {
        throw Broken(promise);
    }
}

void require_sentence(const std::string& sentence) {
    require(sentence.size() > 10, ("a refusal says too little: " + sentence).c_str());
    require(sentence.ends_with('.'), ("a refusal is no sentence: " + sentence).c_str());
    for (std::size_t at = 0; at < sentence.size();) {
        const std::size_t length = utf8_length(sentence, at);
        require(length > 0, ("a refusal is no UTF-8: " + sentence).c_str());
        require(static_cast<unsigned char>(sentence[at]) >= 0x20 && sentence[at] != 0x7F,
                ("a control character in a refusal: " + sentence).c_str());
        at += length;
    }
}

bool is_closed(const cavigram::TriMesh& mesh) {
    std::map<std::array<std::int32_t, 2>, int> balance;
    for (const cavigram::Triangle& t : mesh.triangles) {
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t a = t[i];
            const std::int32_t b = t[(i + 1) % 3];
            balance[{std::min(a, b), std::max(a, b)}] += a < b ? 1 : -1;
        }
    }
    for (const auto& [edge, sum] : balance) {
        if (sum != 0 || edge[0] == edge[1]) {
            return false;
        }
    }
    return true;
}

double signed_volume(const cavigram::TriMesh& mesh) {
    double six = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const cavigram::Vec3& o = mesh.vertices.front();
        six += (mesh.corner(t, 0) - o).dot((mesh.corner(t, 1) - o).cross(mesh.corner(t, 2) - o));
    }
    return six / 6.0;
}

std::string hex_of(std::string_view bytes) {
    static constexpr const char* kDigits = "0123456789abcdef";
    std::string text;
    for (const char c : bytes) {
        const auto value = static_cast<unsigned char>(c);
        text += kDigits[value >> 4U];
        text += kDigits[value & 15U];
    }
    return text;
}

namespace {

std::vector<std::function<void()>>& ends() {
    static std::vector<std::function<void()>> all;
    return all;
}

}  // namespace

void at_end(std::function<void()> stop) {
    ends().push_back(std::move(stop));
}

void end() {
    for (const auto& stop : ends()) {
        stop();
    }
    ends().clear();
}

const std::filesystem::path& scratch() {
    static const Scratch folder;
    return folder.path;
}

std::filesystem::path scratch_file(const std::string& name, std::string_view bytes) {
    std::filesystem::path path = scratch() / name;
    std::ofstream(path, std::ios::binary)
        .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    return path;
}

}  // namespace fuzz
