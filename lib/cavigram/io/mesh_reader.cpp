// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/mesh_reader.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <string>
#include <string_view>
#include <sys/mman.h>
#include <sys/stat.h>
#include <system_error>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/io/assimp_reader_detail.h"
#include "cavigram/io/foreign_format_detail.h"
#include "cavigram/io/gltf_reader.h"
#include "cavigram/io/guarded_child_detail.h"
#include "cavigram/io/mesh_format.h"
#include "cavigram/io/obj_reader.h"
#include "cavigram/io/off_reader.h"
#include "cavigram/io/ply_reader.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/soup_wire_detail.h"
#include "cavigram/io/stl_reader.h"
#include "cavigram/io/threemf_reader.h"

namespace cavigram {

namespace {

// A whole file as bytes, mapped, so that pages come straight from the system's cache.
class FileBytes {
  public:
    explicit FileBytes(const std::filesystem::path& path) : name_(path.string()) {
        // Not blocking: opening a pipe that nobody writes to would otherwise wait forever.
        file_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
        struct stat about {};
        if (file_ < 0 || ::fstat(file_, &about) != 0) {
            const int cause = errno;
            close_file();
            if (cause == ENOENT || cause == ENOTDIR) {
                refuse(name_, "there is no such file; check its name and folder");
            }
            refuse(name_, fmt::format("it can't be opened ({}); check that you may read it",
                                      std::strerror(cause)));
        }
        if (S_ISDIR(about.st_mode)) {
            close_file();
            refuse(name_, "it is a folder; name the mesh file in it");
        }
        if (!S_ISREG(about.st_mode)) {
            close_file();
            refuse(name_, "it is a device or a pipe; save the mesh as a file and name that");
        }
        count_ = static_cast<std::size_t>(about.st_size);
        if (count_ == 0) {
            close_file();
            refuse(name_, "it is empty; export the part again");
        }
    }
    FileBytes(const FileBytes&) = delete;
    FileBytes& operator=(const FileBytes&) = delete;
    ~FileBytes() {
        if (start_ != nullptr) {
            ::munmap(start_, count_);
        }
        close_file();
    }

    [[nodiscard]] std::size_t count() const { return count_; }

    // Maps the file where this is called: in the child, whose limits then hold for it.
    std::string_view map() {
        void* const start =
            ::mmap(nullptr, count_, PROT_READ, MAP_PRIVATE | MAP_POPULATE, file_, 0);
        if (start == MAP_FAILED) {
            refuse(name_,
                   fmt::format("it can't be read ({}); copy it to this machine's own disk, or "
                               "make the mesh coarser",
                               std::strerror(errno)));
        }
        start_ = start;
        return {static_cast<const char*>(start), count_};
    }

  private:
    void close_file() {
        if (file_ >= 0) {
            ::close(file_);
            file_ = -1;
        }
    }

    std::string name_;
    int file_ = -1;
    std::size_t count_ = 0;
    void* start_ = nullptr;
};

std::string upper(std::string_view word) {
    std::string text(word);
    for (char& c : text) {
        c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
    }
    return text;
}

// A name that says one format on content that is another is worth a word.
void note_odd_extension(const MeshFormat& format, std::string_view extension, Soup& soup) {
    const MeshFormat* by_name = format_of({}, extension);
    if (by_name != nullptr && by_name != &format) {
        soup.findings.push_back({Severity::note,
                                 "extension_misleads",
                                 "The file's name ends in " + std::string(extension) +
                                     " but it holds " + upper(format.name) +
                                     ", and was read as such.",
                                 {}});
    }
}

Soup read_as(const MeshFormat& format, std::string_view bytes, const std::filesystem::path& path,
             bool partial) {
    const std::string name = path.string();
    if (format.name == "stl") {
        return parse_stl(bytes, name, partial);
    }
    if (format.name == "ply") {
        return parse_ply(bytes, name, partial);
    }
    if (format.name == "off") {
        return parse_off(bytes, name, partial);
    }
    if (format.name == "obj") {
        return parse_obj(bytes, name);
    }
    if (format.name == "3mf") {
        return parse_threemf(bytes, name);
    }
    if (format.name == "gltf" || format.name == "glb") {
        if (auto soup = parse_gltf(bytes, path.parent_path(), name)) {
            return std::move(*soup);
        }
    }
    return read_with_assimp(bytes, format, path.parent_path(), name);
}

Soup read_bytes(std::string_view bytes, const std::filesystem::path& path, bool partial) {
    const std::string name = path.string();
    const std::string extension = path.extension().string();
    // What a file is stands above what it is called.
    if (format_of(bytes, {}) == nullptr) {
        if (const std::string_view what = foreign_format(bytes); !what.empty()) {
            refuse(name, "it is " + std::string(what));
        }
    }
    const MeshFormat* const format = format_of(bytes, extension);
    if (format == nullptr && is_point_text(bytes)) {
        refuse(name, "it is " + std::string(kPointCloud));
    }
    if (format == nullptr) {
        refuse(
            name,
            "it is no mesh file that this program knows; export the part as STL, OBJ, PLY or 3MF");
    }
    Soup soup = read_as(*format, bytes, path, partial);
    note_odd_extension(*format, extension, soup);
    return soup;
}

double time_limit_s(const ReadOptions& options, std::size_t file_bytes) {
    return options.time_limit_s.value_or(5.0 + static_cast<double>(file_bytes) / 5e6);
}

[[noreturn]] void refuse_end(const ChildAnswer& child, const std::string& name, double time_s,
                             const ReadOptions& options) {
    switch (child.end) {
        case ChildEnd::out_of_time:
            refuse(name, fmt::format("reading it took longer than {} s; make the mesh coarser, or "
                                     "export it as binary STL",
                                     significant(time_s, 3)));
        case ChildEnd::out_of_memory:
            refuse(name,
                   fmt::format(
                       "reading it took more than {} GiB of memory; make the mesh coarser, or "
                       "export it as binary STL",
                       significant(static_cast<double>(options.memory_limit_bytes) / 1073741824.0,
                                   3)));
        case ChildEnd::answered:
        case ChildEnd::crashed:
            break;
    }
    refuse(name,
           fmt::format("it is damaged in a way that its reader did not survive ({}); export the "
                       "part again, as binary STL if you can",
                       child.how));
}

Soup read_guarded(FileBytes& file, const std::filesystem::path& path, const ReadOptions& options,
                  const RunContext& context) {
    const auto work = [&](int answer) {
        std::string refusal;
        try {
            send_soup(answer, read_bytes(file.map(), path, options.partial));
            return;
        } catch (const UnusableInput& error) {
            refusal = error.told();
        }
        send_refusal(answer, refusal);
    };
    const double time_s = time_limit_s(options, file.count());
    const ChildLimits limits{options.memory_limit_bytes, time_s};
    ChildAnswer child = run_in_child(work, limits, context);
    auto answer = receive(child.answer.bytes());
    if (!answer && (child.end == ChildEnd::crashed || child.end == ChildEnd::answered)) {
        // A file that is at fault will end a second child as well. What the machine did to the
        // first one (a fork while other threads run, memory that came too late) won't happen twice.
        child = run_in_child(work, limits, context);
        answer = receive(child.answer.bytes());
    }
    if (!answer) {
        refuse_end(child, path.string(), time_s, options);
    }
    if (!answer->soup) {
        throw UnusableInput(answer->refusal);
    }
    return std::move(*answer->soup);
}

}  // namespace

Soup read_mesh(const std::filesystem::path& path, const ReadOptions& options,
               const RunContext& context) {
    if (options.memory_limit_bytes == 0 || !(options.time_limit_s.value_or(1.0) > 0.0)) {
        throw InvalidInput(
            "The limits of memory and time for reading a file must be positive; leave them out for "
            "the usual ones.");
    }
    context.report("read", 0.0);
    FileBytes file(path);
    Soup soup = options.guarded ? read_guarded(file, path, options, context)
                                : read_bytes(file.map(), path, options.partial);
    context.report("read", 1.0);
    return soup;
}

}  // namespace cavigram
