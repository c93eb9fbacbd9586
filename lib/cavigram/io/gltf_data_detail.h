// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/io/gltf_document_detail.h"

namespace cavigram {

/// The numbers behind a glTF document's accessors: from the file itself, from `data:` URIs, or from
/// files beside it or in folders below, and from nowhere else. Views packed by meshoptimizer are
/// unpacked. Everything is held against its size before it is read.
class GltfData {
  public:
    /// `bin` is the binary piece of a GLB file, if there is one. All must outlive this.
    GltfData(const GltfDocument& document, std::optional<std::string_view> bin,
             std::filesystem::path folder, std::string_view name);

    /// The bytes of a view.
    ///
    /// \throw UnusableInput
    [[nodiscard]] std::string_view view(std::size_t index);

    /// An accessor's numbers, `width` for each element, unnormalized integers as they are and
    /// normalized ones from -1 or 0 to 1 (specification, section 3.6.2.2).
    ///
    /// \throw UnusableInput
    [[nodiscard]] std::vector<double> numbers(std::size_t accessor, std::size_t width);

    /// An accessor's whole numbers.
    ///
    /// \throw UnusableInput
    [[nodiscard]] std::vector<std::uint32_t> indices(std::size_t accessor);

    /// The accessor itself.
    ///
    /// \throw UnusableInput if there is none of that number
    [[nodiscard]] const GltfAccessor& accessor(std::size_t index) const;

  private:
    std::string_view buffer(std::size_t index);
    [[nodiscard]] std::string_view slice(std::string_view bytes, std::uint64_t offset,
                                         std::uint64_t count) const;
    [[nodiscard]] std::string from_uri(const std::string& uri) const;
    [[nodiscard]] std::string from_file(const std::string& uri) const;
    std::string unpacked(const GltfMeshopt& packed);
    template <class Take>
    void each(const GltfAccessor& a, std::size_t width, const Take& take);

    const GltfDocument& document_;
    std::optional<std::string_view> bin_;
    std::filesystem::path folder_;
    std::string_view name_;
    std::map<std::size_t, std::string> loaded_;
    std::map<std::size_t, std::string> unpacked_;
};

}  // namespace cavigram
