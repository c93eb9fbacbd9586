// SPDX-License-Identifier: GPL-3.0-or-later
// That real output validates is tested with an independent validator in tests/browser.
#include "cavigram/report/schema.h"

#include <fstream>
#include <iterator>
#include <set>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "cavigram/report/json.h"

#include "sheet_plan.h"

using namespace cavigram;
using Json = nlohmann::json;

namespace {

// Every key of a value is known where it stands, down to the last.
void check_known(const Json& value, const Json& schema, const Json& root, const std::string& at) {
    const Json& known =
        schema.contains("$ref")
            ? root["$defs"]
                  [schema["$ref"].get<std::string>().substr(std::string("#/$defs/").size())]
            : schema;
    if (value.is_object()) {
        for (const auto& [key, inner] : value.items()) {
            CAPTURE(at + "." + key);
            REQUIRE(known["properties"].contains(key));
            check_known(inner, known["properties"][key], root, at + "." + key);
        }
        for (const Json& key : known["required"]) {
            CHECK_MESSAGE(value.contains(key.get<std::string>()),
                          (at + "." + key.get<std::string>()));
        }
    } else if (value.is_array() && known.contains("items")) {
        for (const Json& one : value) {
            check_known(one, known["items"], root, at + "[]");
        }
    }
}

}  // namespace

TEST_CASE("the schema knows every key that a plan has, and no two blocks share a name") {
    const Json schema = Json::parse(schema_text());
    CHECK(schema["$schema"] == "https://json-schema.org/draft/2020-12/schema");
    check_known(Json::parse(json_text(sheet_plan())), schema, schema, "plan");
    for (const auto& [name, block] : schema["$defs"].items()) {
        CHECK_MESSAGE(block["properties"].size() > 0, name);
        for (const auto& [key, field] : block["properties"].items()) {
            CHECK_MESSAGE(field["description"].get<std::string>().size() > 1, (name + "." + key));
        }
    }
}

TEST_CASE("a key that ends in a unit says so; counts, ratios and factors have none") {
    const Json schema = Json::parse(schema_text());
    CHECK(schema["$defs"]["Measures"]["properties"]["volume_mm3"]["unit"] == "mm3");
    CHECK(schema["$defs"]["Air"]["properties"]["air_rate_mm3_s"]["unit"] == "mm3_s");
    CHECK(schema["$defs"]["Foam"]["properties"]["free_rise_kg_m3"]["unit"] == "kg_m3");
    CHECK(schema["$defs"]["Bench"]["properties"]["poured_by_s"]["unit"] == "s");
    // Every other number is one of these: a pure number by its nature.
    const std::set<std::string> pure = {"scale",
                                        "mix_a",
                                        "mix_b",
                                        "packing_factor",
                                        "expansion_ratio",
                                        "liquid_share",
                                        "isocyanate_index",
                                        "copies_per_kit",
                                        "cost_per_copy",
                                        "score",
                                        "way_cost",
                                        "pull_cost",
                                        "holes_cost",
                                        "show_share",
                                        "slit_show_share",
                                        "steep_share",
                                        "droop_share",
                                        "most_droop_share",
                                        "creep",
                                        "share",
                                        "filled_share",
                                        "filled_share_then",
                                        "thin_arrival_share",
                                        "gravity_number",
                                        "mass_error",
                                        "upright",
                                        "skin_closes_to_share",
                                        "grams",
                                        "seconds"};
    for (const auto& [name, block] : schema["$defs"].items()) {
        for (const auto& [key, field] : block["properties"].items()) {
            if (field.value("type", "") == "number" && !field.contains("unit")) {
                CHECK_MESSAGE(pure.count(key) == 1, (name + "." + key));
            }
        }
    }
}

TEST_CASE("docs/json.md is what the descriptions say (cavigram schema --as markdown writes it)") {
    std::ifstream file("docs/json.md", std::ios::binary);
    REQUIRE(file);
    const std::string written{std::istreambuf_iterator<char>(file), {}};
    CHECK(written == schema_docs_text());
}

TEST_CASE("the page's types name every block once") {
    const std::string types = schema_types_text();
    for (const char* const words :
         {"export interface Plan {", "export interface Vent {", "  bench?: Bench;",
          "  foam_at_top_s: number | null;", "  severity: \"note\" | \"warning\" | \"stop\";",
          "  at_mm: Place[];"}) {
        CHECK_MESSAGE(types.find(words) != std::string::npos, words);
    }
    CHECK(types.find("interface Vent {") == types.rfind("interface Vent {"));
}
