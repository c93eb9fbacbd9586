// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

#include "cavigram/core/limits.h"
#include "cavigram/core/quantity.h"

#include "options.h"

namespace cavigram::program {

/// The commands that take an option: bits, in the order of kCommandNames.
using CommandSet = unsigned;
inline constexpr const char* kCommandNames[] = {
    "inspect",    "thin",          "weigh",        "vent",       "orient",    "bench",
    "split",      "mold",          "handle",       "rise",       "plan",      "tally add",
    "tally list", "tally correct", "tally remove", "tally undo", "tally fit", "tally export",
    "foams",      "schema",        "serve"};
inline constexpr CommandSet kInspect = 1U << 0U;
inline constexpr CommandSet kThin = 1U << 1U;
inline constexpr CommandSet kWeigh = 1U << 2U;
inline constexpr CommandSet kVent = 1U << 3U;
inline constexpr CommandSet kOrient = 1U << 4U;
inline constexpr CommandSet kBench = 1U << 5U;
inline constexpr CommandSet kSplit = 1U << 6U;
inline constexpr CommandSet kMold = 1U << 7U;
inline constexpr CommandSet kHandle = 1U << 8U;
inline constexpr CommandSet kRise = 1U << 9U;
inline constexpr CommandSet kPlan = 1U << 10U;
inline constexpr CommandSet kTallyAdd = 1U << 11U;
inline constexpr CommandSet kTallyList = 1U << 12U;
inline constexpr CommandSet kTallyCorrect = 1U << 13U;
inline constexpr CommandSet kTallyRemove = 1U << 14U;
inline constexpr CommandSet kTallyUndo = 1U << 15U;
inline constexpr CommandSet kTallyFit = 1U << 16U;
inline constexpr CommandSet kTallyExport = 1U << 17U;
inline constexpr CommandSet kFoams = 1U << 18U;
inline constexpr CommandSet kSchema = 1U << 19U;
inline constexpr CommandSet kServe = 1U << 20U;
/// By what is computed: all that make a plan of a part; all that know its skin; all that weigh it.
inline constexpr CommandSet kPlans =
    kInspect | kThin | kWeigh | kVent | kOrient | kBench | kSplit | kMold | kHandle | kRise | kPlan;
inline constexpr CommandSet kPart = kPlans | kTallyAdd;
inline constexpr CommandSet kSkin = kThin | kWeigh | kBench | kMold | kHandle | kRise | kPlan;
inline constexpr CommandSet kGrams = kWeigh | kBench | kMold | kHandle | kRise | kPlan;
inline constexpr CommandSet kTallyWrites = kTallyAdd | kTallyCorrect;
inline constexpr CommandSet kTallyReads = kTallyList | kTallyFit | kTallyExport;
inline constexpr CommandSet kTally = kTallyWrites | kTallyReads | kTallyRemove | kTallyUndo;

/// The bit of a command. \pre the name is in kCommandNames
[[nodiscard]] CommandSet command_bit(const std::string& name);
/// The names of the commands of a set, in order.
[[nodiscard]] std::vector<std::string> command_names(CommandSet commands);

/// What belongs together, in the order in which people look for it.
enum class Group {
    part,
    size,
    foam,
    cup,
    room,
    mold,
    around,
    hands,
    grip,
    thin,
    weighed,
    mending,
    program
};
[[nodiscard]] const char* to_text(Group group);

/// Whether a value names a file that a job file may name relative to itself.
enum class BesideJob { no, yes, if_toml };

/// How the text of an option is read, and where it goes.
struct OptionValue {
    std::string kind;  ///< In words, with limits: "a density from 10 kg/m3 to 2000 kg/m3".
    /// Takes the text into the options; `name` is how an error calls it. \throw InvalidInput
    std::function<void(Options& options, const std::string& text, const std::string& name)> read;
    bool flag = false;  ///< Takes no value.
    bool list = false;  ///< May be repeated.
    BesideJob beside_job = BesideJob::no;
    std::vector<std::string> words = {};  ///< All that it may be, where they are few.
};

/// One option. The parser, help, job files, docs/options.md and the tests know no other place.
struct OptionRow {
    const char* name = "";  ///< Long name without dashes, also the key in a job file.
    Group group = Group::part;
    CommandSet commands = 0;   ///< Those whose output it changes.
    const char* example = "";  ///< As typed; empty for a flag.
    const char* help = "";     ///< Half a sentence.
    OptionValue value;
    /// For the tests, where the example shows nothing (it is the default): another value.
    const char* second = "";
    bool positional = false;
    CommandSet several = 0;  ///< Commands that take several of a word by its place.
};

/// All options, in the order of help and docs.
[[nodiscard]] const std::vector<OptionRow>& option_rows();
/// The row of that name, or null.
[[nodiscard]] const OptionRow* find_option(const std::string& name);

// The table's parts, one file each.
[[nodiscard]] std::vector<OptionRow> part_options();
[[nodiscard]] std::vector<OptionRow> foam_options();
[[nodiscard]] std::vector<OptionRow> pouring_options();
[[nodiscard]] std::vector<OptionRow> molding_options();
[[nodiscard]] std::vector<OptionRow> tally_options();
[[nodiscard]] std::vector<OptionRow> program_options();

/// "a, b and c". \pre there is at least one word
[[nodiscard]] std::string listed(const std::vector<std::string>& words, const char* last);

/// Where a value goes: a function from Options to what a path of members leads to.
template <class... Members>
auto into(Members... path) {
    return [=](Options& o) -> decltype(auto) { return (o.*....*path); };  // a fold over .*
}
auto part(auto m) {
    return into(&Options::plan, &PlanRequest::part, m);
}
auto foam(auto m) {
    return into(&Options::plan, &PlanRequest::foam, m);
}
auto air(auto m) {
    return into(&Options::plan, &PlanRequest::air, m);
}
auto mold(auto m) {
    return into(&Options::plan, &PlanRequest::mold, m);
}
auto bench(auto m) {
    return into(&Options::plan, &PlanRequest::bench, m);
}
auto handle(auto m) {
    return into(&Options::plan, &PlanRequest::handle, m);
}
auto rise(auto m) {
    return into(&Options::plan, &PlanRequest::rise, m);
}

/// "a density from 10 kg/m3 to 2000 kg/m3"; limits that only fence off typing errors are not told.
[[nodiscard]] std::string range_words(Kind kind, double least, double most);
/// A quantity within limits in the held unit, `factor` of which makes what the member holds.
template <class Field>
OptionValue quantity(Kind kind, double least, double most, Field field, double factor = 1.0) {
    return {range_words(kind, least, most),
            [=](Options& o, const std::string& text, const std::string& name) {
                field(o) = factor * parse_quantity(text, kind, name, least, most);
            }};
}

template <class Field>
OptionValue quantity(Kind kind, Limits limits, Field field, double factor = 1.0) {
    return quantity(kind, limits.least, limits.most, field, factor);
}

/// What `parse(text, name)` makes of the text.
/// `words`: all that the text may be, where they are few.
template <class Parse, class Field>
OptionValue parsed(const char* kind, Parse parse, Field field,
                   std::vector<std::string> words = {}) {
    OptionValue value{kind, [=](Options& o, const std::string& text, const std::string& name) {
                          field(o) = parse(text, name);
                      }};
    value.words = std::move(words);
    return value;
}

/// One of a few words. \throw InvalidInput naming them
[[nodiscard]] std::size_t parse_word(const std::string& text, const std::string& name,
                                     const std::vector<std::string>& words);
template <class Value, class Field>
OptionValue choice(std::initializer_list<std::pair<const char*, Value>> meanings, Field field) {
    std::vector<std::string> words;
    std::vector<Value> values;
    for (const auto& [word, value] : meanings) {
        words.emplace_back(word);
        values.push_back(value);
    }
    OptionValue value{"a word", [=](Options& o, const std::string& text, const std::string& name) {
                          field(o) = values[parse_word(text, name, words)];
                      }};
    value.words = words;
    return value;
}

/// A whole number; `range` says in words what is allowed.
[[nodiscard]] int parse_whole(const std::string& text, const std::string& name, int least, int most,
                              const char* range);
template <class Field>
OptionValue whole_number(int least, int most, const char* range, Field field) {
    return {"a whole number", [=](Options& o, const std::string& text, const std::string& name) {
                field(o) = parse_whole(text, name, least, most, range);
            }};
}

/// The text itself: a note, a file to write.
template <class Field>
OptionValue text(const char* kind, Field field) {
    return {kind,
            [=](Options& o, const std::string& given, const std::string&) { field(o) = given; }};
}

template <class Field>
OptionValue flag(Field field) {
    return {"", [=](Options& o, const std::string&, const std::string&) { field(o) = true; }, true};
}

}  // namespace cavigram::program
