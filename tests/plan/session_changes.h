// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <random>
#include <stop_token>
#include <string>
#include <type_traits>
#include <unistd.h>
#include <utility>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/plan/session.h"
#include "cavigram/report/json.h"

#include "venting/shapes.h"

using namespace cavigram;

// Small parts in files of their own: two peaks, a hollow with a pillar, a plain block.
class Parts {
  public:
    Parts()
        : folder_(std::filesystem::temp_directory_path() /
                  fmt::format("cavigram_session_{}", ::getpid())) {
        std::filesystem::create_directory(folder_);
        write("u.stl", u_arms().mesh, 8.0);
        write("hollow.stl", stalagmite().mesh, 9.0);
        write("block.stl", box_solid(40, 30, 20).mesh, 1.0);
    }
    ~Parts() { std::filesystem::remove_all(folder_); }
    Parts(const Parts&) = delete;
    Parts& operator=(const Parts&) = delete;

    [[nodiscard]] std::filesystem::path file(const std::string& name) const {
        return folder_ / name;
    }
    void write(const std::string& name, TriMesh mesh, double scale) const {
        write_file(file(name), stl_bytes(transformed(std::move(mesh), scale, Vec3::Zero())));
    }

  private:
    std::filesystem::path folder_;
};

// Cheap in all that a person can't see: the answers need not be fine, only the same.
inline PlanRequest small_request(const std::filesystem::path& file) {
    PlanRequest request;
    request.part.file = file;
    request.part.units = LengthUnit{};
    request.part.read.guarded = false;
    request.air.neck_mm = 0.0;
    request.rise.cells = 1000;
    request.foam.cell_mm = 2.0;
    request.split.pull = Vec3(0, 1, 0);
    return request;
}

template <class T>
void add_bytes(std::string& text, const std::vector<T>& values) {
    static_assert(std::is_arithmetic_v<T>);
    text.append(reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T));
}

// All that is told of a plan, and what is only shown.
inline std::string told_of(const Plan& plan) {
    std::string text = json_text(plan);
    if (plan.foam && plan.foam->density) {
        add_bytes(text, plan.foam->density->per_vertex_kg_m3);
    }
    if (plan.rise) {
        add_bytes(text, plan.rise->per_vertex_s);
    }
    if (plan.display) {
        add_bytes(text, plan.display->thickness_mm);
        add_bytes(text, plan.display->thin_mm);
        add_bytes(text, plan.display->density_kg_m3);
        add_bytes(text, plan.display->all_skin);
        add_bytes(text, plan.display->upper_half);
        add_bytes(text, plan.display->half_side);
    }
    return text;
}

// The plan, or the sentence with which it is refused.
inline std::string answer(const std::function<Plan()>& plan) {
    try {
        return told_of(plan());
    } catch (const Cancelled&) {
        return "stopped";
    } catch (const InvalidInput& error) {
        return std::string("refused: ") + error.what();
    } catch (const UnusableInput& error) {
        return std::string("unusable: ") + error.what();
    }
}

// Draws that are the same on every machine.
class Draws {
  public:
    explicit Draws(std::uint32_t seed) : random_(seed) {}
    std::size_t below(std::size_t count) { return random_() % count; }
    template <class T>
    T one_of(std::initializer_list<T> values) {
        return *(values.begin() + static_cast<std::ptrdiff_t>(below(values.size())));
    }

  private:
    std::mt19937 random_;
};

using Maybe = std::optional<double>;

// One option changed as a person at the bench would, good or bad.
using Change = std::function<void(PlanRequest&, Draws&)>;

inline std::vector<Change> foam_changes() {
    return {
        [](PlanRequest& r, Draws& d) {
            r.foam.density_kg_m3 = d.one_of<Maybe>({std::nullopt, 140.0, 170.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.bench.temperature_c = d.one_of<Maybe>({std::nullopt, 15.0, 21.0, 30.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.card = d.one_of<const char*>({"generic-firm", "generic-soft", "no-such-foam"});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.overpack = d.one_of<Maybe>({std::nullopt, 1.2, 0.5});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.skin_thickness_mm = d.one_of<Maybe>({std::nullopt, 1.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.copies = d.one_of({1, 4});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.largest_batch_g = d.one_of<Maybe>({std::nullopt, 30.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.air_kpa = d.one_of({kAtmosphere_kpa, 84.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.mold_wall_mm = d.one_of<Maybe>({std::nullopt, 35.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.foam.also.clear();
            if (d.below(2) == 0) {
                r.foam.also.push_back({r.part.file.parent_path() / "block.stl", std::nullopt});
            }
        },
        [](PlanRequest& r, Draws& d) {
            r.thin_limit_mm = d.one_of<Maybe>({std::nullopt, 9.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.thicken_mm = d.one_of<Maybe>({std::nullopt, 1.0});
        }};
}

inline std::vector<Change> air_changes() {
    return {
        [](PlanRequest& r, Draws& d) {
            r.air.up = d.one_of<Vec3>(
                {Vec3(0, 0, 1), Vec3(0, -0.0, 2), Vec3(1, 0, 0), Vec3(-1, 0.2, -3), Vec3::Zero()});
            r.air.up_given = d.below(2) == 0;
        },
        [](PlanRequest& r, Draws& d) {
            r.air.most_vents = d.one_of({0, 1, 3});
        },
        [](PlanRequest& r, Draws& d) {
            r.air.vents_at_mm.clear();
            if (d.below(2) == 0) {
                r.air.vents_at_mm.push_back(d.one_of<Vec3>({Vec3(8, 8, 80), Vec3(900, 0, 0)}));
            }
        },
        [](PlanRequest& r, Draws& d) {
            r.air.pour_hole_after = d.one_of<std::optional<PourHoleAfter>>(
                {std::nullopt, PourHoleAfter::vented, PourHoleAfter::plugged, PourHoleAfter::none});
        },
        [](PlanRequest& r, Draws& d) {
            r.bench.pour_hole_width_mm = d.one_of<Maybe>({std::nullopt, 9.0, 12.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.air.neck_mm = d.one_of({0.0, 2.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.air.show.reset();
            if (d.below(2) == 0) {
                r.air.show = d.below(2) == 0
                                 ? ShowSide{.toward = Vec3(0, 0, 1)}
                                 : ShowSide{.box_mm = Box3(Vec3(0, 0, 30), Vec3(20, 90, 90))};
            }
        },
        [](PlanRequest& r, Draws& d) {
            r.air.weights.reset();
            if (d.below(2) == 0) {
                r.air.weights = parse_way_weights("air=1,height=2", "weights");
            }
        },
        [](PlanRequest& r, Draws& d) {
            r.air.smallest_pocket_mm3 = d.one_of<Maybe>({std::nullopt, 1000.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.bench.method = d.one_of<std::optional<PourMethod>>(
                {std::nullopt, PourMethod::through_hole, PourMethod::open_half_and_turn});
        },
        [](PlanRequest& r, Draws& d) {
            r.rise.gel_s = d.one_of<Maybe>({std::nullopt, 100.0});
        },
        [](PlanRequest& r, Draws& d) {
            r.rise.uncertain = d.one_of({0, 2});
        },
        [](PlanRequest& r, Draws& d) {
            r.rise.cells = d.one_of<std::size_t>({1000, 2000});
        }};
}

inline std::vector<Change> other_changes() {
    return {[](PlanRequest& r, Draws& d) {
                r.part.file =
                    r.part.file.parent_path() /
                    d.one_of<const char*>({"u.stl", "u.stl", "hollow.stl", "missing.stl"});
            },
            [](PlanRequest& r, Draws& d) {
                r.part.longest_mm = d.one_of<Maybe>({std::nullopt, 120.0});
            },
            [](PlanRequest& r, Draws& d) {
                r.part.units.reset();
                if (d.below(2) == 0) {
                    r.part.units = parse_length_unit(d.one_of<const char*>({"mm", "cm", "ft"}));
                }
            },
            [](PlanRequest& r, Draws& d) {
                r.part.mend.hollows = d.one_of({Hollows::keep, Hollows::fill});
            },
            [](PlanRequest& r, Draws& d) {
                r.part.mend.level = d.one_of({MendLevel::full, MendLevel::off});
            },
            [](PlanRequest& r, Draws& d) {
                r.mold.kind = d.one_of({MoldKind::box, MoldKind::brushed, MoldKind::jacketed});
            },
            [](PlanRequest& r, Draws& d) {
                r.mold.rubber_mm = d.one_of<Maybe>({std::nullopt, 15.0});
            },
            [](PlanRequest& r, Draws& d) {
                r.mold.strap_holds_n = d.one_of<Maybe>({std::nullopt, 900.0});
            },
            [](PlanRequest& r, Draws& d) {
                r.split.pull.reset();
                if (d.below(2) == 0) {
                    r.split.pull = d.one_of<Vec3>({Vec3(0, 1, 0), Vec3(-0.0, 3, 0), Vec3(0, 0, 1)});
                }
            },
            [](PlanRequest& r, Draws& d) {
                r.handle.grips_mm.clear();
                if (d.below(2) == 0) {
                    r.handle.grips_mm.push_back(d.one_of<Vec3>({Vec3(8, 12, 4), Vec3(0, 0, 400)}));
                }
            },
            [](PlanRequest& r, Draws& d) {
                r.handle.armature.reset();
                if (d.below(2) == 0) {
                    r.handle.armature = Rod{RodMaterial::steel, 2.0};
                    r.handle.rod_cover_mm = d.one_of({2.0, 40.0});
                }
            },
            [](PlanRequest& r, Draws& d) {
                r.handle.foam_modulus_kpa = d.one_of<Maybe>({std::nullopt, 300.0});
            }};
}

// What a command asks for: a few of the stages, or nearly all.
inline Stages some_stages(Draws& draws, const Stages& before) {
    switch (draws.below(10)) {
        case 0:
            return {.thin = true, .foam = true, .density = true, .handle = true, .display = true};
        case 1:
            return {.air = true, .orient = true};
        case 2:
            return {.foam = true, .air = true, .bench = true, .rise = true, .rise_cases = true};
        case 3:
            return {.foam = true, .air = true, .mold = true, .split = true, .display = true};
        case 4:
            return {.thin = true, .foam = true, .air = true, .bench = true};
        default:
            return before;
    }
}

// A context that stops at the nth word of progress.
class Stopped {
  public:
    explicit Stopped(std::size_t at) : left_(at) {
        context.stop = source_.get_token();
        context.progress = [this](std::string_view /*phase*/, double /*share*/) {
            if (left_-- == 0) {
                source_.request_stop();
            }
        };
    }
    RunContext context;

  private:
    std::size_t left_;
    std::stop_source source_;
};

inline std::vector<Change> all_changes() {
    std::vector<Change> all;
    for (const std::vector<Change>& some : {foam_changes(), air_changes(), other_changes()}) {
        all.insert(all.end(), some.begin(), some.end());
    }
    return all;
}

// Changes an option or two at each step and holds the session's answer against a fresh one.
inline void follow(const Parts& parts, std::uint32_t seed, int steps) {
    const std::vector<Change> changes = all_changes();
    Draws draws(seed);
    const PlanRequest first = small_request(parts.file("u.stl"));
    PlanRequest request = first;
    Stages stages{.foam = true, .air = true};
    Session session;
    for (int step = 0; step < steps; ++step) {
        PlanRequest wanted = request;
        for (std::size_t i = 0; i <= draws.below(2); ++i) {
            changes[draws.below(changes.size())](wanted, draws);
        }
        stages = some_stages(draws, stages);
        if (draws.below(6) == 0) {
            const Stopped stopped(draws.below(12));
            static_cast<void>(
                answer([&] { return session.plan(wanted, stages, stopped.context); }));
        }
        const std::string kept = answer([&] { return session.plan(wanted, stages); });
        const std::string fresh = answer([&] { return make_plan(wanted, stages); });
        CAPTURE(seed);
        CAPTURE(step);
        const bool same = kept == fresh;
        CHECK(same);
        if (!same) {  // a plan is too long to be printed
            const auto at = std::mismatch(kept.begin(), kept.end(), fresh.begin(), fresh.end());
            const std::size_t from = static_cast<std::size_t>(at.first - kept.begin());
            CHECK(kept.substr(from - std::min<std::size_t>(from, 60), 120) ==
                  fresh.substr(from - std::min<std::size_t>(from, 60), 120));
            return;
        }
        // What is refused is taken back; what is not mostly stands.
        const bool good = kept.compare(0, 1, "{") == 0;
        request = !good || draws.below(8) == 0 ? (good ? first : request) : wanted;
    }
}
