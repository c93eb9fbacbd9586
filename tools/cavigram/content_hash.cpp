// SPDX-License-Identifier: GPL-3.0-or-later
#include "content_hash.h"

#include <array>
#include <fstream>
#include <iterator>
#include <optional>
#include <vector>

#include <fmt/core.h>
#include <nettle/sha2.h>
#include <nlohmann/json.hpp>

namespace cavigram::program {

namespace {

class Sha256 {
  public:
    Sha256() { sha256_init(&state_); }
    void add(std::string_view bytes) {
        sha256_update(&state_, bytes.size(), reinterpret_cast<const std::uint8_t*>(bytes.data()));
    }
    [[nodiscard]] std::string digits() {
        std::array<std::uint8_t, SHA256_DIGEST_SIZE> digest{};
        sha256_digest(&state_, digest.size(), digest.data());
        std::string text;
        for (const std::uint8_t byte : digest) {
            text += fmt::format("{:02x}", byte);
        }
        return text;
    }

  private:
    sha256_ctx state_{};
};

// What a percent sign and two digits stand for in the name of a buffer.
std::string percent_decoded(const std::string& uri) {
    std::string text;
    for (std::size_t i = 0; i < uri.size(); ++i) {
        const std::string digits = uri[i] == '%' ? uri.substr(i + 1, 2) : "";
        if (digits.size() == 2 &&
            digits.find_first_not_of("0123456789abcdefABCDEF") == std::string::npos) {
            text += static_cast<char>(std::stoi(digits, nullptr, 16));
            i += 2;
        } else {
            text += uri[i];
        }
    }
    return text;
}

// Whatever is wrong with such a file is for its reader to say.
std::vector<std::filesystem::path> buffers_beside(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    const auto json = nlohmann::json::parse(file, nullptr, false);
    std::vector<std::filesystem::path> beside;
    if (!json.is_object() || !json.contains("buffers") || !json["buffers"].is_array()) {
        return beside;
    }
    for (const auto& buffer : json["buffers"]) {
        if (!buffer.is_object() || !buffer.contains("uri") || !buffer["uri"].is_string()) {
            continue;
        }
        const std::string uri = buffer["uri"];
        if (!uri.starts_with("data:")) {
            beside.push_back(path.parent_path() / percent_decoded(uri));
        }
    }
    return beside;
}

}  // namespace

std::string sha256(std::string_view bytes) {
    Sha256 hash;
    hash.add(bytes);
    return hash.digits();
}

std::string sha256_of_file(const std::filesystem::path& path) {
    std::error_code error;
    std::ifstream file(path, std::ios::binary);
    if (!file || !std::filesystem::is_regular_file(path, error)) {
        return "";
    }
    Sha256 hash;
    std::vector<char> piece(std::size_t{1} << 20U);
    while (file) {
        file.read(piece.data(), static_cast<std::streamsize>(piece.size()));
        hash.add({piece.data(), static_cast<std::size_t>(file.gcount())});
    }
    return file.bad() ? "" : hash.digits();
}

std::string sha256_of_mesh(const std::filesystem::path& path) {
    std::string all = sha256_of_file(path);
    if (all.empty() || path.extension() != ".gltf") {
        return all;
    }
    for (const auto& beside : buffers_beside(path)) {
        all += " " + sha256_of_file(beside);
    }
    return all.find(' ') == std::string::npos ? all : sha256(all);
}

}  // namespace cavigram::program
