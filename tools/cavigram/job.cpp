// SPDX-License-Identifier: GPL-3.0-or-later
#include "job.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <fmt/core.h>
#include <toml++/toml.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

toml::table parsed_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file || std::filesystem::is_directory(path)) {
        throw UnusableInput(fmt::format("Can't read the job file {}; check the path.", path));
    }
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    try {
        return toml::parse(text);
    } catch (const toml::parse_error& error) {
        throw InvalidInput(fmt::format("{} is no valid TOML at line {}: {}; correct that line.",
                                       path, static_cast<unsigned>(error.source().begin.line),
                                       std::string(error.description())));
    }
}

std::string scalar_text(const toml::node& node, const std::string& key, const std::string& path) {
    if (const auto* text = node.as_string()) {
        return text->get();
    }
    if (const auto* whole = node.as_integer()) {
        return std::to_string(whole->get());
    }
    if (const auto* real = node.as_floating_point()) {
        return fmt::format("{:.17g}", real->get());
    }
    throw InvalidInput(fmt::format("{} in {} must be text in quotes or a number.", key, path));
}

// What only the command line can say is no key: the job itself, and words by their place but the
// part.
bool is_key(const OptionRow& row) {
    return std::string(row.name) != "job" && (!row.positional || std::string(row.name) == "part");
}

// The row of a key, whichever command's it is.
const OptionRow& row_of(const std::string& key, const std::string& path) {
    const OptionRow* row = find_option(key);
    if (row != nullptr && is_key(*row)) {
        return *row;
    }
    std::vector<std::string> known;
    for (const OptionRow& other : option_rows()) {
        if (is_key(other)) {
            known.emplace_back(other.name);
        }
    }
    const std::string nearest = nearest_word(key, known);
    throw InvalidInput(fmt::format("{} in {} is no option{}{}{}; correct or remove it.", key, path,
                                   nearest.empty() ? "" : "; did you mean ", nearest,
                                   nearest.empty() ? "" : "?"));
}

// Files that a job names lie beside it, unless it says otherwise.
std::string beside(const std::string& path, const OptionRow& row, const std::string& value) {
    const BesideJob beside = row.value.beside_job;
    const bool is_file =
        beside == BesideJob::yes ||
        (beside == BesideJob::if_toml && std::filesystem::path(value).extension() == ".toml");
    return is_file ? (std::filesystem::path(path).parent_path() / value).string() : value;
}

std::vector<std::string> texts_of(const OptionRow& row, const toml::node& node,
                                  const std::string& path) {
    if (row.value.flag) {
        const auto* flag = node.as_boolean();
        if (flag == nullptr) {
            throw InvalidInput(fmt::format("{} in {} must be true or false.", row.name, path));
        }
        return flag->get() ? std::vector<std::string>{"true"} : std::vector<std::string>{};
    }
    std::vector<std::string> texts;
    const auto* list = row.value.list ? node.as_array() : nullptr;
    if (list == nullptr) {
        return {beside(path, row, scalar_text(node, row.name, path))};
    }
    for (const toml::node& item : *list) {
        texts.push_back(beside(path, row, scalar_text(item, row.name, path)));
    }
    return texts;
}

}  // namespace

JobValues read_job(const std::string& path) {
    JobValues values;
    for (const auto& [key, node] : parsed_file(path)) {
        const OptionRow& row = row_of(std::string(key.str()), path);
        std::vector<std::string> texts = texts_of(row, node, path);
        if (!texts.empty()) {
            values[row.name] = std::move(texts);
        }
    }
    return values;
}

}  // namespace cavigram::program
