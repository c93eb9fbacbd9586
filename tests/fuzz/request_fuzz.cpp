// SPDX-License-Identifier: GPL-3.0-or-later
#include <nlohmann/json.hpp>

#include "call_words.h"
#include "changes.h"
#include "guard.h"
#include "target.h"
#include "targets.h"
#include "workbench.h"

namespace fuzz {

// What takes a request's address and body apart, one piece at a time.
int fuzz_request(Bytes bytes) {
    using namespace cavigram::serve;
    const std::string text(text_of(bytes));
    if (const auto target = parse_target(text)) {
        require(target->path.starts_with('/'), "a path begins with a slash");
        for (const char c : target->path) {
            require(static_cast<unsigned char>(c) >= 0x20, "no control characters in a path");
        }
    }
    const std::string name = shown_name(text);
    constexpr std::size_t kMostName = 200;
    require(!name.empty() && name.size() <= kMostName && name.find('/') == name.npos,
            "a shown name is short and has no folders");
    // Throws unless it is valid UTF-8.
    static_cast<void>(nlohmann::json(name).dump());
    const std::string ending = safe_extension(text);
    require(ending.size() <= 6 && ending.find_first_of("/\\") == ending.npos,
            "an ending holds letters and digits");
    // A stranger stays outside, whatever the fields hold.
    static const Guard guard(80);
    Request request;
    request.method = "GET";
    request.path = "/api/parts";
    request.fields = {{"host", "127.0.0.1:80"}, {"cookie", text}, {"origin", ""}};
    require(guard.check(request).has_value(), "nobody is let in without the key");
    result_or_refusal([&] {
        const auto changes = changes_of(text, is_settable);
        const std::string line = command_line(name, changes);
        require(line.find('\n') == line.npos || text.find("\\n") != text.npos ||
                    text.find("\\u") != text.npos,
                "a call is one line");
        static_cast<void>(job_text(name, changes));
    });
    return 0;
}

}  // namespace fuzz
