// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "http.h"

namespace cavigram::serve {

/// Lets in the person at this machine's own browser, and nobody else: not another user of the
/// machine, not another site that is open in the same browser.
///
/// - A random key of 128 bits, new with each start, stands in the address that is printed. It is
///   exchanged for a cookie of another 128 bits that scripts can't read (HttpOnly) and that is sent
///   with no request that another site makes (SameSite=Strict); RFC 6265, sections 4.1.2 and 5.3.
/// - Host must be this server's own address: a name of another site that was made to point here
///   (DNS rebinding) is refused.
/// - Origin, where there is one, must be this server's own, and must be there on all that changes
///   something: forms and scripts of other sites are refused. Sec-Fetch-Site, where there is one,
///   must say the same.
class Guard {
  public:
    explicit Guard(std::uint16_t port);

    /// The address for the person's browser, with the key.
    [[nodiscard]] std::string address() const;
    /// What a request is refused with, or what exchanges the key for the cookie; nothing: let in.
    [[nodiscard]] std::optional<Response> check(const Request& request) const;

  private:
    std::string host_;
    std::string cookie_name_;
    std::string key_;
    std::string cookie_;
};

}  // namespace cavigram::serve
