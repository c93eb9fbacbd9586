// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <fstream>
#include <iterator>
#include <string>

#include "cavigram/tally/casting_log.h"

#include "fuzz.h"

namespace fuzz {

/// The bytes of a log of four castings of one foam.
[[nodiscard]] inline const std::string& sound_log() {
    static const std::string bytes = [] {
        const auto path = scratch() / "sound.db";
        {
            cavigram::CastingLog log(path, cavigram::CastingLog::Access::write);
            for (int i = 1; i <= 4; ++i) {
                cavigram::Casting casting;
                casting.date = "2026-11-24";
                casting.part = "post";
                casting.foam = "generic-firm";
                casting.mix = "50:100";
                casting.volume_mm3 = 1e6 * i;
                casting.area_mm2 = 9e4 * i;
                casting.skin_reference_mm = 1.0;
                casting.skin_volume_mm3 = 8e4 * (i + 1);
                casting.cup_mass_g = 200.0 * i;
                casting.part_mass_g = 160.0 * i + 10.0;
                casting.verdict = "good";
                log.add(casting);
            }
        }
        std::ifstream file(path, std::ios::binary);
        return std::string{std::istreambuf_iterator<char>(file), {}};
    }();
    return bytes;
}

}  // namespace fuzz
