// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <string>

#include "cavigram/core/text.h"
#include "cavigram/report/file_rows_detail.h"

namespace cavigram {

void fault_rows(Page& page, const Plan& plan) {
    bool first = true;
    for (const Fault& fault : plan.part->faults()) {
        std::string kind = to_text(fault.kind);
        std::replace(kind.begin(), kind.end(), '_', ' ');
        std::string text = kind + ": " + thousands(fault.count);
        if (fault.kind == FaultKind::noise) {
            text = "noise of about " + length_text(fault.sizes_mm.front()) + " at each vertex";
        } else if (!fault.sizes_mm.empty()) {
            const double largest = *std::max_element(fault.sizes_mm.begin(), fault.sizes_mm.end());
            text += std::string(fault.kind == FaultKind::spike ? ", the highest "
                                                               : ", the longest rim ") +
                    significant(largest, 3) + " mm";
        }
        if (!fault.places_mm.empty()) {
            const auto& p = fault.places_mm.front();
            text += ", first at " + place_text(p[0], p[1], p[2]);
        }
        if (first) {
            page.row("Faults", text);
        } else {
            page.more(text);
        }
        first = false;
    }
}

void mending_rows(Page& page, const Plan& plan) {
    const Part& part = *plan.part;
    if (part.verdict() == Verdict::sound) {
        page.row("File",
                 std::string("sound: closed, and every face looks outward; nothing was changed") +
                     (part.crossings().empty() ? "" : ", though it crosses itself"));
        return;
    }
    page.row("File", std::string(to_text(part.verdict())) + "; what was done:");
    for (const RepairStep& step : part.steps()) {
        std::string words = to_text(step.action);
        std::replace(words.begin(), words.end(), '_', ' ');
        std::string text = words + ": " + thousands(step.count);
        if (step.volume_below_mm3 + step.volume_above_mm3 > 0.0) {
            text += ", volume by " + told_own(step.volume_change_mm3, Kind::volume, 2) +
                    ", could be " + told_end(step.volume_below_mm3, Kind::volume, 2) + " less or " +
                    told_end(step.volume_above_mm3, Kind::volume, 2) + " more";
        }
        if (!step.places_mm.empty()) {
            const auto& p = step.places_mm.front();
            text += ", first at " + place_text(p[0], p[1], p[2]);
        }
        page.more("- " + text);
    }
}

void area_and_shape_rows(Page& page, const Plan& plan, bool is_detail) {
    const MeasuresBlock& m = plan.measures;
    std::string shape = plural(static_cast<std::size_t>(m.shells), "shell", "shells");
    if (m.genus > 0) {
        shape +=
            ", " + plural(static_cast<std::size_t>(m.genus), "hole through it", "holes through it");
    }
    page.add("Area", area_text(m.mass.area_mm2), is_detail);
    page.add("Shape", shape, is_detail);
}

void size_and_volume_rows(Page& page, const Plan& plan) {
    const MeasuresBlock& m = plan.measures;
    const Vec3 size = m.mass.bounds_mm.sizes();
    const auto sides = [&](int digits, Telling number, Telling single) {
        return told(size.x(), Kind::length, digits, number) + " x " +
               told(size.y(), Kind::length, digits, number) + " x " +
               told(size.z(), Kind::length, digits, single);
    };
    page.row("Size", sides(4, Telling::number, Telling::single) + " (" +
                         sides(3, Telling::other_number, Telling::other_single) + ")");
    std::string volume = volume_text(m.mass.volume_mm3);
    if (m.volume_high_mm3 > m.volume_low_mm3) {
        constexpr double kNothing = 1e-3;  // of the largest
        volume += ", likely " +
                  (m.volume_low_mm3 < kNothing * m.volume_high_mm3
                       ? std::string("next to nothing")
                       : told_end(m.volume_low_mm3, Kind::volume, 4)) +
                  " to " + told_own(m.volume_high_mm3, Kind::volume, 4);
    } else {
        volume += ", exact for this mesh";
    }
    page.row("Volume", volume);
}

void file_rows(Page& page, const Plan& plan) {
    mending_rows(page, plan);
    size_and_volume_rows(page, plan);
    area_and_shape_rows(page, plan, false);
}

}  // namespace cavigram
