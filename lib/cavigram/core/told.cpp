// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

// A mark is "\x1e KIND:DIGITS:TELLING:VALUE \x1f", "\x1e @X:Y:Z \x1f" for a place or
// "\x1e -NAME \x1f" for a setting: control characters that no text of ours holds.
constexpr char kOpen = '\x1e';
constexpr char kClose = '\x1f';

// By the exact inch and pound (NIST SP 811, 2008, B.8).
constexpr double kInch_mm = 25.4;
constexpr double kOunce_g = 28.349523125;
constexpr double kPoundPerCubicFoot_kg_m3 = 16.018463373960138;
constexpr double kPsi_kpa = 6.894757293168361;
constexpr double kOuncePerSquareFoot_g_m2 = 305.15172727389685;

// What no kitchen scale shows is told in kilograms and pounds.
constexpr double kHeavy_g = 10'000.0;

struct Figure {
    double value = 0.0;
    const char* unit = "";
};

Figure metric(double value, Kind kind) {
    switch (kind) {
        case Kind::length:
            return {value, "mm"};
        case Kind::area:
            return {value / 100.0, "cm2"};
        case Kind::volume:
            return value < 1e6 ? Figure{value / 1000.0, "cm3"} : Figure{value / 1e6, "L"};
        case Kind::mass:
            return value < kHeavy_g ? Figure{value, "g"} : Figure{value / 1000.0, "kg"};
        case Kind::density:
            return {value, "kg/m3"};
        case Kind::areal_density:
            return {value, "g/m2"};
        case Kind::temperature:
            return {value, "C"};
        case Kind::pressure:
            return {value, "kPa"};
        default:
            CAVIGRAM_ASSERT(false);
            return {value, ""};
    }
}

Figure us(double value, Kind kind) {
    switch (kind) {
        case Kind::length:
            return {value / kInch_mm, "in"};
        case Kind::area:
            return {value / (kInch_mm * kInch_mm), "in2"};
        case Kind::volume:
            return {value / (kInch_mm * kInch_mm * kInch_mm), "in3"};
        case Kind::mass:
            return value < kHeavy_g ? Figure{value / kOunce_g, "oz"}
                                    : Figure{value / kOunce_g / 16.0, "lb"};
        case Kind::density:
            return {value / kPoundPerCubicFoot_kg_m3, "lb/ft3"};
        case Kind::areal_density:
            return {value / kOuncePerSquareFoot_g_m2, "oz/ft2"};
        case Kind::temperature:
            return {1.8 * value + 32.0, "F"};
        case Kind::pressure:
            return {value / kPsi_kpa, "psi"};
        default:
            CAVIGRAM_ASSERT(false);
            return {value, ""};
    }
}

std::string figure_text(const Figure& figure, int digits, bool with_unit) {
    return significant(figure.value, digits) + (with_unit ? std::string(" ") + figure.unit : "");
}

std::string place_text(const std::array<double, 3>& mm, bool metric) {
    const double per_unit = metric ? 1.0 : kInch_mm;
    const double steps = metric ? 10.0 : 100.0;
    // Adding 0 turns -0.0 into 0.0.
    const auto shown = [&](double v) { return std::round(steps * v / per_unit) / steps + 0.0; };
    return fmt::format("x {:.{}f}, y {:.{}f}, z {:.{}f} {}", shown(mm[0]), metric ? 1 : 2,
                       shown(mm[1]), metric ? 1 : 2, shown(mm[2]), metric ? 1 : 2,
                       metric ? "mm" : "in");
}

std::string setting_text(std::string name, Settings settings) {
    if (settings == Settings::options) {
        return "--" + name;
    }
    std::replace(name.begin(), name.end(), '-', '_');
    return name;
}

// Drills in inches come in steps of 1/64 (common practice, no source); one that is narrower by less
// than a twentieth of that step will do. What no drill is (a mark in a file's name may hold any
// number) has no such fraction.
std::string fraction_text(double mm) {
    constexpr double kWidest_in = 1000.0;
    if (!(mm > 0.0 && mm < kWidest_in * kInch_mm)) {
        return figure_text({mm / kInch_mm, "in"}, 2, true);
    }
    int parts = std::max(1, static_cast<int>(std::ceil(64.0 * mm / kInch_mm - 0.05)));
    int whole = 64;
    while (parts % 2 == 0 && whole > 1) {
        parts /= 2;
        whole /= 2;
    }
    const int full = parts / whole;
    const int rest = parts % whole;
    return rest == 0  ? fmt::format("{} in", full)
           : full > 0 ? fmt::format("{} {}/{} in", full, rest, whole)
                      : fmt::format("{}/{} in", rest, whole);
}

std::string quantity_text(const ToldPiece& piece, bool metric_first) {
    if (piece.telling == Telling::drill) {
        const std::string mm = figure_text({piece.value, "mm"}, piece.digits, true);
        return metric_first ? mm : fraction_text(piece.value) + " (" + mm + ")";
    }
    const bool turned =
        piece.telling == Telling::other_single || piece.telling == Telling::other_number;
    const bool bare = piece.telling == Telling::number || piece.telling == Telling::other_number;
    const Figure own =
        metric_first != turned ? metric(piece.value, piece.kind) : us(piece.value, piece.kind);
    std::string text = figure_text(own, piece.digits, !bare);
    if (piece.telling == Telling::pair) {
        const Figure other =
            metric_first ? us(piece.value, piece.kind) : metric(piece.value, piece.kind);
        // In brackets no more than three digits: it says the same again.
        text += " (" + figure_text(other, std::min(piece.digits, 3), true) + ")";
    }
    return text;
}

std::string piece_text(const ToldPiece& piece, UnitSystem first, Settings settings) {
    const bool metric_first = first == UnitSystem::metric;
    switch (piece.is) {
        case ToldPiece::Is::quantity:
            return quantity_text(piece, metric_first);
        case ToldPiece::Is::place:
            return place_text(piece.place_mm, metric_first);
        case ToldPiece::Is::setting:
            return setting_text(piece.text, settings);
        case ToldPiece::Is::text:
            break;
    }
    return piece.text;
}

template <class Number>
bool take(std::string_view& mark, Number& number) {
    const auto [rest, error] = std::from_chars(mark.data(), mark.data() + mark.size(), number);
    mark.remove_prefix(static_cast<std::size_t>(rest - mark.data()));
    if (mark.starts_with(':')) {
        mark.remove_prefix(1);
    }
    return error == std::errc();
}

bool is_told(Kind kind) {
    return kind == Kind::length || kind == Kind::area || kind == Kind::volume ||
           kind == Kind::mass || kind == Kind::density || kind == Kind::areal_density ||
           kind == Kind::temperature || kind == Kind::pressure;
}

// The quantity of a mark; none if it is no mark of ours: a file's name may hold anything.
std::optional<ToldPiece> quantity_in(std::string_view mark) {
    ToldPiece piece;
    int kind = 0;
    int telling = 0;
    const bool good = take(mark, kind) && take(mark, piece.digits) && take(mark, telling) &&
                      take(mark, piece.value) && mark.empty();
    piece.is = ToldPiece::Is::quantity;
    piece.kind = static_cast<Kind>(kind);
    piece.telling = static_cast<Telling>(telling);
    constexpr int kMostDigits = 17;
    if (!good || !is_told(piece.kind) || piece.digits < 1 || piece.digits > kMostDigits ||
        telling < 0 || telling > static_cast<int>(Telling::other_number) ||
        !std::isfinite(piece.value)) {
        return std::nullopt;
    }
    return piece;
}

std::optional<ToldPiece> place_in(std::string_view mark) {
    ToldPiece piece;
    piece.is = ToldPiece::Is::place;
    for (double& coordinate : piece.place_mm) {
        if (!take(mark, coordinate) || !std::isfinite(coordinate)) {
            return std::nullopt;
        }
    }
    return mark.empty() ? std::optional(piece) : std::nullopt;
}

bool is_setting(std::string_view name) {
    return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
    });
}

std::optional<ToldPiece> piece_in(std::string_view mark) {
    if (mark.starts_with('@')) {
        return place_in(mark.substr(1));
    }
    if (mark.starts_with('-') && is_setting(mark.substr(1))) {
        ToldPiece piece;
        piece.is = ToldPiece::Is::setting;
        piece.text = std::string(mark.substr(1));
        return piece;
    }
    return quantity_in(mark);
}

ToldPiece text_piece(std::string_view text) {
    ToldPiece piece;
    piece.text = std::string(text);
    return piece;
}

// Bytes of the well-formed UTF-8 character that the text begins with; 0: it begins with none
// (Unicode 15, table 3-7).
std::size_t character_bytes(std::string_view text) {
    struct Form {
        unsigned first_least, first_most, second_least, second_most;
        std::size_t bytes;
    };
    static constexpr Form kForms[] = {
        {0x00, 0x7f, 0, 0, 1},       {0xc2, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3},
        {0xe1, 0xec, 0x80, 0xbf, 3}, {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3},
        {0xf0, 0xf0, 0x90, 0xbf, 4}, {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4}};
    const auto within = [&](std::size_t i, unsigned least, unsigned most) {
        const unsigned byte = i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
        return byte >= least && byte <= most;
    };
    for (const Form& form : kForms) {
        if (!within(0, form.first_least, form.first_most)) {
            continue;
        }
        bool whole = form.bytes == 1 || within(1, form.second_least, form.second_most);
        for (std::size_t i = 2; i < form.bytes; ++i) {
            whole = whole && within(i, 0x80, 0xbf);
        }
        return whole ? form.bytes : 0;
    }
    return 0;
}

// Bytes of the mark that the text begins with; 0: it begins with none.
std::size_t mark_bytes(std::string_view text) {
    const std::size_t close = text.starts_with(kOpen) ? text.find(kClose) : text.npos;
    return close != text.npos && piece_in(text.substr(1, close - 1)) ? close + 1 : 0;
}

std::string exact(double value) {
    std::array<char, 32> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
    return {digits.data(), end};
}

}  // namespace

std::string told(double value, Kind kind, int digits, Telling telling) {
    CAVIGRAM_ASSERT(std::isfinite(value) && is_told(kind));
    return fmt::format("{}{}:{}:{}:{}{}", kOpen, static_cast<int>(kind), digits,
                       static_cast<int>(telling), exact(value), kClose);
}

std::string told_place(double x_mm, double y_mm, double z_mm) {
    CAVIGRAM_ASSERT(std::isfinite(x_mm) && std::isfinite(y_mm) && std::isfinite(z_mm));
    return fmt::format("{}@{}:{}:{}{}", kOpen, exact(x_mm), exact(y_mm), exact(z_mm), kClose);
}

std::string setting(std::string_view name) {
    CAVIGRAM_ASSERT(is_setting(name));
    return fmt::format("{}-{}{}", kOpen, name, kClose);
}

std::vector<ToldPiece> told_pieces(std::string_view sentence) {
    std::vector<ToldPiece> pieces;
    while (!sentence.empty()) {
        const std::size_t open = sentence.find(kOpen);
        const std::size_t close = open == 0 ? sentence.find(kClose) : std::string_view::npos;
        if (close != std::string_view::npos) {
            if (auto piece = piece_in(sentence.substr(1, close - 1))) {
                pieces.push_back(std::move(*piece));
                sentence.remove_prefix(close + 1);
                continue;
            }
        }
        // Up to the next mark; a lone opening stands for itself.
        const std::size_t next = sentence.find(kOpen, 1);
        const std::size_t end =
            open != 0 ? std::min(open, sentence.size()) : std::min(next, sentence.size());
        pieces.push_back(text_piece(sentence.substr(0, end)));
        sentence.remove_prefix(end);
    }
    return pieces;
}

std::string rendered(std::string_view sentence, UnitSystem first, Settings settings) {
    std::string text;
    for (const ToldPiece& piece : told_pieces(sentence)) {
        text += piece_text(piece, first, settings);
    }
    return text;
}

std::string one_line(std::string_view sentence) {
    std::string line;
    line.reserve(sentence.size());
    while (!sentence.empty()) {
        const auto first = static_cast<unsigned char>(sentence.front());
        const bool controls = first < 0x20 || first == 0x7f;
        const std::size_t kept = controls ? mark_bytes(sentence) : character_bytes(sentence);
        if (kept > 0) {
            line += sentence.substr(0, kept);
        } else {
            line += first >= '\t' && first <= '\r' ? " " : "\xEF\xBF\xBD";
        }
        sentence.remove_prefix(std::max<std::size_t>(kept, 1));
    }
    return line;
}

}  // namespace cavigram
