// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/told.h"
#include "cavigram/report/fields/description_detail.h"

namespace cavigram::detail {

std::string unit_of(std::string_view key) {
    // The longest ending that is a unit: mm3_s before s.
    static constexpr std::array kUnits = {"mm3_s", "mpa", "kg_m3", "g_m2", "mm3",
                                          "mm2",   "kpa", "deg",   "mm",   "kg",
                                          "ml",    "g",   "s",     "c",    "n"};
    for (const std::string_view unit : kUnits) {
        if (key.size() > unit.size() + 1 && key.ends_with(unit) &&
            key[key.size() - unit.size() - 1] == '_') {
            return std::string(unit);
        }
    }
    return key.ends_with("_percent") ? "percent" : "";
}

void emit(Sink& sink, const Vec3& place) {
    sink.begin_list();
    for (int k = 0; k < 3; ++k) {
        sink.number(place[k]);
    }
    sink.end_list();
}

void emit(Sink& sink, const std::array<double, 3>& place) {
    sink.begin_list();
    for (const double coordinate : place) {
        sink.number(coordinate);
    }
    sink.end_list();
}

namespace {

// In the words of docs and types; told.h knows no other kinds.
const char* kind_word(Kind kind) {
    switch (kind) {
        case Kind::area:
            return "area";
        case Kind::volume:
            return "volume";
        case Kind::mass:
            return "mass";
        case Kind::density:
            return "density";
        case Kind::areal_density:
            return "areal_density";
        case Kind::temperature:
            return "temperature";
        case Kind::pressure:
            return "pressure";
        default:
            return "length";
    }
}

const char* telling_word(Telling telling) {
    switch (telling) {
        case Telling::pair:
            return "pair";
        case Telling::single:
            return "single";
        case Telling::number:
            return "number";
        case Telling::drill:
            return "drill";
        case Telling::other_single:
            return "other_single";
        case Telling::other_number:
            return "other_number";
    }
    return "";
}

void emit_quantity(Sink& sink, const ToldPiece& piece) {
    sink.begin_object();
    sink.key("kind");
    sink.text(kind_word(piece.kind));
    sink.key("value");
    sink.number(piece.value);
    sink.key("digits");
    sink.whole(piece.digits);
    sink.key("telling");
    sink.text(telling_word(piece.telling));
    sink.end_object();
}

}  // namespace

void emit(Sink& sink, const Told& told) {
    sink.begin_list();
    for (const ToldPiece& piece : told_pieces(told.text)) {
        if (piece.is == ToldPiece::Is::text) {
            sink.text(piece.text);
        } else if (piece.is == ToldPiece::Is::quantity) {
            emit_quantity(sink, piece);
        } else {
            const bool place = piece.is == ToldPiece::Is::place;
            sink.begin_object();
            sink.key(place ? "at_mm" : "setting");
            place ? emit(sink, piece.place_mm) : sink.text(piece.text);
            sink.end_object();
        }
    }
    sink.end_list();
}

}  // namespace cavigram::detail
