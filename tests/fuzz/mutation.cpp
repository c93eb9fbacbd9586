// SPDX-License-Identifier: GPL-3.0-or-later
#include "mutation.h"

#include <algorithm>
#include <array>

namespace fuzz {

namespace {

// std::uniform_int_distribution differs from one library to the next; this does not.
std::size_t below(std::size_t most, std::mt19937& random) {
    return most == 0 ? 0 : random() % most;
}

struct Piece {
    std::size_t at;
    std::size_t count;
};

Piece piece_of(const std::string& bytes, std::mt19937& random) {
    const std::size_t at = below(bytes.size() + 1, random);
    return {at, below(std::min<std::size_t>(bytes.size() - at, 64) + 1, random)};
}

Piece line_of(const std::string& bytes, std::mt19937& random) {
    const std::size_t near = below(bytes.size(), random);
    const std::size_t before = bytes.rfind('\n', near);
    const std::size_t at = before == bytes.npos ? 0 : before;
    return {at, std::min(bytes.find('\n', at + 1), bytes.size()) - at};
}

// A written number becomes another, of the kinds that break readers.
void change_number(std::string& bytes, std::mt19937& random) {
    static constexpr std::array<const char*, 12> kNumbers = {
        "0",      "-1",  "4294967295", "2147483648", "18446744073709551616",
        "1e400",  "nan", "-1e39",      "0.0000001",  "65536",
        "1e-320", "7"};
    static constexpr const char* kOfNumbers = "0123456789+-.eE";
    const std::size_t at = bytes.find_first_of("0123456789", below(bytes.size(), random));
    if (at != bytes.npos) {
        const std::size_t end = std::min(bytes.find_first_not_of(kOfNumbers, at), bytes.size());
        bytes.replace(at, end - at, kNumbers[below(kNumbers.size(), random)]);
    }
}

void change(std::string& bytes, const std::string& other, const std::vector<std::string>& words,
            std::mt19937& random) {
    const Piece piece = piece_of(bytes, random);
    switch (random() % 10) {
        case 0:
            if (!bytes.empty()) {
                bytes[below(bytes.size(), random)] ^= static_cast<char>(1U << (random() % 8));
            }
            break;
        case 1:
            for (std::size_t i = piece.at; i < std::min(piece.at + 4, bytes.size()); ++i) {
                bytes[i] = static_cast<char>(random() % 3 == 0 ? 0xFF : random());
            }
            break;
        case 2:
            bytes.resize(below(bytes.size() + 1, random));
            break;
        case 3:
            bytes.insert(piece.at, bytes.substr(piece.at, piece.count));
            break;
        case 4:
            bytes.erase(piece.at, piece.count);
            break;
        case 5: {
            const Piece from = piece_of(other, random);
            bytes.replace(piece.at, piece.count, other.substr(from.at, from.count));
            break;
        }
        case 6: {
            const Piece line = line_of(bytes, random);
            bytes.insert(line_of(bytes, random).at, bytes.substr(line.at, line.count));
            break;
        }
        case 7:
            if (!words.empty()) {
                bytes.replace(piece.at, random() % 2 == 0 ? 0 : piece.count,
                              words[below(words.size(), random)]);
                break;
            }
            [[fallthrough]];
        default:
            change_number(bytes, random);
            break;
    }
}

}  // namespace

std::string mutated(const std::vector<std::string>& seeds, const std::vector<std::string>& words,
                    std::mt19937& random) {
    std::string bytes = seeds[below(seeds.size(), random)];
    for (std::size_t left = 1 + below(4, random); left > 0; --left) {
        change(bytes, seeds[below(seeds.size(), random)], words, random);
    }
    return bytes;
}

}  // namespace fuzz
