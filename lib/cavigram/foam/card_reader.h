// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "cavigram/core/quantity.h"

namespace cavigram {

/// A value with the range in which it likely lies.
struct Ranged {
    double value = 0.0;  ///< The likeliest.
    double low = 0.0;    ///< No more than the value.
    double high = 0.0;   ///< No less than the value.
};

/// How a kind of card is called in errors.
struct CardKind {
    std::string name;  ///< "foam card".
    std::string
        shown_by;  ///< The call that prints a whole one: "cavigram foams show generic-firm".
};

/// Reads the keys of one card in TOML and remembers which it was asked for, so that the rest can be
/// refused.
///
/// Quantities are text in quotes with a unit, numbers stand without quotes; keys of tables are
/// joined by dots: `skin.density`. Every error names key and origin.
class CardReader {
  public:
    /// `origin` is how errors call the card: a path or a name. \throw InvalidInput for text that is
    /// no TOML, with its line
    CardReader(std::string_view toml_text, std::string origin, CardKind kind);
    ~CardReader();
    CardReader(const CardReader&) = delete;
    CardReader& operator=(const CardReader&) = delete;

    /// Text in quotes, or `absent`. \throw InvalidInput for another kind of value
    std::string text(const std::string& key, const std::string& absent);
    /// Text that must be there. \throw InvalidInput
    std::string required(const std::string& key);
    /// true or false, or false where it is absent. \throw InvalidInput
    bool flag(const std::string& key);
    /// A quantity within limits in its held unit, or `absent`. \throw InvalidInput
    double quantity(const std::string& key, Kind kind, double least, double most, double absent);
    /// A quantity that must be there. \throw InvalidInput
    double required_quantity(const std::string& key, Kind kind, double least, double most);
    /// A required value with its range, `BOUNDlow` and `BOUNDhigh`; a bound that is not given lies
    /// `spread` times below or above. \throw InvalidInput
    Ranged ranged(const std::string& key, const std::string& bound, Kind kind, double least,
                  double most, double spread);
    /// A plain number, without quotes, if it is there. \throw InvalidInput
    std::optional<double> number(const std::string& key, double least, double most);

    /// "KEY in ORIGIN", for errors.
    [[nodiscard]] std::string named(const std::string& key) const;
    /// Refuses what was never asked for, with the nearest key that was. \throw InvalidInput
    void refuse_unknown() const;

  private:
    struct Document;
    void check_known(const std::string& key) const;

    std::unique_ptr<Document> document_;
    std::string origin_;
    CardKind kind_;
};

}  // namespace cavigram
