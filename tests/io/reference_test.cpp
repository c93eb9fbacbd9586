// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the meshes that tools/dev/fetch_models.sh fetched, and holds volume and area against VTK
// and numpy.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <sstream>

#include "cavigram/io/mesh_format.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"

#include "io_tools.h"

using namespace io_test;
namespace fs = std::filesystem;

namespace {

// The data folder: the environment variable CAVIGRAM_REFERENCE_DATA, else where tests/run.sh puts
// it.
fs::path data_folder() {
    const char* named = std::getenv("CAVIGRAM_REFERENCE_DATA");
    return named != nullptr ? fs::path(named) : fs::path("build/reference_data");
}

bool data_is_there() {
    if (fs::is_directory(data_folder())) {
        return true;
    }
    std::printf("SKIPPED: no folder %s; make it with tools/dev/fetch_models.sh\n",
                data_folder().c_str());
    return false;
}

// Every file whose extension a person would take for a surface, in a fixed order.
std::vector<fs::path> surface_files() {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(data_folder())) {
        if (entry.is_regular_file() &&
            format_of({}, entry.path().extension().string()) != nullptr) {
            files.push_back(entry.path());
        }
    }
    std::sort(files.begin(), files.end());
    return files;
}

struct Measured {
    std::size_t triangles = 0;
    double volume = 0.0;
    double area = 0.0;
    double mass_volume = 0.0;
    double mass_area = 0.0;
    std::string word;
};

std::string quoted(const std::string& text) {
    std::string result = "'";
    for (const char c : text) {
        result += c == '\'' ? std::string("'\\''") : std::string(1, c);
    }
    return result + "'";
}

// What a command prints, and how it ended.
std::pair<std::string, int> output_of(std::string command, const std::vector<fs::path>& files) {
    for (const fs::path& file : files) {
        command += " " + quoted(file.string());
    }
    FILE* pipe = ::popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string text;
    std::array<char, 4096> piece{};
    while (const std::size_t count = std::fread(piece.data(), 1, piece.size(), pipe)) {
        text.append(piece.data(), count);
    }
    return {text, ::pclose(pipe)};
}

std::vector<Measured> measured_by_vtk(const std::vector<fs::path>& files) {
    const auto [text, status] =
        output_of("/usr/bin/python3 " + quoted(CAVIGRAM_TEST_IO "/vtk_measure.py"), files);
    REQUIRE(status == 0);
    std::istringstream lines(text);
    std::vector<Measured> results(files.size());
    for (Measured& m : results) {
        std::string number;
        std::array<double*, 4> to{&m.volume, &m.area, &m.mass_volume, &m.mass_area};
        lines >> m.triangles;
        for (double* value : to) {
            lines >> number;
            *value = std::strtod(number.c_str(), nullptr);  // streams do not read `nan`
        }
        lines >> m.word;
    }
    REQUIRE_FALSE(lines.fail());
    return results;
}

struct Read {
    fs::path file;
    Soup soup;
};

std::vector<Read> read_for_comparison() {
    std::vector<Read> reads;
    for (const fs::path& file : surface_files()) {
        const std::string ending = file.extension().string();
        if (ending != ".stl" && ending != ".STL" && ending != ".obj" && ending != ".ply" &&
            ending != ".off") {
            continue;
        }
        try {
            reads.push_back({file, read_mesh(file)});
        } catch (const UnusableInput&) {
        }
    }
    return reads;
}

bool is_ascii_ply(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::string head(200, '\0');
    in.read(head.data(), static_cast<std::streamsize>(head.size()));
    return head.find("format ascii") != head.npos;
}

// Files on which the other side is at fault or has no answer, and why.
const std::map<std::string, std::string> kExceptions = {
    {"box_longline.obj",
     "a face that goes round and round on four corners; VTK stops after the first"},
    {"concave_polygon.obj",
     "VTK does not manage to cut its polygon of 66 corners; see the check of its own below"},
    {"space_in_material_name.obj", "the same polygon"},
    {"regr_3429812.obj",
     "0.01 across at a distance where float32 steps by 1e-7, so the two float roundings differ"},
};

}  // namespace

TEST_CASE("every surface file of the packages ends in a sound soup or a sentence") {
    if (!data_is_there()) {
        return;
    }
    const auto files = surface_files();
    std::size_t read = 0;
    std::map<std::string, std::size_t> formats;
    for (const fs::path& file : files) {
        CAPTURE(file);
        try {
            const Soup soup = read_mesh(file);
            CHECK(keeps_promises(soup));
            ++formats[soup.format];
            ++read;
        } catch (const UnusableInput& error) {
            check_sentence(error.what());
        }
    }
    std::printf("%zu surface files, of which %zu were read:", files.size(), read);
    for (const auto& [format, count] : formats) {
        std::printf(" %s %zu", format.c_str(), count);
    }
    std::printf("\n");
    // As of the versions in docs/rooms/io.md; point clouds, lines, empty and damaged files are the
    // rest.
    CHECK(files.size() >= 350);
    CHECK(read >= 290);
    for (const char* format : {"stl-binary", "stl-ascii", "obj", "ply", "off", "gltf", "glb", "3mf",
                               "dae", "fbx", "3ds", "amf", "dxf", "ac"}) {
        CHECK(formats.count(format) == 1);
    }
}

TEST_CASE("STL, OBJ, PLY and OFF: the same triangles, volume and area as VTK and numpy see") {
    if (!data_is_there()) {
        return;
    }
    const auto reads = read_for_comparison();
    std::vector<fs::path> files;
    for (const Read& read : reads) {
        files.push_back(read.file);
    }
    const auto others = measured_by_vtk(files);
    std::size_t same = 0;
    std::size_t closed = 0;
    std::size_t closed_by_vtk = 0;
    double worst_mass = 0.0;
    for (std::size_t i = 0; i < reads.size(); ++i) {
        const TriMesh& mesh = reads[i].soup.mesh;
        const Measured& other = others[i];
        CAPTURE(reads[i].file);
        CAPTURE(other.word);
        if (kExceptions.count(reads[i].file.filename().string()) == 1 ||
            (other.word != "ok" && other.word != "polygons")) {
            continue;
        }
        CHECK(mesh.triangles.size() == other.triangles);
        const bool off_polygons = other.word == "polygons" && reads[i].soup.format == "off";
        if (off_polygons) {
            continue;  // The script cuts them as fans, which is right for convex flat ones only.
        }
        // Binary files agree to rounding. The digits of a text are read as doubles here but become
        // float32 in VTK's readers, 6e-8 of the number; on a whole mesh a hundredth of that is
        // left.
        const bool loose = reads[i].soup.format == "obj" ||
                           (reads[i].soup.format == "ply" && is_ascii_ply(reads[i].file));
        const double limit = loose ? 2e-8 : 1e-9;
        const double volume = plain_volume(mesh);
        const double area = plain_area(mesh);
        // An open mesh's sum may vanish, so the volume is also judged by that of a cube of the same
        // area.
        CHECK(std::abs(area - other.area) <= limit * area);
        CHECK(std::abs(volume - other.volume) <=
              limit * std::max(std::abs(volume), 0.01 * area * std::sqrt(area)));
        ++same;
        if (adjacency(weld_exact(mesh).mesh).closed() && area > 0.0) {
            ++closed;
            if (!std::isnan(other.mass_volume)) {
                ++closed_by_vtk;
                CHECK(std::abs(volume - other.volume) <= limit * std::abs(volume));
                // By VTK's own volume, so that its float32 does not count against it.
                worst_mass = std::max(worst_mass,
                                      std::abs(other.mass_volume / std::abs(other.volume) - 1.0));
            }
        }
    }
    std::printf(
        "%zu files compared, %zu the same; closed ones %zu, of them through VTK's readers %zu, "
        "where "
        "vtkMassProperties differs by %.1e at most\n",
        reads.size(), same, closed, closed_by_vtk, worst_mass);
    CHECK(closed >= 100);
    CHECK(closed_by_vtk >= 20);
    CHECK(worst_mass <= 1e-9);
}

TEST_CASE("what the other readers in reach get wrong, held against plain arithmetic") {
    if (!data_is_there()) {
        return;
    }
    // One flat polygon of 66 corners: its area is the length of its vector area, 0.2454966872 by
    // the sum of cross products over the file's digits.
    const Soup concave =
        read_mesh(data_folder() / "assimp-testmodels" / "OBJ" / "concave_polygon.obj");
    CHECK(std::abs(plain_area(concave.mesh) - 0.2454966872) < 1e-6 * 0.2454966872);
    // Polygons of up to 21 corners, a closed solid.
    const Soup mpi = read_mesh(data_folder() / "libcgal-demo" / "data" / "meshes" / "mpi.off");
    CHECK(adjacency(weld_exact(mpi.mesh).mesh).closed());
    // One object in three formats, by four readers here; the unit is a matter of the files.
    const auto models = data_folder() / "assimp-testmodels";
    const double stl = plain_area(read_mesh(models / "STL" / "Wuson.stl").mesh);
    for (const char* other :
         {"OBJ/WusonOBJ.obj", "PLY/Wuson.ply", "OFF/Wuson.off", "AC/Wuson.ac", "DXF/wuson.dxf"}) {
        CAPTURE(other);
        CHECK(std::abs(plain_area(read_mesh(models / other).mesh) - stl) < 1e-6 * stl);
    }
    // A binary STL file that was handled as text; what is left of its triangles is no part.
    check_sentence(refusal([&] {
        return read_mesh(data_folder() / "stl-models" / "misc" / "multiWordName.bin.stl");
    }));
    // The bunny: 3674 triangles, watertight.
    const Soup bunny = read_mesh(data_folder() / "bunny" / "bunny.off");
    CHECK(bunny.mesh.triangles.size() == 3674);
    CHECK(adjacency(weld_exact(bunny.mesh).mesh).closed());
}

TEST_CASE("GLB files pass the Khronos validator without error, warning, note or hint") {
    if (!data_is_there()) {
        return;
    }
    const Folder folder;
    const TriMesh torus = torus_solid(60, 20, 64).mesh;
    const std::vector<Rgb> colors(torus.vertices.size(), Rgb{200, 30, 90});
    const std::vector<fs::path> files = {
        folder.file("colored.glb", glb_bytes(torus, colors, "a \"part\" \xFF")),
        folder.file("plain.glb", glb_bytes(box_solid(1, 2, 3).mesh))};
    const fs::path validator = fs::absolute(data_folder() / "gltf-validator");
    const std::string command =
        "node " + quoted(CAVIGRAM_TEST_IO "/validate_glb.js") + " " + quoted(validator.string());
    const auto output = output_of(command, files);
    const std::string& text = output.first;
    INFO(text);
    CHECK(output.second == 0);
    CHECK(std::count(text.begin(), text.end(), '\n') == 2);
    // That it would say so: a file whose length is one byte off.
    std::string broken = glb_bytes(box_solid(1, 2, 3).mesh);
    broken.pop_back();
    CHECK(output_of(command, {folder.file("broken.glb", broken)}).second != 0);
}
