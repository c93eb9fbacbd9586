// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the seeds and the words of each target to a folder, as libFuzzer reads them.
//   fuzz_seeds FOLDER [MESH FILE ...]     small files, or the beginnings of larger ones, become
//   seeds too
#include <filesystem>
#include <fstream>
#include <iterator>

#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>
#include <fmt/core.h>

#include "seeds.h"

namespace {

namespace fs = std::filesystem;

// Every byte by its number, so that nothing in a word has a meaning of its own.
std::string dictionary_line(const std::string& word) {
    std::string line = "\"";
    for (const char c : word) {
        line += fmt::format("\\x{:02X}", static_cast<unsigned char>(c));
    }
    return line + "\"\n";
}

void write(const fs::path& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

std::string start_of(const fs::path& path) {
    constexpr std::size_t kMost = 6'000;  // Longer inputs make a fuzzer slow.
    std::ifstream file(path, std::ios::binary);
    std::string bytes(kMost, '\0');
    file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    bytes.resize(static_cast<std::size_t>(file.gcount()));
    return bytes;
}

}  // namespace

int main(int count, char** words) {
    doctest::Context context;
    context.setAsDefaultForAssertsOutOfTestCases();
    const fs::path folder = words[1];
    for (const fuzz::Target& target : fuzz::targets()) {
        const fs::path own = folder / target.name;
        fs::create_directories(own);
        int number = 0;
        for (const std::string& seed : target.seeds()) {
            write(own / fmt::format("seed_{}", number++), seed);
        }
        for (int i = 2; i < count; ++i) {
            const std::string ending = fs::path(words[i]).extension();
            const bool fits = ending == std::string(".") + target.name ||
                              (ending == ".glb" && target.name == std::string("gltf")) ||
                              (ending == ".3mf" && target.name == std::string("threemf"));
            if (fits) {
                write(own / fmt::format("file_{}", i), start_of(words[i]));
            }
        }
        std::string dictionary;
        for (const std::string& word : fuzz::words_of(target)) {
            dictionary += dictionary_line(word);
        }
        write(folder / (std::string(target.name) + ".dict"), dictionary);
        fmt::print("{}\n", target.name);
    }
}
