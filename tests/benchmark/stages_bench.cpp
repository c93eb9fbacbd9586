// SPDX-License-Identifier: GPL-3.0-or-later
// Every stage of a plan on meshes of rising size, by one thread and by two, with other libraries'
// own way of doing the same beside it in the same run. Each answer leaves its figures as counters,
// so that whoever reads the results can hold them against each other; performance.py does.
//
// Usage: stages_bench MESH... [options of Google Benchmark]     closed meshes, any format we read.
#include <cstddef>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/mesh_segmentation.h>
#include <benchmark/benchmark.h>
#include <malloc.h>

#include "cavigram/cavity/depth.h"
#include "cavigram/cavity/outer_offset.h"
#include "cavigram/core/error.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/molding/split.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/mend.h"
#include "cavigram/spatial/proxy.h"

#include "benchmark/gudhi_air.h"
#include "benchmark/rise_request.h"
#include "support/cgal_surface.h"

using namespace cavigram;

namespace {

constexpr double kSkin_mm = 1.5;
constexpr double kOffset_mm = 10.0;
constexpr std::size_t kRiseCells = 15'000;  // as a plan takes for its coarse rise
constexpr std::size_t kAll = std::numeric_limits<std::size_t>::max();
constexpr std::size_t kMostForSlowPeers = 120'000;
constexpr int kAirCells = 100;  // along the longest side, for the grid that GUDHI takes
const Vec3 kUp(0.3, -0.5, 0.8);

// What the stages work on. Built when the first of them asks, and only one mesh at a time.
struct Loaded {
    std::filesystem::path file;
    Soup soup;
    Mended mended;
    std::optional<TriangleBvh> index;
    std::optional<AirTreeBuilder> air;
    cgal_side::Surface peer;
    gudhi_side::AirGrid grid;

    explicit Loaded(std::filesystem::path path)
        : file(std::move(path)), soup(read_mesh(file)), mended(mend(soup.mesh)) {
        index.emplace(mesh());
    }
    [[nodiscard]] const TriMesh& mesh() const { return mended.part.mesh(); }
    const AirTreeBuilder& builder() {
        if (!air) {
            air.emplace(mended.part);
        }
        return *air;
    }
    const gudhi_side::AirGrid& cells() {
        if (grid.value.empty()) {
            grid = gudhi_side::air_grid(mesh(), kUp, kAirCells);
        }
        return grid;
    }
    const cgal_side::Surface& surface() {
        if (peer.is_empty()) {
            peer = cgal_side::surface_of(mesh());
        }
        return peer;
    }
};

std::unique_ptr<Loaded> g_loaded;

Loaded& load(const std::filesystem::path& file) {
    if (!g_loaded || g_loaded->file != file) {
        g_loaded.reset();
        g_loaded = std::make_unique<Loaded>(file);
    }
    return *g_loaded;
}

// The kernel's own mark of the most memory held, and how to set it back (proc(5)). Where that is
// not allowed the figure is the most since the start.
void forget_peak() {
    std::ofstream("/proc/self/clear_refs") << "5";
}

double status_mb(const char* key) {
    std::ifstream status("/proc/self/status");
    for (std::string line; std::getline(status, line);) {
        if (line.rfind(key, 0) == 0) {
            return std::atof(line.c_str() + std::strlen(key) + 1) / 1024.0;
        }
    }
    return 0.0;
}

using Counters = std::map<std::string, double>;

// One stage: what it does on a mesh, and the figures of its answer.
struct Stage {
    std::string name;
    std::string maker;  // "ours" or the library
    std::function<Counters(Loaded&, const RunContext&)> work;
    bool threads = true;                        // tells one from two
    std::size_t most_triangles = kAll;          // above: left out
    std::function<void(Loaded&)> prepare = {};  // not timed
};

void run(benchmark::State& state, const Stage& stage, const std::filesystem::path& file,
         int threads) {
    Loaded& loaded = load(file);
    if (loaded.mesh().triangles.size() > stage.most_triangles) {
        state.SkipWithError("left out: takes too long at this size");
        return;
    }
    if (stage.prepare) {
        stage.prepare(loaded);
    }
    RunContext context;
    context.threads = threads;
    Counters figures;
    malloc_trim(0);
    forget_peak();
    const double held_mb = status_mb("VmRSS:");
    for (auto _ : state) {
        figures = stage.work(loaded, context);
    }
    state.counters["peak_mb"] = status_mb("VmHWM:");
    state.counters["held_mb"] = held_mb;
    state.counters["triangles"] = static_cast<double>(loaded.mesh().triangles.size());
    for (const auto& [name, value] : figures) {
        state.counters["answer_" + name] = value;
    }
}

double count(std::size_t n) {
    return static_cast<double>(n);
}

double deepest_mm(const std::vector<double>& pockets) {
    return pockets.empty() ? 0.0 : pockets.front();
}

// From the file to what every other stage starts from.
std::vector<Stage> part_stages() {
    return {
        {"read", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             return {{"triangles", count(read_mesh(in.file, {}, context).mesh.triangles.size())}};
         },
         false},
        {"weld", "ours",
         [](Loaded& in, const RunContext&) -> Counters {
             return {{"vertices", count(weld_exact(in.soup.mesh).mesh.vertices.size())}};
         },
         false},
        {"mend", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             return {
                 {"vertices", count(mend(in.soup.mesh, {}, context).part.mesh().vertices.size())}};
         }},
        {"volume and area", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const MassProperties mass = mass_properties(in.mesh(), context);
             return {{"volume_mm3", mass.volume_mm3}, {"area_mm2", mass.area_mm2}};
         }},
        {"volume and area", "CGAL",
         [](Loaded& in, const RunContext&) -> Counters {
             namespace pmp = CGAL::Polygon_mesh_processing;
             return {{"volume_mm3", pmp::volume(in.surface())},
                     {"area_mm2", pmp::area(in.surface())}};
         },
         false, kAll, [](Loaded& in) { static_cast<void>(in.surface()); }},
        {"crosses itself", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             return {{"crosses",
                      crosses_itself(in.mesh(), in.mended.part.adjacent(), context) ? 1.0 : 0.0}};
         }},
        {"crosses itself", "CGAL",
         [](Loaded& in, const RunContext&) -> Counters {
             namespace pmp = CGAL::Polygon_mesh_processing;
             return {{"crosses",
                      pmp::does_self_intersect<CGAL::Sequential_tag>(in.surface()) ? 1.0 : 0.0}};
         },
         false, kAll, [](Loaded& in) { static_cast<void>(in.surface()); }},
        {"index of the surface", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             return {
                 {"diagonal_mm", TriangleBvh(in.mesh(), context).bounds_mm().diagonal().norm()}};
         }},
        {"write STL", "ours",
         [](Loaded& in, const RunContext&) -> Counters {
             return {{"bytes", count(stl_bytes(in.mesh()).size())}};
         },
         false},
    };
}

// What a plan computes of a part.
std::vector<Stage> plan_stages() {
    return {
        {"skin", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const DepthVolume skin =
                 depth_volume(in.mesh(), *in.index, {.depths_mm = {kSkin_mm}}, context);
             return {{"skin_mm3", skin.skin_volume_mm3(kSkin_mm)},
                     {"error_mm3", skin.error_mm3(kSkin_mm)},
                     {"deepest_mm", skin.depth_mm.back()}};
         }},
        {"thickness", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const ThicknessMap map =
                 thickness_map(in.mesh(), in.mended.part.adjacent(), *in.index, {}, context);
             return {{"median_mm", thickness_quantile_mm(map, 0.5)}};
         }},
        // Its defaults: 25 rays a face, smoothed. It is not the same quantity: cones of rays, not
        // balls that fit inside.
        {"thickness", "CGAL",
         [](Loaded& in, const RunContext&) -> Counters {
             cgal_side::Surface copy = in.surface();
             const auto values =
                 copy.add_property_map<cgal_side::Surface::Face_index, double>("f:sdf", 0.0).first;
             return {{"widest_mm", CGAL::sdf_values(copy, values).second}};
         },
         false, kMostForSlowPeers, [](Loaded& in) { static_cast<void>(in.surface()); }},
        {"stand-in of 16,000", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const Proxy proxy = decimated_proxy(in.mesh(), *in.index, {}, context);
             return {{"triangles", count(proxy.mesh.triangles.size())},
                     {"off_mm", proxy.deviation_mm}};
         }},
        {"air, one way up", "ours",
         [](Loaded& in, const RunContext&) -> Counters {
             AirTreeWorkspace workspace;
             return {{"deepest_mm", deepest_mm(gudhi_side::pocket_depths_mm(
                                        in.builder().build(kUp, workspace)))}};
         },
         false, kAll, [](Loaded& in) { static_cast<void>(in.builder()); }},
        // On a grid whose cells do not follow the mesh: the same time at any size.
        {"air, one way up", "GUDHI",
         [](Loaded& in, const RunContext&) -> Counters {
             return {{"deepest_mm", deepest_mm(gudhi_side::pocket_depths_mm(in.cells()))},
                     {"cell_mm", in.cells().cell_mm}};
         },
         false, kMostForSlowPeers, [](Loaded& in) { static_cast<void>(in.cells()); }},
        {"search for a way up", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const Orientations found = orientations(in.builder(), {}, context);
             return {{"trees", count(found.looked_at)},
                     {"left_mm3", found.rows.front().value.vented_mm3}};
         },
         true, kAll, [](Loaded& in) { static_cast<void>(in.builder()); }},
        {"split", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const Split split = split_mold(in.mesh(), *in.index, {}, context);
             return {{"stretch", split.stretch}, {"line_mm", split.parting.length_mm}};
         }},
        {"room around the part", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const OuterOffset around =
                 outer_offset(in.mesh(), *in.index, {kOffset_mm}, {}, context);
             return {{"shell_mm3", around.shells.front().volume_mm3},
                     {"error_mm3", around.shells.front().error_mm3}};
         }},
        {"rise, 15,000 cells", "ours",
         [](Loaded& in, const RunContext& context) -> Counters {
             const ThicknessMap thickness =
                 thickness_map(in.mesh(), in.mended.part.adjacent(), *in.index, {}, context);
             const double volume_mm3 = mass_properties(in.mesh(), context).volume_mm3;
             const RiseGrid grid = rise_grid(in.mesh(), Vec3::UnitZ(), thickness, volume_mm3,
                                             {.cells = kRiseCells}, context);
             Vec3 top = in.mesh().vertices.front();
             for (const Vec3& p : in.mesh().vertices) {
                 top = p.z() > top.z() ? p : top;
             }
             const RiseRequest request = rise_request(volume_mm3, top);
             return {{"mass_error", follow_rise(grid, request, context).mass_error}};
         }},
    };
}

void add(const Stage& stage, const std::filesystem::path& file) {
    const std::vector<int> counts = stage.threads ? std::vector<int>{1, 2} : std::vector<int>{1};
    for (const int threads : counts) {
        const std::string name = stage.name + "/" + stage.maker + "/" + file.stem().string() + "/" +
                                 std::to_string(threads);
        benchmark::RegisterBenchmark(
            name.c_str(),
            [stage, file, threads](benchmark::State& state) { run(state, stage, file, threads); })
            ->UseRealTime()
            ->MeasureProcessCPUTime()
            ->Unit(benchmark::kMillisecond);
    }
}

}  // namespace

int main(int count, char** arguments) {
    benchmark::Initialize(&count, arguments);
    if (count < 2) {
        std::fprintf(stderr, "stages_bench: give at least one mesh file.\n");
        return 2;
    }
    // Mesh by mesh: only one is held at a time.
    for (int i = 1; i < count; ++i) {
        for (const std::vector<Stage>& stages : {part_stages(), plan_stages()}) {
            for (const Stage& stage : stages) {
                add(stage, arguments[i]);
            }
        }
    }
    try {
        benchmark::RunSpecifiedBenchmarks();
    } catch (const Error& error) {
        std::fprintf(stderr, "stages_bench: %s\n", error.what());
        return 1;
    }
    benchmark::Shutdown();
    return 0;
}
