// SPDX-License-Identifier: GPL-3.0-or-later
// The Python module's half in C++: what it computes with. What a person imports is made of it in
// cavigram/__init__.py.
#include <algorithm>
#include <chrono>
#include <cstdint>
#include <functional>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/io/mesh_arrays.h"
#include "cavigram/io/mesh_reader.h"
#include "cavigram/report/json.h"
#include "cavigram/report/schema.h"

#include "calls.h"
#include "fault_words.h"
#include "work.h"

namespace py = pybind11;

namespace cavigram::python {

namespace {

// ---- errors -------------------------------------------------------------------------------------

// A file name need not be valid UTF-8; Python holds what is not as it holds such names.
py::str to_python(const std::string& text) {
    return py::reinterpret_steal<py::str>(
        PyUnicode_DecodeUTF8(text.data(), static_cast<Py_ssize_t>(text.size()), "surrogateescape"));
}

// As the exception of that name in the package.
[[noreturn]] void raise(const char* name, const std::string& sentence) {
    const py::object type = py::module_::import("cavigram").attr(name);
    PyErr_SetObject(type.ptr(), to_python(sentence).ptr());
    throw py::error_already_set();
}

std::string sentence_of(const Error& error) {
    return by_keywords(rendered(error.told()));
}

// Errors by their kinds, as the program turns them into exit statuses.
void raising_errors(const std::function<void()>& work) {
    try {
        work();
    } catch (const py::error_already_set&) {
        throw;
    } catch (const Cancelled& error) {
        raise("Stopped", sentence_of(error));
    } catch (const InvalidInput& error) {
        raise("BadOption", sentence_of(error));
    } catch (const UnusableInput& error) {
        raise("BadFile", sentence_of(error));
    } catch (const WriteError& error) {
        raise("NotWritten", sentence_of(error));
    } catch (const std::exception& error) {
        const program::FaultWords told = program::fault_words(error);
        raise(told.of_machine ? "NotEnoughMemory" : "InternalError", told.sentence);
    }
}

// ---- work that may be stopped -------------------------------------------------------------------

// So often a computation's caller looks for Ctrl-C and asks `stop`; and so long what was stopped is
// waited for before it is left to end by itself. Together below the 0.2 s that hands notice.
constexpr std::chrono::milliseconds kBetweenLooks{40};
constexpr std::chrono::milliseconds kGrace{80};

void wait_without_interpreter(Work& work, std::chrono::milliseconds longest,
                              std::vector<Progress>& told) {
    const py::gil_scoped_release released;
    told = work.wait_for(longest);
}

// Handlers of signals, the listener and `stop` run in the thread that called, between two looks.
// True: stop.
bool looked(const std::vector<Progress>& told, const py::object& stop, const py::object& progress) {
    for (const Progress& at : told) {
        progress(to_python(at.stage), at.share);
    }
    if (PyErr_CheckSignals() != 0) {
        throw py::error_already_set();
    }
    return !stop.is_none() && py::bool_(stop());
}

// Runs `computation` while the interpreter is free for other threads.
// `stop` is a function or None, `progress` too.
void run(std::function<void(const RunContext&)> computation, const py::object& stop,
         const py::object& progress) {
    std::optional<Work> begun;
    raising_errors([&] { begun.emplace(std::move(computation), !progress.is_none()); });
    Work& work = *begun;
    std::vector<Progress> told;
    const auto leave = [&] {
        work.stop();
        const auto until = std::chrono::steady_clock::now() + kGrace;
        while (!work.ended() && std::chrono::steady_clock::now() < until) {
            wait_without_interpreter(work, kGrace, told);
        }
    };
    bool stopping = false;
    try {
        while (!stopping && !work.ended()) {
            wait_without_interpreter(work, kBetweenLooks, told);
            stopping = looked(told, stop, progress);
        }
    } catch (const py::error_already_set&) {
        leave();
        throw;
    }
    if (stopping) {
        leave();
    }
    raising_errors([&] {
        if (stopping) {
            throw Cancelled();
        }
        work.rethrow();
    });
}

// ---- arrays -------------------------------------------------------------------------------------

// A view that keeps alive what it looks into, and that nobody may write to.
template <class Number>
py::array view(std::vector<py::ssize_t> shape, const Number* first,
               const std::shared_ptr<const void>& owner) {
    auto kept = std::make_unique<std::shared_ptr<const void>>(owner);
    const py::capsule base(kept.get(),
                           [](void* p) { delete static_cast<std::shared_ptr<const void>*>(p); });
    static_cast<void>(kept.release());
    py::array_t<Number> array(std::move(shape), first, base);
    array.attr("setflags")(py::arg("write") = false);
    return array;
}

py::array vertices_of(const TriMesh& mesh, const std::shared_ptr<const void>& owner) {
    static_assert(sizeof(Vec3) == 3 * sizeof(double));
    const auto count = static_cast<py::ssize_t>(mesh.vertices.size());
    return view<double>({count, 3}, count == 0 ? nullptr : mesh.vertices.front().data(), owner);
}

py::array triangles_of(const TriMesh& mesh, const std::shared_ptr<const void>& owner) {
    static_assert(sizeof(Triangle) == 3 * sizeof(std::int32_t));
    const auto count = static_cast<py::ssize_t>(mesh.triangles.size());
    return view<std::int32_t>({count, 3}, count == 0 ? nullptr : mesh.triangles.front().data(),
                              owner);
}

py::object values_of(const std::vector<double>* values, const std::shared_ptr<const void>& owner) {
    if (values == nullptr || values->empty()) {
        return py::none();
    }
    return view<double>({static_cast<py::ssize_t>(values->size())}, values->data(), owner);
}

using Doubles = py::array_t<double, py::array::c_style | py::array::forcecast>;
using Indices = py::array_t<std::int64_t, py::array::c_style | py::array::forcecast>;

// \pre shape N x 3
std::vector<Vec3> places_of(const Doubles& rows) {
    std::vector<Vec3> places(static_cast<std::size_t>(rows.shape(0)));
    for (std::size_t i = 0; i < places.size(); ++i) {
        const auto row = static_cast<py::ssize_t>(i);
        places[i] = Vec3(rows.at(row, 0), rows.at(row, 1), rows.at(row, 2));
    }
    return places;
}

std::shared_ptr<Mesh> mesh_of(const Doubles& vertices, const Indices& triangles,
                              const std::string& name) {
    TriMesh mesh;
    mesh.vertices = places_of(vertices);
    mesh.triangles.resize(static_cast<std::size_t>(triangles.shape(0)));
    // What does not fit is out of range either way, and is refused as such.
    constexpr auto kMost = std::int64_t{std::numeric_limits<std::int32_t>::max()};
    for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
        for (int corner = 0; corner < 3; ++corner) {
            const std::int64_t index = triangles.at(static_cast<py::ssize_t>(i), corner);
            mesh.triangles[i][static_cast<std::size_t>(corner)] =
                static_cast<std::int32_t>(std::clamp(index, -kMost, kMost));
        }
    }
    std::shared_ptr<Mesh> made;
    raising_errors([&] {
        const py::gil_scoped_release released;
        made = std::make_shared<Mesh>(soup_of_arrays(std::move(mesh), name), name);
    });
    return made;
}

// ---- calls --------------------------------------------------------------------------------------

std::shared_ptr<Mesh> read(const std::string& file, bool partial, const py::object& stop,
                           const py::object& progress) {
    const auto made = std::make_shared<std::shared_ptr<Mesh>>();
    run(
        [=](const RunContext& context) {
            ReadOptions options;
            options.partial = partial;
            *made = std::make_shared<Mesh>(read_mesh(file, options, context), file);
        },
        stop, progress);
    return *made;
}

std::shared_ptr<const Made> call(const std::string& command, const std::string& file,
                                 std::shared_ptr<Mesh> mesh, program::JobValues options,
                                 const py::object& stop, const py::object& progress) {
    const auto made = std::make_shared<std::shared_ptr<const Made>>();
    Call asked{command, file, std::move(mesh), std::move(options)};
    run([made,
         asked = std::move(asked)](const RunContext& context) { *made = make(asked, context); },
        stop, progress);
    return *made;
}

py::array depths(const std::shared_ptr<const Made>& made, const Doubles& places,
                 const py::object& stop) {
    auto found = std::make_shared<std::vector<double>>();
    run([=, at = places_of(places)](
            const RunContext& context) { *found = made->depths_mm(at, context); },
        stop, py::none());
    return view<double>({static_cast<py::ssize_t>(found->size())}, found->data(), found);
}

py::list written(const std::shared_ptr<const Made>& made, const std::string& folder, bool us) {
    std::vector<std::string> paths;
    raising_errors([&] {
        const py::gil_scoped_release released;
        paths = write_plan(*made, folder, us);
    });
    py::list names;
    for (const std::string& path : paths) {
        names.append(to_python(path));
    }
    return names;
}

std::string text_of(const Made& made, bool us, bool detail) {
    TextStyle style;
    style.first = us ? UnitSystem::us : UnitSystem::metric;
    style.detail = detail;
    return made.command().text(made.plan(), style);
}

py::list options_for(const std::string& command) {
    py::list rows;
    for (const program::OptionRow* row : options_of(command)) {
        py::dict told;
        told["name"] = row->name;
        told["group"] = program::to_text(row->group);
        told["takes"] = row->value.kind;
        told["example"] = row->example;
        told["help"] = by_keywords(row->help);
        told["words"] = row->value.words;
        told["flag"] = row->value.flag;
        told["list"] = row->value.list;
        rows.append(told);
    }
    return rows;
}

py::list findings_of(const Mesh& mesh) {
    py::list all;
    for (const Finding& finding : mesh.soup().findings) {
        py::dict told;
        told["severity"] = to_text(finding.severity);
        told["code"] = std::string(to_text(finding.code));
        told["text"] = to_python(by_keywords(rendered(finding.text)));
        told["at_mm"] = finding.at_mm;
        all.append(told);
    }
    return all;
}

void add_mesh(py::module_& module) {
    using Held = std::shared_ptr<Mesh>;
    py::class_<Mesh, Held>(module, "Mesh",
                           "A mesh as read, nothing mended, in its own unit. What calls compute of "
                           "it is kept for the next one: plan it again with another density, and "
                           "only what depends on that is computed again.")
        .def_property_readonly(
            "vertices", [](const Held& mesh) { return vertices_of(mesh->soup().mesh, mesh); },
            "Places of the vertices, N x 3 float64, read-only.")
        .def_property_readonly(
            "triangles", [](const Held& mesh) { return triangles_of(mesh->soup().mesh, mesh); },
            "Indices of three vertices each, M x 3 int32, read-only.")
        .def_property_readonly(
            "name", [](const Mesh& mesh) { return to_python(mesh.name()); },
            "The file that it was read from, or what arrays were called.")
        .def_property_readonly(
            "format", [](const Mesh& mesh) { return mesh.soup().format; },
            "As the content says: stl-binary, ply ...; arrays.")
        .def_property_readonly(
            "unit_mm", [](const Mesh& mesh) { return mesh.soup().unit_mm; },
            "Millimeters for each of its numbers, or None where the file states none.")
        .def_property_readonly("_findings", &findings_of);
}

// The arrays of a result. `Part` is what Python calls them.
struct PartArrays {
    std::shared_ptr<const Made> made;
};

void add_part(py::module_& module) {
    const auto values = [](const PartArrays& part, const std::vector<double>* found) {
        return values_of(found, part.made);
    };
    py::class_<PartArrays>(module, "Part", "The mended part in millimeters, as arrays (read-only).")
        .def_property_readonly(
            "vertices",
            [](const PartArrays& p) { return vertices_of(p.made->plan().part->mesh(), p.made); },
            "Places of the vertices, N x 3 float64, in mm.")
        .def_property_readonly(
            "triangles",
            [](const PartArrays& p) { return triangles_of(p.made->plan().part->mesh(), p.made); },
            "Indices of three vertices each, counter-clockwise seen from outside, M x 3 int32.")
        .def_property_readonly(
            "thickness_mm",
            [values](const PartArrays& p) {
                const auto& thin = p.made->plan().thin;
                return values(p, thin ? &thin->map.per_vertex_mm : nullptr);
            },
            "Thickness at each vertex; of measure and plan, else None. What is thicker than three "
            "times thin.limit_mm is given as about that.")
        .def_property_readonly(
            "triangle_thickness_mm",
            [values](const PartArrays& p) {
                const auto& thin = p.made->plan().thin;
                return values(p, thin ? &thin->map.per_triangle_mm : nullptr);
            },
            "The same for each triangle.")
        .def_property_readonly(
            "density_kg_m3",
            [values](const PartArrays& p) {
                const auto& foam = p.made->plan().foam;
                return values(p,
                              foam && foam->density ? &foam->density->per_vertex_kg_m3 : nullptr);
            },
            "Mean density beneath each vertex, what a hand meets; of weigh and plan, else None.")
        .def_property_readonly(
            "arrival_s",
            [values](const PartArrays& p) {
                const auto& rise = p.made->plan().rise;
                return values(p, rise ? &rise->per_vertex_s : nullptr);
            },
            "When foam gets to each vertex, from the start of stirring, inf where never; of rise "
            "and plan, else None.")
        .def(
            "_skin_distance_mm",
            [](const PartArrays& p, const Doubles& places, const py::object& stop) {
                return depths(p.made, places, stop);
            },
            py::arg("places_mm"), py::arg("stop") = py::none());
}

void add_made(py::module_& module) {
    using Held = std::shared_ptr<const Made>;
    py::class_<Made, std::shared_ptr<Made>>(module, "_Made")
        .def("json",
             [](const Made& made) {
                 const py::gil_scoped_release released;
                 return json_text(made.plan());
             })
        .def("text", &text_of, py::arg("us"), py::arg("detail"))
        .def("write", &written, py::arg("folder"), py::arg("us"))
        .def_property_readonly("command", [](const Made& made) { return made.command().name; })
        .def_property_readonly("stops",
                               [](const Made& made) {
                                   py::list all;
                                   for (const std::string& sentence : made.stops()) {
                                       all.append(to_python(sentence));
                                   }
                                   return all;
                               })
        .def_property_readonly("part", [](const Held& made) { return PartArrays{made}; });
}

}  // namespace

PYBIND11_MODULE(_core, module) {
    module.doc() = "What the package cavigram computes with.";
    add_mesh(module);
    add_part(module);
    add_made(module);
    module.attr("version") = CAVIGRAM_VERSION;
    module.def("schema", &schema_text);
    module.def("options", &options_for, py::arg("command"));
    module.def("help",
               [](const std::string& command) { return program::part_command(command).help; });
    module.def("read", &read, py::arg("file"), py::arg("partial"), py::arg("stop"),
               py::arg("progress"));
    module.def("mesh_of", &mesh_of, py::arg("vertices"), py::arg("triangles"), py::arg("name"));
    module.def("call", &call, py::arg("command"), py::arg("file"), py::arg("mesh"),
               py::arg("options"), py::arg("stop"), py::arg("progress"));
    module.def("wait", &wait_for_left_work, py::call_guard<py::gil_scoped_release>());
}

}  // namespace cavigram::python
