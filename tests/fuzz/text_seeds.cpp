// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/foam/card.h"
#include "cavigram/molding/rubber_card.h"

#include "log_seed.h"
#include "option_table.h"
#include "seeds.h"

namespace fuzz {

using namespace cavigram;

std::vector<std::string> quantity_seeds() {
    static constexpr const char* kTexts[] = {
        "14in",   "35.5 cm2",    "3 fl oz", "5.3 oz",  "8 lb/ft3", "500 g/m2", "68F",
        "30 min", "1013.25 hPa", "800 cP",  "1.5 rad", "10%",      "50:100"};
    std::vector<std::string> all;
    for (std::size_t i = 0; i < std::size(kTexts); ++i) {
        all.push_back(static_cast<char>(i) + std::string(kTexts[i]));
    }
    all.push_back(std::string(1, '\0') + "1 1/2 in");
    all.push_back(std::string(1, '\4') + "0.128 g/cm\xC2\xB3");
    all.push_back('\r' + ("Make it " + told(12.5, Kind::length) + " wide at " +
                          told_place(1.0, 2.0, 3.0) + ", or say " + setting("mold-holds") + "."));
    return all;
}

std::vector<std::string> foam_card_seeds() {
    std::vector<std::string> all;
    for (const BuiltInCard& card : built_in_cards()) {
        all.push_back(card.toml);
    }
    return all;
}

std::vector<std::string> rubber_card_seeds() {
    std::vector<std::string> all;
    for (const BuiltInRubber& card : built_in_rubbers()) {
        all.push_back(card.toml);
    }
    return all;
}

std::vector<std::string> log_seeds() {
    return {std::string(1, '\0') + sound_log(), std::string("\1\0\5\2\1\6\3\4\7\4", 10)};
}

std::vector<std::string> job_seeds() {
    // Each command with the examples of all options that it takes.
    std::vector<std::string> all;
    for (std::size_t i = 0; i < std::size(program::kCommandNames); ++i) {
        std::string text(1, static_cast<char>(i));
        for (const program::OptionRow& row : program::option_rows()) {
            const bool taken =
                (row.commands & program::command_bit(program::kCommandNames[i])) != 0;
            if (!taken || row.positional || row.name == std::string("job")) {
                continue;
            }
            const std::string value =
                row.value.flag ? "true" : "\"" + std::string(row.example) + "\"";
            text +=
                std::string(row.name) + " = " + (row.value.list ? "[" + value + "]" : value) + "\n";
        }
        all.push_back(std::move(text));
    }
    return all;
}

std::vector<std::string> request_seeds() {
    return {"/api/parts?name=my%20part.stl&up=0%2C0%2C1",
            "/parts/12/plan.json",
            "C:\\parts\\na\xC3\xAFve part.final.STL",
            "cavigram_80=0123456789abcdef; other=1",
            R"({"density": ["9lb/ft3"], "quiet": null, "vent": ["1,2,3", "4,5,6"]})",
            R"({"copies": ["3"], "foam": ["it's \"mine\""]})"};
}

std::vector<std::string> http_seeds() {
    return {
        "GET /x?y=%20 HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n",
        "POST /u HTTP/1.1\r\nHost: a\r\nContent-Length: 5\r\n\r\nhelloGET /w HTTP/1.1\r\n\r\n",
        "PUT /u HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n3;a=b\r\nyou\r\n0\r\n"
        "Trailer: x\r\n\r\n",
        "POST /u HTTP/1.0\r\nExpect: 100-continue\r\nContent-Length: 2000\r\n\r\n",
        "HEAD /w HTTP/1.1\r\nCookie: a=1\r\nCookie: b=2\r\n\r\n",
        "GET /x HTTP/1.1\r\nUpgrade: websocket\r\nConnection: upgrade\r\n\r\n"};
}

std::vector<std::string> site_seeds() {
    return {"GET /",
            "GET /api/table",
            "GET /api/events",
            "GET /api/parts",
            "GET /api/parts/p",
            "POST /api/parts?name=part.stl\nsolid part",
            "POST /api/parts/p/stop",
            "POST /api/parts/p/again",
            "PUT /api/parts/p/options\n{\"density\": [\"9lb/ft3\"], \"vent\": [\"1,2,3\"]}",
            "PUT /api/parts/p/options\n{\"units\": [\"in\"], \"wrap\": [\"true\"], \"foam\": null}",
            "GET /api/parts/p/air?up=0,0,1&vent=1,2,3;4,5,6",
            "GET /api/parts/p/plan.json",
            "GET /api/parts/p/job.toml",
            "GET /api/parts/p/command.txt",
            "GET /api/tally",
            "GET /api/tally.csv",
            "POST /api/tally\n{\"part\": \"p\", \"values\": {\"cup-mass\": [\"500g\"]}}",
            "DELETE /api/tally/1",
            "GET /api/recent",
            "POST /api/recent/0123456789abcdef",
            "DELETE /api/recent"};
}

}  // namespace fuzz
