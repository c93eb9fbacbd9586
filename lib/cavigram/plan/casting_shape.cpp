// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/casting_shape.h"

#include <algorithm>

#include "cavigram/cavity/depth.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

CastingShape casting_shape(const PartRequest& request, const RunContext& context) {
    const PreparedPart prepared = prepare_part(request, context);
    const MassProperties mass = mass_properties(prepared.part.mesh(), context);
    context.report("skin", 0.0);
    const TriangleBvh surface(prepared.part.mesh(), context);
    DepthOptions options;
    options.depths_mm = {kSkinReference_mm};
    const DepthVolume depth = depth_volume(prepared.part.mesh(), surface, options, context);
    CastingShape shape;
    shape.part = prepared.input.file;
    shape.volume_mm3 = mass.volume_mm3;
    shape.area_mm2 = mass.area_mm2;
    // Both volumes come from the same triangles, but not from the same sum.
    shape.skin_volume_mm3 = std::min(depth.skin_volume_mm3(kSkinReference_mm), mass.volume_mm3);
    shape.skin_error_mm3 = depth.error_mm3(kSkinReference_mm);
    shape.findings = prepared.findings;
    return shape;
}

}  // namespace cavigram
