// SPDX-License-Identifier: GPL-3.0-or-later
#include "call_words.h"

#include <fmt/core.h>

#include "option_table.h"

namespace cavigram::serve {

namespace {

// One word for a shell.
std::string quoted(const std::string& word) {
    static constexpr const char* kPlain =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./:,=+@%";
    if (!word.empty() && word.find_first_not_of(kPlain) == std::string::npos) {
        return word;
    }
    std::string text = "'";
    for (const char c : word) {
        text += c == '\'' ? std::string("'\\''") : std::string(1, c);
    }
    return text + "'";
}

// A basic string of TOML 1.0.
std::string toml_string(const std::string& text) {
    std::string quoted_text = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') {
            quoted_text += '\\';
            quoted_text += c;
        } else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
            quoted_text += fmt::format("\\u{:04x}", static_cast<unsigned char>(c));
        } else {
            quoted_text += c;
        }
    }
    return quoted_text + "\"";
}

}  // namespace

std::string command_line(const std::string& part, const program::JobValues& values) {
    std::string line = "cavigram plan " + quoted(part.front() == '-' ? "./" + part : part);
    for (const program::OptionRow& row : program::option_rows()) {
        const auto at = values.find(row.name);
        if (at == values.end()) {
            continue;
        }
        const std::string name = " --" + std::string(row.name);
        if (row.value.flag) {
            line += name;
            continue;
        }
        for (const std::string& text : at->second) {
            // A value that begins with a dash would be taken for an option.
            line += name + (text.rfind('-', 0) == 0 ? "=" : " ") + quoted(text);
        }
    }
    return line;
}

std::string job_text(const std::string& part, const program::JobValues& values) {
    std::string text = "# cavigram plan --job job.toml\npart = " + toml_string(part) + "\n";
    for (const program::OptionRow& row : program::option_rows()) {
        const auto at = values.find(row.name);
        if (at == values.end()) {
            continue;
        }
        text += std::string(row.name) + " = ";
        if (row.value.flag) {
            text += "true\n";
            continue;
        }
        std::string list;
        for (const std::string& one : at->second) {
            list += (list.empty() ? "" : ", ") + toml_string(one);
        }
        text += (row.value.list ? "[" + list + "]" : list) + "\n";
    }
    return text;
}

}  // namespace cavigram::serve
