// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/threemf_reader.h"

#include <algorithm>
#include <limits>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/large_array.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"
#include "cavigram/io/threemf_part_detail.h"
#include "cavigram/io/zip_package_detail.h"

namespace cavigram {

namespace {

// Copies of copies grow without end; this many triangles take two gigabytes with their vertices.
constexpr std::uint64_t kMostPlaced = 50'000'000;
constexpr std::size_t kDeepest = 200;

struct Size {
    std::uint64_t vertices = 0;
    std::uint64_t triangles = 0;
};

class Package {
  public:
    Package(std::string_view bytes, std::string_view name)
        : zip_(bytes, name), name_(name), root_(threemf_root_part(zip_, name)) {}

    Soup read() {
        soup_.format = "3mf";
        const ThreemfPart& root = part(root_);
        soup_.unit_mm = root.unit_mm;
        if (root.items.empty()) {
            refuse(name_,
                   "its build lists nothing to print; place the part in the program that "
                   "made it and export it again");
        }
        for (const ThreemfPlacement& item : root.items) {
            if (!item.printed) {
                ++left_out_;
                continue;
            }
            total_ = sum(total_, size_of(root_, item));
        }
        if (total_.triangles > kMostPlaced || total_.vertices > kMostPlaced) {
            refuse(name_, fmt::format("with all its copies it would hold more than {} triangles or "
                                      "vertices; export one copy, or make the mesh coarser",
                                      static_cast<unsigned long long>(kMostPlaced)));
        }
        reserve_large(soup_.mesh.vertices, static_cast<std::size_t>(total_.vertices));
        reserve_large(soup_.mesh.triangles, static_cast<std::size_t>(total_.triangles));
        for (const ThreemfPlacement& item : root.items) {
            if (item.printed) {
                place(root_, item, Eigen::Matrix4d::Identity());
            }
        }
        return finished();
    }

  private:
    using Key = std::pair<std::string, std::uint32_t>;

    static Size sum(const Size& a, const Size& b) {
        constexpr std::uint64_t kEnough = std::numeric_limits<std::uint64_t>::max() / 4;
        return {std::min(a.vertices + b.vertices, kEnough),
                std::min(a.triangles + b.triangles, kEnough)};
    }

    const ThreemfPart& part(const std::string& path) {
        const auto found = parts_.find(path);
        if (found != parts_.end()) {
            return found->second;
        }
        return parts_.emplace(path, parse_threemf_part(zip_, path, name_)).first->second;
    }

    // The part that a placement in `from` means.
    [[nodiscard]] const std::string& path_of(const std::string& from,
                                             const ThreemfPlacement& placed) const {
        if (!placed.path.empty() && from != root_) {
            refuse(name_, "its part " + shown_text(from) +
                              " names an object of another part, which only the first one may; "
                              "export it again");
        }
        return placed.path.empty() ? from : placed.path;
    }

    const ThreemfObject& object(const std::string& path, std::uint32_t id) {
        const auto& objects = part(path).objects;
        const auto found = objects.find(id);
        if (found == objects.end()) {
            refuse(name_,
                   fmt::format("it places the object {}, which its part {} does not hold; export "
                               "it again",
                               id, shown_text(path)));
        }
        return found->second;
    }

    // What the placed object holds with all that is placed within it. Each object is counted once.
    Size size_of(const std::string& from, const ThreemfPlacement& placed) {
        const std::string& path = path_of(from, placed);
        const Key key(path, placed.object);
        if (const auto found = sizes_.find(key); found != sizes_.end()) {
            if (!found->second.first) {
                refuse(name_,
                       fmt::format("its objects are made of each other in a circle (object {}); "
                                   "export it again",
                                   placed.object));
            }
            return found->second.second;
        }
        if (++depth_ > kDeepest) {
            refuse(name_, "its objects are nested too deep; export the part as one mesh");
        }
        sizes_[key] = {false, {}};
        const ThreemfObject& here = object(path, placed.object);
        Size size;
        if (here.type == "support" || here.type == "solidsupport" || here.type == "other") {
            ++left_out_;
        } else if (here.reduced) {
            refuse(name_,
                   "it holds a coarse stand-in for the part instead of its full shape; "
                   "export it with full resolution");
        } else {
            size = {here.mesh.vertices.size(), here.mesh.triangles.size()};
            for (const ThreemfPlacement& component : here.components) {
                size = sum(size, size_of(path, component));
            }
        }
        --depth_;
        sizes_[key] = {true, size};
        return size;
    }

    // Millimeters and all: each part's numbers are in its own unit.
    double units_of_root(const std::string& path) {
        const auto& unit = part(path).unit_mm;
        return unit && soup_.unit_mm ? *unit / *soup_.unit_mm : 1.0;
    }

    void place(const std::string& from, const ThreemfPlacement& placed,
               const Eigen::Matrix4d& above) {
        const std::string& path = path_of(from, placed);
        if (sizes_.at(Key(path, placed.object)).second.triangles == 0) {
            return;
        }
        Eigen::Matrix4d here = above * placed.transform;
        if (const double scale = path == from ? 1.0 : units_of_root(path); scale != 1.0) {
            here.leftCols<3>() *= scale;
            units_differ_ = true;
        }
        const ThreemfObject& source = object(path, placed.object);
        add(source.mesh, here);
        for (const ThreemfPlacement& component : source.components) {
            place(path, component, here);
        }
    }

    void add(const TriMesh& mesh, const Eigen::Matrix4d& transform) {
        const Mat3 linear = transform.topLeftCorner<3, 3>();
        const Vec3 shift = transform.topRightCorner<3, 1>();
        const auto first = static_cast<std::int32_t>(soup_.mesh.vertices.size());
        for (const Vec3& v : mesh.vertices) {
            soup_.mesh.vertices.push_back(linear * v + shift);
        }
        const bool mirrored = linear.determinant() < 0.0;
        for (const Triangle& t : mesh.triangles) {
            soup_.mesh.triangles.push_back(
                {first + t[mirrored ? 2 : 0], first + t[1], first + t[mirrored ? 0 : 2]});
        }
    }

    void note(Severity severity, FindingCode code, std::string text) {
        soup_.findings.push_back({severity, code, std::move(text), {}});
    }

    Soup finished() {
        std::size_t degenerate = 0;
        bool beams = false;
        int most_digits = 0;
        for (const auto& [path, part] : parts_) {
            degenerate += part.degenerate;
            beams = beams || part.beams;
            most_digits = std::max(most_digits, part.most_digits);
        }
        soup_.triangles_in_file = soup_.mesh.triangles.size();
        if (left_out_ > 0) {
            note(
                Severity::note, "not_printed_left_out",
                fmt::format("{} of the file's objects are supports or not to be printed; they were "
                            "left out.",
                            left_out_));
        }
        if (degenerate > 0) {
            note(Severity::note, "triangles_without_area",
                 fmt::format("{} of the file's triangles name a corner twice; they were left out.",
                             degenerate));
        }
        if (beams) {
            note(Severity::warning, "beams_left_out",
                 "The file holds a lattice of beams, which was left out; export it as a mesh if it "
                 "is part of the shape.");
        }
        if (units_differ_) {
            note(Severity::warning, "units_differ",
                 "The parts within the file state different units, and each was read in its own; "
                 "check the size.");
        }
        drop_bad_triangles(soup_);
        finish_soup(soup_, name_, most_digits <= std::numeric_limits<float>::max_digits10);
        return std::move(soup_);
    }

    ZipPackage zip_;
    std::string_view name_;
    std::string root_;
    std::map<std::string, ThreemfPart> parts_;
    std::map<Key, std::pair<bool, Size>> sizes_;  // Whether it is counted to its end, and what.
    std::size_t depth_ = 0;
    Size total_;
    std::size_t left_out_ = 0;
    bool units_differ_ = false;
    Soup soup_;
};

}  // namespace

Soup parse_threemf(std::string_view bytes, std::string_view name) {
    return Package(bytes, name).read();
}

}  // namespace cavigram
