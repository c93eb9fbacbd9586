// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>

#include "cavigram/core/error.h"
#include "cavigram/mesh/tri_mesh.h"

/// What the targets share. A target takes any bytes, hands them to one door of the library, and
/// throws Broken where what comes out breaks a promise. Everything else that escapes it is a fault.
namespace fuzz {

using Bytes = std::span<const std::byte>;

/// A promise of the library that does not hold.
class Broken : public std::logic_error {
  public:
    using std::logic_error::logic_error;
};

/// \throw Broken unless it holds
void require(bool holds, const char* promise);
/// A refusal is one plain sentence of valid UTF-8 without control characters. \throw Broken
void require_sentence(const std::string& sentence);
/// Whether every directed edge has as many triangles as its opposite: closed, neighbors agree.
[[nodiscard]] bool is_closed(const cavigram::TriMesh& mesh);
/// By the divergence theorem, in plain code of its own.
[[nodiscard]] double signed_volume(const cavigram::TriMesh& mesh);

[[nodiscard]] inline std::string_view text_of(Bytes bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

/// Takes small numbers off the front of the bytes; zeros where there are none left.
class Front {
  public:
    explicit Front(Bytes bytes) : left_(bytes) {}
    unsigned byte() {
        const unsigned value = left_.empty() ? 0U : std::to_integer<unsigned>(left_.front());
        left_ = left_.subspan(left_.empty() ? 0 : 1);
        return value;
    }
    /// -128 to 127.
    int signed_byte() { return static_cast<int>(static_cast<signed char>(byte())); }
    [[nodiscard]] Bytes rest() const { return left_; }

  private:
    Bytes left_;
};

/// Calls, and lets the refusals pass that the library promises: wrong calls and unusable inputs,
/// told in a sentence.
template <class Call>
void result_or_refusal(const Call& call) {
    try {
        call();
    } catch (const cavigram::InvalidInput& error) {
        require_sentence(error.what());
    } catch (const cavigram::UnusableInput& error) {
        require_sentence(error.what());
    }
}

/// An input as a test says it: hexadecimal.
[[nodiscard]] std::string hex_of(std::string_view bytes);

/// Keeps what ends a target's threads, for end().
void at_end(std::function<void()> stop);
/// Ends what targets keep running from one input to the next: a thread that outlives the program's
/// static objects would read what is gone.
void end();

/// A folder of this process, which goes with it.
[[nodiscard]] const std::filesystem::path& scratch();
/// Writes a file there and gives its path.
std::filesystem::path scratch_file(const std::string& name, std::string_view bytes);

}  // namespace fuzz
