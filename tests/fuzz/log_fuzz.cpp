// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <fstream>
#include <iterator>
#include <vector>

#include <sqlite3.h>

#include "cavigram/tally/casting_doubts.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

#include "log_seed.h"
#include "targets.h"

namespace fuzz {

namespace {

using namespace cavigram;

// A sound log in which single fields are replaced: three bytes a change choose row, column and
// kind of value.
void put_values(const std::filesystem::path& path, Front front) {
    static constexpr const char* kColumns[] = {"date",
                                               "part",
                                               "mold",
                                               "foam",
                                               "mix",
                                               "volume_mm3",
                                               "area_mm2",
                                               "cup_mass_g",
                                               "part_mass_g",
                                               "verdict",
                                               "note",
                                               "temperature_c",
                                               "flash_mass_g",
                                               "skin_volume_mm3",
                                               "stayed_mass_g",
                                               "free_rise_mass_g",
                                               "free_rise_volume_ml",
                                               "number"};
    static constexpr const char* kValues[] = {"0",      "-1",      "1e308",  "1e-308",
                                              "9e999",  "-9e999",  "''",     "'50:100'",
                                              "'good'", "'short'", "'lost'", "x'FF00C3'",
                                              "'0:0'",  "NULL",    "'1e5'",  "9223372036854775807",
                                              "'flaw'", "12.5",    "250.0",  "'1:nan'",
                                              "'a''b'", "100000.0"};
    sqlite3* connection = nullptr;
    sqlite3_open(path.c_str(), &connection);
    while (!front.rest().empty()) {
        const unsigned row = front.byte() % 5;
        const std::string change = std::string("UPDATE OR IGNORE casting SET ") +
                                   kColumns[front.byte() % std::size(kColumns)] + " = " +
                                   kValues[front.byte() % std::size(kValues)] +
                                   (row == 4 ? "" : " WHERE number = " + std::to_string(row + 1));
        sqlite3_exec(connection, change.c_str(), nullptr, nullptr, nullptr);
    }
    sqlite3_close(connection);
}

void require_fit(const ShopFit& fit) {
    if (fit.line) {
        require(std::isfinite(fit.line->mean_kg_m3) && fit.line->mean_kg_m3 > 0.0,
                "a line has a mean");
        require(fit.line->castings > 0 && fit.line->sigma_kg_m3 >= 0.0, "a line has a scatter");
    }
    require(!std::isnan(fit.waste_share.value), "a share of waste is a number");
}

}  // namespace

int fuzz_log(Bytes bytes) {
    Front front(bytes);
    const bool raw = front.byte() % 2 == 0;
    const auto path =
        scratch_file("castings.db", raw ? text_of(front.rest()) : std::string_view(sound_log()));
    if (!raw) {
        put_values(path, front);
    }
    try {
        result_or_refusal([&] {
            CastingLog log(path, CastingLog::Access::write);
            const std::vector<Casting> all = log.all();
            static_cast<void>(log.history());
            static_cast<void>(castings_csv(all));
            for (const auto& castings : by_foam_and_mix(all)) {
                result_or_refusal([&] { require_fit(fit_castings(castings)); });
            }
            log.undo("2026-11-24");
            require(log.all().size() + 1 >= all.size(), "undo takes one casting at most");
        });
    } catch (const WriteError& error) {  // SQLite's own words within
        require(std::string_view(error.what()).size() > 10, "a refusal says something");
    }
    return 0;
}

}  // namespace fuzz
