// SPDX-License-Identifier: GPL-3.0-or-later
#include "guard.h"

#include <algorithm>
#include <string_view>

#include <fmt/core.h>

#include "private_folder.h"

namespace cavigram::serve {

namespace {

constexpr std::size_t kKeyBytes = 16;

// Takes as long however many characters agree.
bool same(std::string_view a, std::string_view b) {
    if (a.size() != b.size()) {
        return false;
    }
    unsigned differ = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        differ |= static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]);
    }
    return differ == 0;
}

// Whether `name=value` is among `a=1; b=2`.
bool holds_cookie(std::string_view cookies, std::string_view name, std::string_view value) {
    while (!cookies.empty()) {
        const std::size_t end = std::min(cookies.find_first_of(";\n"), cookies.size());
        std::string_view one = cookies.substr(0, end);
        cookies.remove_prefix(std::min(end + 1, cookies.size()));
        one.remove_prefix(std::min(one.find_first_not_of(' '), one.size()));
        const std::size_t equals = one.find('=');
        if (equals != std::string_view::npos && one.substr(0, equals) == name &&
            same(one.substr(equals + 1), value)) {
            return true;
        }
    }
    return false;
}

}  // namespace

Guard::Guard(std::uint16_t port)
    : host_(fmt::format("127.0.0.1:{}", port)),
      cookie_name_(fmt::format("cavigram_{}", port)),  // a browser's cookies know no ports
      key_(random_hex(kKeyBytes)),
      cookie_(random_hex(kKeyBytes)) {}

std::string Guard::address() const {
    return fmt::format("http://{}/?key={}", host_, key_);
}

std::optional<Response> Guard::check(const Request& request) const {
    const std::string origin = request.field("origin");
    const std::string site = request.field("sec-fetch-site");
    const bool reads = request.method == "GET";
    if (request.field("host") != host_) {
        return sentence(403, fmt::format("Only http://{} is served.", host_));
    }
    if ((!origin.empty() || !reads) && origin != "http://" + host_) {
        return sentence(403, "Requests from other pages are not served.");
    }
    const auto key = request.query.find("key");
    if (reads && request.path == "/" && key != request.query.end() && same(key->second, key_)) {
        Response moved = sentence(303, "Welcome.");
        moved.fields = {{"Location", "/"},
                        {"Set-Cookie", fmt::format("{}={}; HttpOnly; SameSite=Strict; Path=/",
                                                   cookie_name_, cookie_)}};
        return moved;
    }
    if (!site.empty() && site != "same-origin" && site != "none") {
        return sentence(403, "Requests from other pages are not served.");
    }
    if (!holds_cookie(request.field("cookie"), cookie_name_, cookie_)) {
        return sentence(403,
                        "Open this page by the whole address that cavigram printed when it "
                        "started; it holds a key that is new with each start.");
    }
    return std::nullopt;
}

}  // namespace cavigram::serve
