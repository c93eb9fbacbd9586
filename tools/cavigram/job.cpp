// SPDX-License-Identifier: GPL-3.0-or-later
#include "job.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include <toml++/toml.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram::program {

namespace {

toml::table read_job(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file || std::filesystem::is_directory(path)) {
        throw UnusableInput(format("Can't read the job file %s; check the path.", path.c_str()));
    }
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    try {
        return toml::parse(text);
    } catch (const toml::parse_error& error) {
        throw InvalidInput(format("%s is no valid TOML at line %u: %s; correct that line.",
                                  path.c_str(), static_cast<unsigned>(error.source().begin.line),
                                  std::string(error.description()).c_str()));
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
        return format("%.17g", real->get());
    }
    throw InvalidInput(
        format("%s in %s must be text in quotes or a number.", key.c_str(), path.c_str()));
}

void refuse_key(const CLI::App& command, const std::string& key, const std::string& path) {
    std::vector<std::string> known = {"part"};
    for (const CLI::Option* option : command.get_options()) {
        for (const std::string& name : option->get_lnames()) {
            known.push_back(name);
        }
    }
    const std::string nearest = nearest_word(key, known);
    throw InvalidInput(format("%s in %s is no option of this command%s%s%s; correct or remove it.",
                              key.c_str(), path.c_str(), nearest.empty() ? "" : "; did you mean ",
                              nearest.c_str(), nearest.empty() ? "" : "?"));
}

}  // namespace

namespace {

// Files that a job names lie beside it, unless it says otherwise.
std::string beside(const std::string& path, const std::string& key, const std::string& value) {
    const bool is_file = key == "part" || key == "also" ||
                         (key == "foam" && std::filesystem::path(value).extension() == ".toml");
    return is_file ? (std::filesystem::path(path).parent_path() / value).string() : value;
}

}  // namespace

std::vector<std::string> job_arguments(const CLI::App& command, const std::string& path) {
    const toml::table job = read_job(path);
    std::vector<std::string> added;
    for (const auto& [key_node, node] : job) {
        const std::string key(key_node.str());
        const bool is_part = key == "part";
        const CLI::Option* option = command.get_option_no_throw(is_part ? "part" : "--" + key);
        if (option == nullptr || key == "job" || key == "help") {
            refuse_key(command, key, path);
        }
        if (option->count() > 0) {
            continue;  // flags win
        }
        const std::string prefix = "--" + key + "=";
        if (is_part) {
            added.push_back(beside(path, key, scalar_text(node, key, path)));
        } else if (const auto* flag = node.as_boolean()) {
            if (flag->get()) {
                added.push_back("--" + key);
            }
        } else if (const auto* list = node.as_array()) {
            for (const toml::node& item : *list) {
                added.push_back(prefix + beside(path, key, scalar_text(item, key, path)));
            }
        } else {
            added.push_back(prefix + beside(path, key, scalar_text(node, key, path)));
        }
    }
    return added;
}

}  // namespace cavigram::program
