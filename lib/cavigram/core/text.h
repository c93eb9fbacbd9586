// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace cavigram {

/// `value` with so many significant digits and no exponent between 1e-4 and 1e15: 12345.678 with 3
/// digits is "12300". For people; JSON carries full precision.
[[nodiscard]] std::string significant(double value, int digits);

/// Of `known`, the word nearest to `word` in edits (insert, delete, replace, swap neighbors), or
/// empty if none is within a third of its length. For "did you mean" in errors.
///
/// O(words x length^2).
[[nodiscard]] std::string nearest_word(std::string_view word,
                                       const std::vector<std::string>& known);

/// What a text that is none of the words of a choice is told: "--weighing is "x"; give tared or
/// direct." `name` is how it calls what was to be chosen.
///
/// \throw InvalidInput always
[[noreturn]] void refuse_choice(std::string_view text, std::string_view name,
                                std::span<const std::string_view> words);

/// The one of a few values whose word, its to_text, is `text`.
///
/// \throw InvalidInput naming the words
template <class Choice>
[[nodiscard]] Choice parse_choice(std::string_view text, std::string_view name,
                                  std::initializer_list<Choice> choices) {
    std::vector<std::string_view> words;
    for (const Choice choice : choices) {
        words.emplace_back(to_text(choice));
        if (text == words.back()) {
            return choice;
        }
    }
    refuse_choice(text, name, words);
}

}  // namespace cavigram
