// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/stated_unit_detail.h"
#include "cavigram/mesh/solids.h"

#include "io_tools.h"

using namespace io_test;

TEST_CASE("units by the names that 3MF and AMF give them") {
    // 3MF Core Specification 1.3, section 3.4, and ISO/ASTM 52915.
    const std::vector<std::pair<std::string, double>> units = {
        {"micron", 0.001}, {"millimeter", 1}, {"centimeter", 10},
        {"inch", 25.4},    {"foot", 304.8},   {"meter", 1000}};
    for (const auto& row : units) {
        CAPTURE(row.first);
        CHECK(unit_named(row.first) == row.second);
    }
    CHECK_FALSE(unit_named("cubit").has_value());
    CHECK_FALSE(unit_named("").has_value());
}

TEST_CASE("the first element's attribute is found however the text is written") {
    for (const char* xml :
         {"<model unit=\"inch\">", "<m:model xmlns:m='x' unit='inch'/>",
          "<?xml version='1.0'?>\n<!-- <model unit='foot'> -->\n<model\n\tunit = \"inch\" >",
          "\xEF\xBB\xBF<model a='1>2' b=\"'\" unit='inch'>",
          "<!DOCTYPE x><model xml:lang='en' unit='inch'></model>"}) {
        CAPTURE(xml);
        const auto unit = root_attribute(xml, "model", "unit");
        REQUIRE(unit.has_value());
        CHECK(*unit == "inch");
    }
    CHECK_FALSE(root_attribute("<other unit='inch'>", "model", "unit").has_value());
    CHECK_FALSE(root_attribute("no xml", "model", "unit").has_value());
    CHECK(root_attribute("<model>", "model", "unit").value_or("x").empty());
    CHECK(root_attribute("<model unit=inch>", "model", "unit").value_or("x").empty());
    CHECK_FALSE(root_attribute("<model unit=\"inch>", "model", "unit").has_value());
    CHECK_FALSE(root_attribute("<model unit=\"inch\"", "model", "unit").has_value());
}

TEST_CASE("AMF units: ISO/ASTM 52915") {
    CHECK(unit_of_amf("<?xml version=\"1.0\"?><amf unit=\"inch\" version=\"1.1\">") == 25.4);
    CHECK(unit_of_amf("<amf unit=\"feet\">") == 304.8);
    CHECK(unit_of_amf("<amf>") == 1.0);
    CHECK_FALSE(unit_of_amf("<amf unit='ell'>").has_value());
}

TEST_CASE("a damaged archive is no archive, wherever it is cut or changed") {
    const std::string good = threemf_of(box_solid(1, 1, 1).mesh, "inch");
    for (std::size_t size = 0; size < good.size(); ++size) {
        static_cast<void>(zip_entry(good.substr(0, size), ".model", 100));
    }
    for (std::size_t at = 0; at < good.size(); ++at) {
        for (const char c : {'\0', '\xFF', '\x80'}) {
            std::string bad = good;
            bad[at] = c;
            static_cast<void>(zip_entry(bad, ".model", 100));
            static_cast<void>(zip_entry(bad, ".rels", 100));
        }
    }
    const auto entry = zip_entry(good, ".MODEL", 10);
    REQUIRE(entry.has_value());
    CHECK(entry->name == "3D/3dmodel.model");
    CHECK(entry->start == "<?xml vers");
}
