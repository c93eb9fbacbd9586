// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram {

using Box2 = Eigen::AlignedBox2d;

// About as wide as a common sans-serif font sets it, in the unit of `size`.
double text_width(std::string_view words, double size);

// One line of text that takes text_width whatever font the viewer has, so that what fits here fits
// there. `anchor`: start, middle or end; `more`: further attributes.
std::string svg_text(double x, double y, double size, std::string_view anchor,
                     std::string_view words, std::string_view more = "");

// What a line of text covers. y grows downward.
Box2 text_box(double x, double y, double size, std::string_view anchor, std::string_view words);

// Finds room for names beside their places.
class LabelRoom {
  public:
    explicit LabelRoom(const Box2& within) : within_(within) {}
    void take(const Box2& box) { taken_.push_back(box); }
    // The baseline's start for a name near `at`, at least `off` away: the nearest place where it
    // touches no other and stays within. Without any the nearest of all. Takes it.
    Vec2 place(const Vec2& at, double off, double size, std::string_view words);

  private:
    Box2 within_;
    std::vector<Box2> taken_;
};

// The coordinate direction that a direction is nearest to, as people name it: "+x".
std::string axis_name(const Vec3& direction);

}  // namespace cavigram
