// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/fields/blocks_detail.h"
#include "cavigram/report/fields/sheet_detail.h"

namespace cavigram::detail {

namespace {

template <class T>
auto told_of(std::string T::*member) {
    return [member](const T& value) { return Told{value.*member}; };
}

const Block<PageRow>& row_block() {
    static const Block<PageRow> block =
        Block<PageRow>("Row", "A word, and what there is to say.")
            .field("label", &PageRow::label, "empty: goes on with the row before")
            .field("text", told_of(&PageRow::text), "the sentence")
            .field("at_mm", &PageRow::at_mm, "places to show");
    return block;
}

const Block<SheetMark>& mark_block() {
    static const Block<SheetMark> block =
        Block<SheetMark>("SheetMark", "A hole, a thin place, or one that matters to the rise.")
            .choice("kind", {"pour_hole", "vent", "thin", "late", "air"}, &SheetMark::kind, "which")
            .field("label", &SheetMark::label, "as in pictures and templates")
            .field("at_mm", &SheetMark::at_mm, "its place")
            .field("diameter_mm", &SheetMark::diameter_mm, "0: not known")
            .field("plugged", &SheetMark::plugged, "before the foam rises")
            .field("where", told_of(&SheetMark::where), "by ruler")
            .field("frees", told_of(&SheetMark::frees), "air that leaves by it")
            .field("after", told_of(&SheetMark::after), "what becomes of it once poured through")
            .field("after_unused", told_of(&SheetMark::after_unused), "and if it is not");
    return block;
}

const Block<SheetLine>& line_block() {
    static const Block<SheetLine> block =
        Block<SheetLine>("SheetLine", "A line on or in the part.")
            .choice("kind", {"parting", "slit", "rod"}, &SheetLine::kind, "which")
            .field("closed", &SheetLine::closed, "its last place goes on to its first")
            .field("diameter_mm", &SheetLine::diameter_mm, "0: a line")
            .field("points_mm", &SheetLine::points_mm, "from place to place");
    return block;
}

const Block<SheetWay>& way_block() {
    static const Block<SheetWay> block =
        Block<SheetWay>("SheetWay", "A way up to look at.")
            .field("name", &SheetWay::name, "its rank")
            .field("up", &SheetWay::up, "its direction")
            .field("planned", &SheetWay::planned, "the plan's own")
            .field("about", told_of(&SheetWay::about), "what it costs")
            .list("marks", mark_block(), &SheetWay::marks, "its holes");
    return block;
}

const Block<SheetMethod>& sheet_method_block() {
    static const Block<SheetMethod> block =
        Block<SheetMethod>("SheetMethod", "A way to pour, in words.")
            .choice("method", {"through_hole", "open_half_and_turn", "brush_first"},
                    &SheetMethod::method, "which")
            .field("words", &SheetMethod::words, "all of it")
            .field("short_words", &SheetMethod::short_words, "in brief");
    return block;
}

const Block<SheetColoring>& coloring_block() {
    static const Block<SheetColoring> block =
        Block<SheetColoring>("Coloring", "A quantity on the surface.")
            .choice("key", {"thin", "thickness", "density", "all_skin", "halves", "arrival"},
                    &SheetColoring::key, "which")
            .field("title", &SheetColoring::title, "in words")
            .choice("kind", {"length", "density", "time", ""}, &SheetColoring::kind,
                    "empty: classes")
            .field("dark", &SheetColoring::dark, "at the dark end")
            .field("light", &SheetColoring::light, "at the light end")
            .field("light_words", &SheetColoring::light_words, "of what lies beyond it")
            .field("plain_beyond", &SheetColoring::plain_beyond, "without color")
            .field("classes", &SheetColoring::classes, "light and dark, in words")
            .field("values", &SheetColoring::values, "0 dark to 255 light, a byte a vertex");
    return block;
}

const Block<SheetMoment>& moment_block() {
    static const Block<SheetMoment> block =
        Block<SheetMoment>("SheetMoment", "What happens while the foam rises.")
            .field("time_s", &SheetMoment::time_s, "from the start of stirring")
            .field("text", told_of(&SheetMoment::text), "in words");
    return block;
}

const Block<SheetRise>& rising_block() {
    static const Block<SheetRise> block =
        Block<SheetRise>("SheetRise", "The rise, to be played.")
            .field("story", told_of(&SheetRise::story), "all of it")
            .field("from_s", &SheetRise::from_s, "from the start of stirring")
            .field("to_s", &SheetRise::to_s, "nothing moves later")
            .field("arrival", &SheetRise::arrival,
                   "base64, 16 bits a vertex: 0 from_s to 65534 to_s; 65535 never")
            .list("marks", mark_block(), &SheetRise::marks, "last places, air that is cut off")
            .list("events", moment_block(), &SheetRise::events, "in order of time");
    return block;
}

const Block<SheetPicture>& picture_block() {
    static const Block<SheetPicture> block =
        Block<SheetPicture>("SheetPicture", "A picture for the card.")
            .field("title", &SheetPicture::title, "the side")
            .field("width", &SheetPicture::width, "in the common scale")
            .field("svg", &SheetPicture::svg, "base64");
    return block;
}

const Block<Finding>& told_finding_block() {
    static const Block<Finding> block =
        Block<Finding>("ToldFinding", "Something noticed, in pieces.")
            .choice(
                "severity", {"note", "warning", "stop"},
                [](const Finding& f) { return to_text(f.severity); }, "how much it matters")
            .field(
                "code", [](const Finding& f) { return to_text(f.code); }, "stable short name")
            .field("text", told_of(&Finding::text), "the sentence")
            .field("at_mm", &Finding::at_mm, "places that it concerns");
    return block;
}

const Block<Guess>& told_guess_block() {
    static const Block<Guess> block =
        Block<Guess>("ToldGuess", "A figure that nobody measured.")
            .field("what", &Guess::what, "which")
            .field("value", told_of(&Guess::value), "what it is taken for")
            .field("replace_with", &Guess::replace_with, "the option that replaces it");
    return block;
}

}  // namespace

const Block<SheetDisplay>& sheet_display_block() {
    static const Block<SheetDisplay> block =
        Block<SheetDisplay>("Display", "The surface, quantized to 16 bits.")
            .field("origin_mm", &SheetDisplay::origin_mm, "lowest corner")
            .field("size_mm", &SheetDisplay::size_mm, "of the box")
            .field("triangles", &SheetDisplay::triangles, "shown")
            .field("deviation_mm", &SheetDisplay::deviation_mm, "from the part")
            .field("positions", &SheetDisplay::positions, "base64, little-endian")
            .field("indices", &SheetDisplay::indices, "base64, 32 bits")
            .field("halves", &SheetDisplay::halves,
                   "base64: 1 for each of the upper half's triangles")
            .field("half_side", &SheetDisplay::half_side,
                   "base64, little-endian, 16 bits with sign for each vertex: above 0 on the upper "
                   "half's side of the parting line; empty where it runs along edges")
            .field("front", &SheetDisplay::front, "toward the eye")
            .list("colorings", coloring_block(), &SheetDisplay::colorings, "the first is shown")
            .field("color_map", &SheetDisplay::color_map, "256 colors, dark to light");
    return block;
}

const Block<Sheet>& sheet_block() {
    static const Block<Sheet> block =
        Block<Sheet>("SheetData", "All that the page is filled with.")
            .object(
                "plan", plan_block(), [](const Sheet& s) -> const Plan& { return s.plan; },
                "as plan.json has it")
            .object(
                "live", live_block(),
                [](const Sheet& s) { return s.plan.foam ? &s.plan : nullptr; },
                "what the knobs compute with")
            .field("size", told_of(&Sheet::size), "of the part")
            .field("up", told_of(&Sheet::up), "the plan's way up")
            .list("facts", row_block(), &Sheet::facts, "of the foam, as planned")
            .list("air", row_block(), &Sheet::air, "of the air, as planned")
            .list("thin", row_block(), &Sheet::thin, "where the part is thin")
            .list("rise", row_block(), &Sheet::rise, "the foam rising, as planned")
            .list("split", row_block(), &Sheet::split, "how the mold is split")
            .list("mold", row_block(), &Sheet::mold, "what to build around it, as planned")
            .list("handle", row_block(), &Sheet::handle, "the part in the hand, as planned")
            .list("file", row_block(), &Sheet::file, "what was mended and measured")
            .list("marks", mark_block(), &Sheet::marks, "pour holes, then vents")
            .list("thin_marks", mark_block(), &Sheet::thin_marks, "thin places")
            .list("lines", line_block(), &Sheet::lines, "the parting line, a rod")
            .list("ways", way_block(), &Sheet::ways, "ways up, best first")
            .list("methods", sheet_method_block(), &Sheet::methods, "ways to pour")
            .field("before", &Sheet::before, "to do before the clock runs")
            .field("after", &Sheet::after, "to do when all is poured")
            .field("pour_cautions", &Sheet::pour_cautions, "for the card; the page has all")
            .field("log_call", &Sheet::log_call,
                   "the line that logs the casting, to copy; empty: there is nothing to pour")
            .list(
                "findings", told_finding_block(),
                [](const Sheet& s) -> const std::vector<Finding>& { return s.plan.findings; },
                "what was noticed")
            .list("guesses", told_guess_block(), &Sheet::guesses, "what nobody measured")
            .object("display", sheet_display_block(), &Sheet::display, "the part in 3D")
            .object(
                "rising", rising_block(),
                [](const Sheet& s) { return s.rising ? &*s.rising : nullptr; },
                "the rise, to be played")
            .list("pictures", picture_block(), &Sheet::pictures, "for the card");
    return block;
}

}  // namespace cavigram::detail
