// SPDX-License-Identifier: GPL-3.0-or-later
// Shops that cast by the chain of the foam's model, not by the fit's own formula: what fills a mold
// is rho_f V + (rho_s - rho_f) S(t), with S(t) in closed form, the shop's own t, a free rise that
// differs from batch to batch, and a scale that rounds. The fit knows S at 1 mm only.
#include <array>
#include <numbers>
#include <random>

#include "cavigram/tally/fit.h"

#include "support/near.h"

using namespace cavigram;

namespace {

using Random = std::mt19937_64;

// Not std::uniform_real_distribution: its numbers are the library's own.
double between(Random& random, double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1p-53;
}

std::size_t below(Random& random, std::size_t count) {
    return static_cast<std::size_t>(random() % count);
}

// Box & Muller, Ann. Math. Stat. 29 (1958) 610.
double normal(Random& random) {
    const double radius = std::sqrt(-2.0 * std::log(1.0 - between(random, 0.0, 1.0)));
    return radius * std::cos(2.0 * std::numbers::pi * between(random, 0.0, 1.0));
}

// Evenly in the logarithm, as sizes are.
double size_between(Random& random, double low, double high) {
    return std::exp(between(random, std::log(low), std::log(high)));
}

enum class Kind { box, ball, cylinder };

struct Shape {
    Kind kind = Kind::box;
    std::array<double, 3> size_mm{};  // edges; radius; radius and height
    // What lies deeper than d.
    [[nodiscard]] double within_mm3(double d) const {
        const auto left = [d](double size, double sides) {
            return std::max(0.0, size - sides * d);
        };
        const double pi = std::numbers::pi;
        switch (kind) {
            case Kind::box:
                return left(size_mm[0], 2) * left(size_mm[1], 2) * left(size_mm[2], 2);
            case Kind::ball:
                return 4.0 / 3.0 * pi * std::pow(left(size_mm[0], 1), 3);
            case Kind::cylinder:
                return pi * std::pow(left(size_mm[0], 1), 2) * left(size_mm[1], 2);
        }
        return 0.0;
    }
    [[nodiscard]] double volume_mm3() const { return within_mm3(0.0); }
    [[nodiscard]] double skin_mm3(double t) const { return volume_mm3() - within_mm3(t); }
};

// Parts of 50 to 800 mL, 6 to 120 mm thick; `wider` than that for what is predicted.
Shape draw_shape(Random& random, double wider) {
    for (;;) {
        Shape shape;
        shape.kind = static_cast<Kind>(below(random, 3));
        if (shape.kind == Kind::box) {
            shape.size_mm = {size_between(random, 40, 200), size_between(random, 40, 200),
                             size_between(random, 6 / wider, 120 * wider)};
        } else if (shape.kind == Kind::ball) {
            shape.size_mm = {size_between(random, 22 / wider, 60 * wider), 0, 0};
        } else {
            shape.size_mm = {size_between(random, 6 / wider, 60 * wider),
                             size_between(random, 6 / wider, 300), 0};
        }
        if (shape.volume_mm3() >= 50e3 / wider && shape.volume_mm3() <= 800e3 * wider) {
            return shape;
        }
    }
}

// A shop: its foam, its skin, its scale, its hand.
struct Shop {
    double free_rise_kg_m3 = 0.0;
    double skin_kg_m3 = 0.0;
    double skin_mm = 0.0;
    double batch_scatter = 0.03;
    double scale_g = 0.0;
    double film_at_100_g = 0.0;

    [[nodiscard]] double weigh(double g) const { return std::round(g / scale_g) * scale_g; }
    [[nodiscard]] double mass_g(const Shape& shape, double free_rise) const {
        return 1e-6 * (free_rise * shape.volume_mm3() +
                       (skin_kg_m3 - free_rise) * shape.skin_mm3(skin_mm));
    }
    [[nodiscard]] double batch(Random& random) const {
        return free_rise_kg_m3 * (1.0 + batch_scatter * normal(random));
    }
    // One casting with a leftover cup of 60 mL; a third of them flash.
    [[nodiscard]] Casting cast(const Shape& shape, Random& random) const {
        const double free_rise = batch(random);
        const double mass = mass_g(shape, free_rise);
        const double leftover = 0.06 * free_rise;
        const double flash = below(random, 3) == 0 ? between(random, 0.0, 0.05) * mass : 0.0;
        Casting c;
        c.foam = "ours";
        c.mix = "50:100";
        c.volume_mm3 = shape.volume_mm3();
        c.area_mm2 = 1e4 * shape.skin_mm3(1e-4);
        c.skin_reference_mm = kSkinReference_mm;
        c.skin_volume_mm3 = shape.skin_mm3(kSkinReference_mm);
        c.part_mass_g = weigh(mass - flash);
        if (flash > 0.0) {
            c.flash_mass_g = weigh(flash);
        }
        c.verdict = flash > 0.0 ? "flashed" : "good";
        double cup = mass + leftover;
        const double film = film_at_100_g * (1.0 + 0.1 * normal(random));
        for (int i = 0; i < 60; ++i) {  // the cup that leaves this much
            cup = mass + leftover + film * std::pow(cup / 100.0, 2.0 / 3.0);
        }
        c.cup_mass_g = weigh(cup);
        c.free_rise_mass_g = weigh(leftover);
        c.free_rise_volume_ml = 60.0;
        return c;
    }
};

Shop draw_shop(Random& random, double skin_mm, double scale_g) {
    Shop shop;
    shop.free_rise_kg_m3 = between(random, 110.0, 220.0);
    shop.skin_kg_m3 = between(random, 350.0, 600.0);
    shop.skin_mm = skin_mm;
    shop.scale_g = scale_g;
    shop.film_at_100_g = between(random, 3.0, 8.0);
    return shop;
}

struct Held {
    int shops = 0;
    int mass = 0;
    int film = 0;
    int free_rise = 0;
    int next_cup = 0;
    int core = 0;
    [[nodiscard]] double percent(int of) const { return 100.0 * of / shops; }
};

// How often 95 % intervals hold the truth, over shops that each cast 4 to 12 times in 2 to 5 molds.
Held simulate(double skin_mm, double scale_g, int shops, unsigned seed) {
    Random random(seed);
    Held held;
    while (held.shops < shops) {
        const Shop shop = draw_shop(random, skin_mm, scale_g);
        std::vector<Shape> molds(2 + below(random, 4));
        for (Shape& mold : molds) {
            mold = draw_shape(random, 1.0);
        }
        std::vector<Casting> castings;
        const std::size_t count = std::max<std::size_t>(4 + below(random, 9), molds.size());
        for (std::size_t i = 0; i < count; ++i) {
            castings.push_back(
                shop.cast(molds[i < molds.size() ? i : below(random, molds.size())], random));
        }
        const ShopFit fit = fit_castings(castings);
        if (!fit.line->slope_kg_m2) {
            continue;  // molds too much alike: the next test
        }
        ++held.shops;
        const auto holds = [](const Estimate& e, double truth) {
            return std::abs(e.value - truth) <= e.plus_minus ? 1 : 0;
        };
        const Shape next = draw_shape(random, 1.25);
        const double observed = shop.weigh(shop.mass_g(next, shop.batch(random)));
        held.mass += holds(predicted_mass_g(fit, next.volume_mm3(),
                                            next.skin_mm3(kSkinReference_mm) / kSkinReference_mm),
                           observed);
        held.film += holds(fit.film_at_100_g, shop.film_at_100_g);
        held.free_rise += holds(*fit.free_rise_kg_m3, shop.free_rise_kg_m3);
        held.next_cup += holds({fit.free_rise_kg_m3->value, fit.free_rise_next_plus_minus_kg_m3},
                               shop.batch(random));
        held.core += holds(*fit.core_density_kg_m3, shop.free_rise_kg_m3);
    }
    return held;
}

constexpr int kShops = 4000;  // the binomial error of 95 % is 0.34 %

}  // namespace

// foam_model.md section 6: inside the 95 % prediction interval in 93 to 97 of 100.
TEST_CASE("the mass of a part not cast before lies within its interval 93 to 97 times in 100") {
    unsigned seed = 1;
    for (const double skin_mm : {0.6, 1.0, 1.4}) {
        for (const double scale_g : {0.1, 1.0}) {
            const Held held = simulate(skin_mm, scale_g, kShops, seed++);
            INFO("skin ", skin_mm, " mm, scale ", scale_g, " g: mass ", held.percent(held.mass),
                 ", film ", held.percent(held.film), ", free rise ", held.percent(held.free_rise),
                 ", next cup ", held.percent(held.next_cup), ", core ", held.percent(held.core));
            for (const int of : {held.mass, held.film, held.free_rise, held.next_cup}) {
                CHECK(held.percent(of) >= 93.0);
            }
            for (const int of : {held.mass, held.film}) {
                CHECK(held.percent(of) <= 97.0);
            }
            // A cup of some 8 g on a gram scale says little, and its interval is on the safe side.
            CHECK(held.percent(held.free_rise) <= (scale_g < 1.0 ? 97.0 : 100.0));
            // The core is what the line extends to at x = 0, beyond all castings, by S at 1 mm in
            // place of the shop's own t.
            CHECK(held.percent(held.core) >= 93.0);
        }
    }
}

TEST_CASE("one mold only: its next casting 93 to 97 times in 100, other shapes at least as often") {
    Random random(11);
    int same = 0;
    int other = 0;
    for (int i = 0; i < kShops; ++i) {
        const Shop shop = draw_shop(random,
                                    i % 3 == 0   ? 0.6
                                    : i % 3 == 1 ? 1.0
                                                 : 1.4,
                                    i % 2 == 0 ? 0.1 : 1.0);
        const Shape mold = draw_shape(random, 1.0);
        std::vector<Casting> castings;
        for (std::size_t n = 2 + below(random, 7); n > 0; --n) {
            castings.push_back(shop.cast(mold, random));
        }
        const ShopFit fit = fit_castings(castings);
        REQUIRE_FALSE(fit.line->slope_kg_m2);
        const auto held = [&](const Shape& shape) {
            const Estimate e =
                predicted_mass_g(fit, shape.volume_mm3(), shape.skin_mm3(kSkinReference_mm));
            const double observed = shop.weigh(shop.mass_g(shape, shop.batch(random)));
            return std::abs(e.value - observed) <= e.plus_minus ? 1 : 0;
        };
        same += held(mold);
        other += held(draw_shape(random, 1.25));
    }
    INFO("same ", 100.0 * same / kShops, ", other ", 100.0 * other / kShops);
    CHECK(same >= 0.93 * kShops);
    CHECK(same <= 0.97 * kShops);
    CHECK(other >= 0.95 * kShops);
}
