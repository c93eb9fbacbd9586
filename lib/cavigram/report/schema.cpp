// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/schema.h"

#include <set>
#include <vector>

#include <nlohmann/json.hpp>

#include "cavigram/report/fields/blocks_detail.h"
#include "cavigram/report/fields/sheet_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;
using detail::BlockInfo;
using detail::FieldInfo;
using detail::Shape;

// The block's own type, and those within it, each once, outermost first.
void collect(const BlockInfo& block, std::vector<const BlockInfo*>& all,
             std::set<std::string>& seen) {
    if (!seen.insert(block.name).second) {
        return;
    }
    all.push_back(&block);
    for (const FieldInfo& field : block.fields) {
        if (field.inner) {
            collect(*field.inner, all, seen);
        }
    }
}

std::vector<const BlockInfo*> all_blocks(const std::vector<const BlockInfo*>& roots = {
                                             &detail::plan_block().info()}) {
    std::vector<const BlockInfo*> all;
    std::set<std::string> seen;
    for (const BlockInfo* root : roots) {
        collect(*root, all, seen);
    }
    return all;
}

Json place_schema() {
    return {{"type", "array"}, {"items", {{"type", "number"}}}, {"minItems", 3}, {"maxItems", 3}};
}

Json list_of(Json items) {
    return {{"type", "array"}, {"items", std::move(items)}};
}

Json reference(const BlockInfo& block) {
    return {{"$ref", "#/$defs/" + block.name}};
}

Json shape_schema(const FieldInfo& field) {
    switch (field.shape) {
        case Shape::number:
            return {{"type", "number"}};
        case Shape::whole:
            return {{"type", "integer"}};
        case Shape::text:
            return field.words.empty() ? Json{{"type", "string"}}
                                       : Json{{"type", "string"}, {"enum", field.words}};
        case Shape::flag:
            return {{"type", "boolean"}};
        case Shape::place:
            return place_schema();
        case Shape::places:
            return list_of(place_schema());
        case Shape::lines:
            return list_of(list_of(place_schema()));
        case Shape::numbers:
            return list_of({{"type", "number"}});
        case Shape::texts:
            return list_of({{"type", "string"}});
        case Shape::told:
            return {{"type", "array"}};
        case Shape::object:
            return reference(*field.inner);
        case Shape::list:
            return list_of(reference(*field.inner));
    }
    return Json::object();
}

Json field_schema(const FieldInfo& field) {
    Json json = shape_schema(field);
    if (field.may_be_null) {
        json = {{"anyOf", Json::array({json, {{"type", "null"}}})}};
    }
    json["description"] = field.meaning;
    const std::string unit = detail::unit_of(field.key);
    if (!unit.empty()) {
        json["unit"] = unit;
    }
    return json;
}

Json block_schema(const BlockInfo& block) {
    Json properties = Json::object();
    Json required = Json::array();
    for (const FieldInfo& field : block.fields) {
        properties[field.key] = field_schema(field);
        if (!field.may_be_absent) {
            required.push_back(field.key);
        }
    }
    return {{"type", "object"},
            {"description", block.meaning},
            {"properties", properties},
            {"required", required}};
}

// How a value is called in the docs and in TypeScript.
struct ShapeWords {
    const char* docs;
    const char* typescript;
};

// Of those that need no other name.
ShapeWords shape_words(Shape shape) {
    switch (shape) {
        case Shape::whole:
            return {"whole number", "number"};
        case Shape::text:
            return {"text", "string"};
        case Shape::flag:
            return {"true or false", "boolean"};
        case Shape::place:
            return {"place", "Place"};
        case Shape::places:
            return {"places", "Place[]"};
        case Shape::lines:
            return {"lists of places", "Place[][]"};
        case Shape::numbers:
            return {"numbers", "number[]"};
        case Shape::texts:
            return {"texts", "string[]"};
        case Shape::told:
            return {"told text", "Told"};
        default:
            return {"number", "number"};
    }
}

std::string choice_words(const std::vector<std::string>& choice, bool typescript) {
    const char* const quote = typescript ? "\"" : "`";
    std::string words;
    for (const std::string& word : choice) {
        words += (words.empty() ? "" : typescript ? " | " : ", ") + (quote + word) + quote;
    }
    return words;
}

std::string type_words(const FieldInfo& field, bool typescript) {
    const ShapeWords plain = shape_words(field.shape);
    std::string words = typescript ? plain.typescript : plain.docs;
    if (!field.words.empty()) {
        words = choice_words(field.words, typescript);
    } else if (field.inner) {
        const bool list = field.shape == Shape::list;
        words = typescript ? field.inner->name + (list ? "[]" : "")
                           : (list ? "list of [" : "[") + field.inner->name + "]";
    }
    return words + (!field.may_be_null ? "" : typescript ? " | null" : ", or null");
}

}  // namespace

std::string schema_text() {
    Json defs = Json::object();
    const std::vector<const BlockInfo*> all = all_blocks();
    for (std::size_t i = 1; i < all.size(); ++i) {
        defs[all[i]->name] = block_schema(*all[i]);
    }
    Json json = {{"$schema", "https://json-schema.org/draft/2020-12/schema"},
                 {"$id", "urn:cavigram:1"},
                 {"title", "cavigram/1"}};
    json.update(block_schema(*all.front()));
    json["properties"]["schema"]["const"] = "cavigram/1";
    json["$defs"] = defs;
    return json.dump(2) + "\n";
}

std::string schema_docs_text() {
    std::string text =
        "# The JSON of cavigram, schema `cavigram/1`\n\n"
        "One object. Every command writes the blocks that it computed, with the same keys. A key's "
        "name ends in its unit. Places are in the part's own coordinates after scaling, in mm, as "
        "`[x, y, z]`.\nKeys may be added; renaming or removing one raises the schema's number. "
        "`cavigram schema` prints the JSON Schema (draft 2020-12). This page is made from the same "
        "descriptions (`lib/cavigram/report/fields`); a test holds them together.\n\n"
        "A-B grams are for one cup; `total_...` for all copies.\n";
    for (const BlockInfo* block : all_blocks()) {
        text += "\n## " + block->name + "\n" + block->meaning +
                "\n\n| key | is | meaning |\n|---|---|---|\n";
        for (const FieldInfo& field : block->fields) {
            text += "| `" + field.key + "` | " + type_words(field, false) +
                    (field.may_be_absent ? ", not always there" : "") + " | " + field.meaning +
                    " |\n";
        }
    }
    return text;
}

namespace {

// Places, and sentences in pieces (core/told.h), stand for themselves.
constexpr const char* kTypesHead =
    "// Made by the program from lib/cavigram/report/fields; see docs/json.md.\n"
    "export type Place = [number, number, number];\n"
    "export interface Quantity {\n"
    "  kind: \"length\" | \"area\" | \"volume\" | \"mass\" | \"density\" | \"areal_density\" | "
    "\"temperature\" | \"pressure\";\n"
    "  value: number;\n"
    "  digits: number;\n"
    "  telling: \"pair\" | \"single\" | \"number\" | \"drill\" | \"other_single\" | "
    "\"other_number\";\n"
    "}\n"
    "export type Piece = string | Quantity | { at_mm: Place } | { setting: string };\n"
    "export type Told = Piece[];\n";

std::string types_text(const std::vector<const BlockInfo*>& roots) {
    std::string text = kTypesHead;
    for (const BlockInfo* block : all_blocks(roots)) {
        text += "\n// " + block->meaning + "\nexport interface " + block->name + " {\n";
        for (const FieldInfo& field : block->fields) {
            text += "  " + field.key + (field.may_be_absent ? "?: " : ": ") +
                    type_words(field, true) + "; // " + field.meaning + "\n";
        }
        text += "}\n";
    }
    return text;
}

}  // namespace

std::string schema_types_text() {
    return types_text({&detail::plan_block().info()});
}

std::string sheet_types_text() {
    return types_text({&detail::sheet_block().info(), &detail::turned_air_block().info(),
                       &detail::part_model_block().info()});
}

}  // namespace cavigram
