// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

#include "cavigram/cavity/depth.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// A file's content as far as it can be told without reading it: who writes it anew changes these.
struct FileStamp {
    std::uintmax_t bytes = 0;
    std::filesystem::file_time_type written;
    friend bool operator==(const FileStamp&, const FileStamp&) = default;
};
FileStamp stamp_of(const std::filesystem::path& file);

struct SoupKey {
    std::filesystem::path file;
    ReadOptions read;
    FileStamp stamp;
    friend bool operator==(const SoupKey&, const SoupKey&) = default;
    [[nodiscard]] Soup make(const RunContext& context) const;
};

struct PartKey {
    Shared<Soup> soup;
    PartRequest request;
    friend bool operator==(const PartKey&, const PartKey&) = default;
    [[nodiscard]] PreparedPart make(const RunContext& context) const;
};

struct MeasuresKey {
    Shared<PreparedPart> part;
    friend bool operator==(const MeasuresKey&, const MeasuresKey&) = default;
    [[nodiscard]] MeasuresBlock make(const RunContext& context) const;
};

struct SurfaceKey {
    Shared<PreparedPart> part;
    friend bool operator==(const SurfaceKey&, const SurfaceKey&) = default;
    [[nodiscard]] TriangleBvh make(const RunContext& context) const;
};

struct DepthKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    DepthOptions options;
    friend bool operator==(const DepthKey&, const DepthKey&) = default;
    [[nodiscard]] DepthVolume make(const RunContext& context) const;
};

// What is known of one file, whatever is poured.
struct PartNodes {
    Kept<SoupKey> soup;
    Kept<PartKey> part;
    Kept<MeasuresKey> measures;
    Kept<SurfaceKey> surface;
    Kept<DepthKey> depth{2};  // for one foam and another

    // Nothing is asked for again: the file as read goes as soon as it is mended.
    bool once = false;

    // Reads and mends; `given` stands in for the file, if it is there.
    Shared<PreparedPart> prepared(const PartRequest& request, const Shared<Soup>& given,
                                  const RunContext& context);
    // Lets go of what rests on another part than this.
    void begin(const Shared<PreparedPart>& of);

  private:
    Shared<PreparedPart> of_;
};

struct ThicknessKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    std::optional<double> cap_mm;
    std::size_t samples = ThicknessOptions{}.samples;
    friend bool operator==(const ThicknessKey&, const ThicknessKey&) = default;
    [[nodiscard]] ThicknessMap make(const RunContext& context) const;
};

}  // namespace cavigram::detail
