// SPDX-License-Identifier: GPL-3.0-or-later
#include <system_error>

#include "cavigram/plan/measure_stage_detail.h"
#include "cavigram/plan/part_nodes_detail.h"

namespace cavigram::detail {

FileStamp stamp_of(const std::filesystem::path& file) {
    // What can't be asked is told by the reader.
    FileStamp stamp;
    std::error_code error;
    const std::uintmax_t bytes = std::filesystem::file_size(file, error);
    stamp.bytes = error ? 0 : bytes;
    const std::filesystem::file_time_type written = std::filesystem::last_write_time(file, error);
    stamp.written = error ? std::filesystem::file_time_type() : written;
    return stamp;
}

Soup SoupKey::make(const RunContext& context) const {
    context.report("reading", 0.0);
    return read_mesh(file, read, context);
}

PreparedPart PartKey::make(const RunContext& context) const {
    return prepare_part(request, *soup, context);
}

MeasuresBlock MeasuresKey::make(const RunContext& context) const {
    return measures_of(part->part, context);
}

TriangleBvh SurfaceKey::make(const RunContext& context) const {
    context.report("indexing", 0.0);
    return TriangleBvh(part->part.mesh(), context);
}

DepthVolume DepthKey::make(const RunContext& context) const {
    context.report("skin", 0.0);
    return depth_volume(part->part.mesh(), *surface, options, context);
}

ThicknessMap ThicknessKey::make(const RunContext& context) const {
    context.report("thickness", 0.0);
    ThicknessOptions sampling;
    sampling.cap_mm = cap_mm;
    sampling.samples = samples;
    return thickness_map(part->part.mesh(), part->part.adjacent(), *surface, sampling, context);
}

Shared<PreparedPart> PartNodes::prepared(const PartRequest& request, const Shared<Soup>& given,
                                         const RunContext& context) {
    validate(request);
    if (once && !given) {
        const SoupKey file{request.file, request.read, stamp_of(request.file)};
        const PartKey mended{std::make_shared<const Soup>(file.make(context)), request};
        return std::make_shared<const PreparedPart>(mended.make(context));
    }
    const Shared<Soup> read =
        given ? given : soup.get({request.file, request.read, stamp_of(request.file)}, context);
    return part.get({read, request}, context);
}

void PartNodes::begin(const Shared<PreparedPart>& of) {
    if (of_ != of) {
        measures.clear();
        surface.clear();
        depth.clear();
        of_ = of;
    }
}

}  // namespace cavigram::detail
