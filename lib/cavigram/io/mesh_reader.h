// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/io/soup.h"

namespace cavigram {

/// How much a file may cost before reading is given up.
struct ReadOptions {
    /// Bytes the reading process may allocate. 6 GiB: a machine with 8 GiB survives it, and an OBJ
    /// file of ten million triangles still fits (importers need some 300 bytes a triangle).
    std::uint64_t memory_limit_bytes = std::uint64_t{6} << 30;
    /// Seconds of wall clock, and of processor time, that reading may take. None: 5 s, and 1 s more
    /// for each 5 MB of the file; the slowest reader takes half a second for that.
    std::optional<double> time_limit_s = std::nullopt;
    /// Take what is there of a file that ends before it holds all that its header promises; else
    /// that is refused, for the part would be another one.
    bool partial = false;
    /// Read in a child process. Only for tests and debuggers is it sensible to turn this off: then
    /// a file that crashes an importer takes the program with it, and both limits are without
    /// effect.
    bool guarded = true;

    /// Field by field.
    friend bool operator==(const ReadOptions&, const ReadOptions&) = default;
};

/// Reads one mesh file: STL, OBJ, PLY, OFF, glTF, GLB, 3MF and others (docs/rooms/io.md lists
/// them).
///
/// The format is told by the content, and by the file name's extension where the content leaves it
/// open. The work is done in a child process with its own limits; its answer is checked number by
/// number. Triangles with corners that are not numbers or are out of range are left out, counted
/// and reported as findings.
///
/// Cost: one pass over a binary STL file; see docs/rooms/io.md for measured times and memory.
///
/// \throw UnusableInput with one sentence and a remedy: no such file, a folder, an empty or
/// unreadable file, no mesh, no usable triangle, unknown format, the reader crashed or ran into a
/// limit.
/// \throw Cancelled within about 0.1 s of a stop.
/// \throw InvalidInput if a limit is not positive.
[[nodiscard]] Soup read_mesh(const std::filesystem::path& path, const ReadOptions& options = {},
                             const RunContext& context = {});

}  // namespace cavigram
